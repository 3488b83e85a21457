/** Families and models in words and as data. */

import { z } from 'zod';
import type { Family } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { packText, typed } from '../../shared/language/say.ts';
import { moneyWire, toWire } from '../../shared/money/money.ts';
import type { ModelRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';

export const modelSchema = z.object({
  name: z.string(),
  family: z.string(),
  launched: z.iso.date().nullable(),
  newPrice: moneyWire.nullable(),
  by: z.string(),
});
export const era = z.object({ from: z.number().int(), to: z.number().int().nullable() });

export const modelDataOf = ({
  name,
  family,
  launched,
  newPrice,
  by,
}: ModelRecord): z.infer<typeof modelSchema> => ({
  name,
  family,
  launched,
  newPrice: newPrice && toWire(newPrice),
  by: by.name,
});

export const eraWords = ({ era: { from, to } }: Family): Message => typed(`${from}–${to ?? ''}`);
export const nameOfFamily = ({ knowledge }: Context, id: string): Message =>
  packText(knowledge.families.get(id)?.name ?? id);
