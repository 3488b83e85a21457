import { z } from 'zod';
import { counted, plain, say, typed } from '../../shared/language/say.ts';
import { type CsvProblem, parseSightingsCsv } from '../../shared/market/sightings-csv.ts';
import { nameKey } from '../../shared/store/index.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { defineAction } from '../framework/command.ts';
import { fileOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, right, table, text } from '../framework/reply.ts';
import { PRICES_SHOWN } from './reply.ts';
import { partIn, sameKey, sightingOf } from './rows.ts';

export const pricesImportData = z.object({
  imported: z.number().int(),
  /** Rows that were here already, word for word, and were left out. */
  known: z.number().int(),
});

function refuseFile(problems: readonly CsvProblem[]): never {
  const rows = new Set(problems.map(({ line }) => line)).size;
  throw new Refusal({
    code: 'bad-option',
    option: 'file',
    problem: counted(
      rows,
      'Nothing was imported: {0} line is not right',
      'Nothing was imported: {0} lines are not right',
    ),
    blocks: [
      table(
        [right(say`Line`), say`Column`, say`Problem`, say`Expected`],
        problems
          .slice(0, PRICES_SHOWN)
          .map(({ line, column, problem, expected }) => [
            plain`${line}`,
            column === undefined ? '' : typed(column),
            problem,
            expected,
          ]),
      ),
      ...(problems.length > PRICES_SHOWN ? [text(say`And ${problems.length - PRICES_SHOWN} more.`)] : []),
    ],
    expected: say`those lines mended, and the whole file again`,
    lines: problems.map(({ line, column }) => ({ line, ...(column === undefined ? {} : { column }) })),
  });
}

export const pricesImport = defineAction({
  summary: say`Import prices from a CSV file: all of it, or nothing when a line is not right`,
  who: 'member',
  options: {
    file: fileOption({ summary: say`A CSV file as /prices export writes it`, example: 'prices.csv' }),
  },
  examples: ['/prices import prices.csv'],

  data: pricesImportData,
  run: ({ file }, context) => {
    const { store, collective, now } = context;
    const names = new Set(store.models.list().map(({ name }) => nameKey(name)));
    const { rows, problems } = parseSightingsCsv(file, {
      currency: collective.settings.currency,
      today: isoDateIn(collective.settings.zone, now),
      knownModel: (name) => names.has(nameKey(name)),
      knownComponent: (cell) => partIn(cell, context) !== null,
      expects: {
        what: say`a model named with /family name`,
        component: say`a component with its grade, such as Battery (copy)`,
      },
    });
    if (problems.length) refuseFile(problems);
    const here = new Map<string, number>();
    for (const one of store.sightings.list()) here.set(sameKey(one), (here.get(sameKey(one)) ?? 0) + 1);
    const fresh = rows
      .map((row) => sightingOf(context, row))
      .filter((one) => {
        const left = here.get(sameKey(one)) ?? 0;
        if (left > 0) here.set(sameKey(one), left - 1);
        return left === 0;
      });
    store.sightings.addMany(fresh);
    const known = rows.length - fresh.length;
    return reply({
      title: counted(fresh.length, 'Imported {0} price', 'Imported {0} prices'),
      tone: 'good',
      blocks: known
        ? [
            text(
              counted(
                known,
                '{0} more was here already, word for word.',
                '{0} more were here already, word for word.',
              ),
            ),
          ]
        : [],
      data: { imported: fresh.length, known } satisfies z.infer<typeof pricesImportData>,
    });
  },
});
