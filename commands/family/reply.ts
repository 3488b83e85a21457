/** Families and models in words and as data. */

import { z } from 'zod';
import type { Family } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { packText, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import { amount, moneyWire, toWire } from '../../shared/money/money.ts';
import type { ModelRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { type DraftBlock, right, table } from '../framework/reply.ts';
import { dayIn } from '../shared/words.ts';

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

/** What was known of a model before it was changed, the newest first; nothing where it never was. */
export function versionsTable(context: Context, { id, name }: ModelRecord): DraftBlock[] {
  const versions = context.store.models.versions(id);
  if (!versions.length) return [];
  return [
    table(
      [right(say`Version`), say`Said on`, say`By`, say`Family`, say`Launched`, say`Price when new`],
      versions.map((one) => [
        plain`${one.seq}`,
        verbatim(dayIn(context, one.at)),
        verbatim(one.by.name),
        nameOfFamily(context, one.family),
        verbatim(one.launched ?? '–'),
        one.newPrice ? amount(one.newPrice) : plain`–`,
      ]),
      say`${verbatim(name)} before it was changed; a steward takes a change back: ${typed(`/family restore "${name}"`)}`,
    ),
  ];
}
