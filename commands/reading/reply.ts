/** Readings of a bench's tables, in words and as data. */
import { z } from 'zod';
import { type BenchTable, benchTables } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { say } from '../../shared/language/say.ts';
import type { BenchReading } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { dayIn } from '../shared/words.ts';

export const readingSchema = z.object({
  number: z.number().int(),
  model: z.string(),
  table: z.enum(benchTables),
  place: z.string(),
  /** V of a diode reading, A of a current; null: an open line. */
  value: z.number().nullable(),
  by: z.string(),
  on: z.iso.date(),
});

export const readingDataOf = (context: Context, one: BenchReading): z.infer<typeof readingSchema> => ({
  number: one.number,
  model: context.store.models.get(one.model)?.name ?? '',
  table: one.table,
  place: one.place,
  value: one.value,
  by: one.by.name,
  on: dayIn(context, one.at),
});

export const tableWords: Readonly<Record<BenchTable, Message>> = {
  diode: say`diode readings`,
  start: say`currents of a start`,
};
