import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { counted, inRow, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import { type CsvProblem, parseSightingsCsv } from '../../shared/market/sightings-csv.ts';
import { amount } from '../../shared/money/money.ts';
import { nameKey } from '../../shared/store/index.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { choiceOption, fileOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { type Draft, reply, right, table, text } from '../framework/reply.ts';
import { checkPrice, earliestOf } from '../shared/price-limits.ts';
import { type Doubted, doubtDataOf, doubtInWords, doubtSchema, doubtsIn } from './doubt.ts';
import { modelName, PRICES_SHOWN, sightingWords } from './reply.ts';
import { partIn, sameKey, sightingOf } from './rows.ts';

export const pricesImportData = z.object({
  imported: z.number().int(),
  /** Rows that were here already, word for word, and were left out. */
  known: z.number().int(),
  /** Prices out of line. They are asked about first, and nothing was kept; or they were kept or left out as was said. */
  odd: z.array(z.object({ line: z.number().int(), doubt: doubtSchema })),
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

interface Odd {
  line: number;
  doubted: Doubted;
}
const oddData = (odd: readonly Odd[]) =>
  odd.map(({ line, doubted }) => ({ line, doubt: doubtDataOf(doubted) }));

function askAboutOdd(
  odd: readonly Odd[],
  fresh: number,
  file: string,
  context: Context,
): Draft<z.infer<typeof pricesImportData>> {
  const choice = (label: Message, sure: string) => ({
    label,
    invoke: { command: 'prices', action: 'import', options: { file, sure } },
  });
  return reply({
    audience: 'asker',
    tone: 'caution',
    title: counted(
      odd.length,
      '{0} of {1} prices is out of line: keep it?',
      '{0} of {1} prices are out of line: keep them?',
      fresh,
    ),
    blocks: [
      table(
        [right(say`Line`), say`What`, right(say`Price`), say`It is`],
        odd
          .slice(0, PRICES_SHOWN)
          .map(({ line, doubted }) => [
            plain`${line}`,
            inRow([
              verbatim(modelName(context, doubted.price.model)),
              sightingWords(context, { number: 0, ...doubted.price }),
            ]),
            amount(doubted.price.price),
            doubtInWords(doubted),
          ]),
      ),
      ...(odd.length > PRICES_SHOWN ? [text(say`And ${odd.length - PRICES_SHOWN} more.`)] : []),
      text(say`Nothing is kept yet. Or correct the file and send it again.`),
    ],
    choices: [
      ...(fresh > odd.length ? [choice(say`Leave them out`, 'without')] : []),
      choice(say`Keep them all`, 'yes'),
    ],
    data: { imported: 0, known: 0, odd: oddData(odd) },
  });
}

export const pricesImport = defineAction({
  summary: say`Import prices from a CSV file: all of it, or nothing when a line is not right`,
  who: 'member',
  options: {
    file: fileOption({ summary: say`A CSV file as /prices export writes it`, example: 'prices.csv' }),
    sure: optional(
      choiceOption({
        choices: ['yes', 'without'],
        summary: say`Prices out of line: yes keeps them, without leaves them out; you are asked`,
        example: 'without',
      }),
    ),
  },
  examples: ['/prices import prices.csv'],

  data: pricesImportData,
  run: ({ file, sure }, context) => {
    const { store, collective, now } = context;
    const names = new Set(store.models.list().map(({ name }) => nameKey(name)));
    const { rows, lines, problems } = parseSightingsCsv(file, {
      currency: collective.settings.currency,
      today: isoDateIn(collective.settings.zone, now),
      earliest: (name) => earliestOf(store.models.findByName(name)),
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
      .map((row, i) => ({ line: lines[i] ?? 0, price: sightingOf(context, row) }))
      .filter(({ price }) => {
        const left = here.get(sameKey(price)) ?? 0;
        if (left > 0) here.set(sameKey(price), left - 1);
        return left === 0;
      });
    for (const { price } of fresh) checkPrice(price.price, 'file');
    const found = doubtsIn(
      context,
      fresh.map(({ price }) => price),
    );
    const odd = fresh.flatMap(({ line }, i): Odd[] => {
      const doubted = found[i];
      return doubted ? [{ line, doubted }] : [];
    });
    if (odd.length && !sure) return askAboutOdd(odd, fresh.length, file, context);
    const kept = fresh.filter((_, i) => sure === 'yes' || !found[i]).map(({ price }) => price);
    store.sightings.addMany(kept);
    const known = rows.length - fresh.length;
    return reply({
      title: counted(kept.length, 'Imported {0} price', 'Imported {0} prices'),
      tone: 'good',
      blocks: [
        ...(kept.length < fresh.length
          ? [
              text(
                counted(
                  fresh.length - kept.length,
                  '{0} out of line was left out.',
                  '{0} out of line were left out.',
                ),
              ),
            ]
          : []),
        ...(known
          ? [
              text(
                counted(
                  known,
                  '{0} more was here already, word for word.',
                  '{0} more were here already, word for word.',
                ),
              ),
            ]
          : []),
      ],
      data: { imported: kept.length, known, odd: oddData(odd) } satisfies z.infer<typeof pricesImportData>,
    });
  },
});
