/** `/reading add`: what a sound phone of a model reads at one place. */
import { z } from 'zod';
import type { BenchTable } from '../../knowledge/schema.ts';
import { readReading } from '../../shared/diagnosis/reading.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { lookupOption, type Option, refuseValue } from '../framework/option.ts';
import { reply, text } from '../framework/reply.ts';
import { readingInWords, readingValue, tableUnit } from '../shared/bench-table.ts';
import { modelsToName } from '../shared/lookups.ts';
import { readingDataOf, readingSchema, tableWords } from './reply.ts';

export const readingAddData = z.object({ saved: readingSchema, before: z.number().nullable() });

interface Read {
  table: BenchTable;
  value: number | null;
  place: string;
}

/** Most that a table holds: a diode reading is below the 3 V or so that a meter gives, a start below 20 A. */
const MOST: Readonly<Record<BenchTable, number>> = { diode: 4, start: 20 };

/** `0.45 V battery 3`, `OL display 12` for an open line, `0.12 A two seconds in`. */
const tableReading: Option<Read, true> = {
  summary: say`What it reads, and where or when: V of a diode reading (OL for an open line), A of a start`,
  example: '0.45 V battery 3',
  required: true,
  many: false,
  wire: { type: 'text', max: 80 },
  expected: say`volts with the connector and pin, like 0.45 V battery 3, or amperes with the moment, like 0.12 A two seconds in`,
  schema: () =>
    z.string().transform((given, issue): Read => {
      const [, open, number, where = ''] =
        /^\s*(?:(OL|OPEN)|([+-]?\d+(?:[.,]\d+)?\s*[a-zµ]{1,2}))\s+(\S.{0,39}?)\s*$/iu.exec(given) ?? [];
      // A name with hidden characters could pass for another.
      if (where && !/[\p{C}\u2028\u2029]/u.test(where)) {
        if (open) return { table: 'diode', value: null, place: where };
        for (const table of ['diode', 'start'] as const) {
          const value = readReading(number ?? '', tableUnit[table]);
          if (value !== null && value >= 0 && value <= MOST[table]) return { table, value, place: where };
        }
      }
      return refuseValue(issue, say`"${verbatim(given)}" is no reading with its place`);
    }),
};

export const readingAdd = defineAction({
  summary: say`Keep what a sound phone of a model reads at one place`,
  who: 'member',
  options: {
    model: lookupOption({ lookup: modelsToName, summary: say`The model`, example: 'Orrin K3' }),
    reading: tableReading,
  },
  examples: [
    '/reading add "Orrin K3" reading:"0.45 V battery 3"',
    '/reading add "Orrin K3" reading:"0.12 A two seconds in"',
  ],

  data: readingAddData,
  run: ({ model, reading }, context) => {
    const { saved, before } = context.store.benchReadings.save({
      model: Number(model.id),
      ...reading,
      by: actorOf(context),
      at: context.now,
    });
    return reply({
      title: say`${verbatim(model.name)}, ${tableWords[saved.table]}: ${readingInWords(context, saved)}`,
      tone: 'good',
      blocks: [
        ...(before ? [text(say`In place of ${readingValue(before)} by ${verbatim(before.by.name)}.`)] : []),
        text(
          saved.table === 'diode'
            ? say`From a sound phone, with cell and supply off, red probe to ground. A check that is held against it shows it.`
            : say`From a sound phone at a bench supply. A check that is held against it shows it.`,
        ),
      ],
      data: { saved: readingDataOf(context, saved), before: before?.value ?? null } satisfies z.infer<
        typeof readingAddData
      >,
    });
  },
});
