/** What the bench's own table of a model says, where a check is held against it. */
import type { BenchTable, Check } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { inRow, plain, quantity, say, typed, verbatim } from '../../shared/language/say.ts';
import type { BenchReading } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { onBack, text } from '../framework/reply.ts';
import { dayOf } from './words.ts';

/** The unit of each table. */
export const tableUnit = { diode: 'V', start: 'A' } as const satisfies Readonly<Record<BenchTable, string>>;
/** So many readings of a table stand beside a check; the rest is in /reading list. */
const SHOWN = 12;

export const readingValue = ({ table, value }: Pick<BenchReading, 'table' | 'value'>): Message =>
  value === null ? say`open line` : quantity(value, tableUnit[table]);

/** "battery 3: 0.45 V (Ines, 2026-03-02)". */
export const readingInWords = (context: Context, one: BenchReading): Message =>
  plain`${verbatim(one.place)}: ${readingValue(one)} (${verbatim(one.by.name)}, ${dayOf(context, one.at)})`;

/** Beside a check that is held against a table: what the bench has of this model, or how to keep one. */
export function benchTableBlocks(
  context: Context,
  { table }: Check,
  model: { id: number; name: string } | null | undefined,
) {
  if (table === undefined || !model) return [];
  const own = context.store.benchReadings.of(model.id).filter((one) => one.table === table);
  if (own.length === 0)
    return onBack(
      text(
        say`Your bench has no table of ${verbatim(model.name)} yet. A sound one at hand? ${typed('/reading add')} keeps what it reads.`,
      ),
    );
  const rest = own.length - SHOWN;
  return [
    text(
      say`Your bench's table of a sound ${verbatim(model.name)}: ${inRow(own.slice(0, SHOWN).map((one) => readingInWords(context, one)))}.`,
    ),
    ...(rest > 0 ? [text(say`${rest} more: ${typed(`/reading list "${model.name}"`)}`)] : []),
  ];
}
