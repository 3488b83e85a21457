import { z } from 'zod';
import { counted, say } from '../shared/language/say.ts';
import { parseSightingsCsv, type SightingRow, sightingsToCsv } from '../shared/market/sightings-csv.ts';
import { formatMoney, fromMajor, moneyWire, toWire } from '../shared/money/money.ts';
import { isoDateIn } from '../shared/pairing/law.ts';
import { type NewSighting, nameKey, partGrades, type SightingRecord } from '../shared/store/index.ts';
import { conditions, economicsFor, familyById, gradeOf, MOST_SIGHTINGS } from './bench.ts';
import { defineAction, defineCommand } from './command.ts';
import type { Context } from './context.ts';
import { components, models, type Named } from './lookup.ts';
import {
  choiceOption,
  dateOption,
  fileOption,
  integerOption,
  lookupOption,
  moneyOption,
  optional,
  textOption,
} from './option.ts';
import { Refusal } from './refusal.ts';
import { type Input, inputSchema, type Reply, reply, table, text } from './reply.ts';
import { percent } from './words.ts';

/** Rows that a list or a report shows; `data` and the export have all. */
const SHOWN = 20;

const sightingData = z.object({
  number: z.number().int(),
  kind: z.enum(['phone', 'part']),
  model: z.string(),
  component: z.string().nullable(),
  /** original, refurbished, copy or used; null for a phone. */
  partGrade: z.enum(partGrades).nullable(),
  /** -2 (poor) to 2 (mint); null for a part. */
  condition: z.number().int().nullable(),
  storage: z.number().int().nullable(),
  price: moneyWire,
  how: z.enum(['sold', 'asked']),
  seen: z.iso.date(),
  note: z.string(),
  by: z.string(),
});

/** What the model sells for today in fair condition, from the sightings and the prior. */
const marketData = z.object({
  median: moneyWire,
  low: moneyWire,
  high: moneyWire,
  sightings: z.number().int(),
  outliers: z.number().int(),
  priorShare: z.number(),
  rough: z.boolean(),
  inputs: z.array(inputSchema),
});

export const pricesListData = z.object({
  model: z.string().nullable(),
  total: z.number().int(),
  prices: z.array(sightingData),
  market: marketData.nullable(),
});
export const pricesAddData = z.object({ added: sightingData, market: marketData.nullable() });
export const pricesRemoveData = z.object({ removed: sightingData });
export const pricesImportData = z.object({
  imported: z.number().int(),
  /** Rows that were here already, word for word, and were left out. */
  known: z.number().int(),
  problems: z.array(
    z.object({
      line: z.number().int(),
      column: z.string().nullable(),
      problem: z.string(),
      expected: z.string(),
    }),
  ),
});
export const pricesExportData = z.object({ rows: z.number().int() });

const modelName = ({ store }: Context, id: number): string => store.models.get(id)?.name ?? String(id);
const componentName = ({ knowledge }: Context, id: string): string =>
  knowledge.components.get(id)?.name ?? id;
const conditionWord = (grade: number): string => conditions[2 - grade] ?? String(grade);

const dataOf = (context: Context, one: SightingRecord): z.infer<typeof sightingData> => ({
  number: one.number,
  kind: one.kind,
  model: modelName(context, one.model),
  component: one.component,
  partGrade: one.partGrade,
  condition: one.grade,
  storage: one.storage,
  price: toWire(one.price),
  how: one.how,
  seen: one.seen,
  note: one.note,
  by: one.by,
});

/** "good, 64 GB"; "Battery, copy". */
const whatWords = (context: Context, one: SightingRecord): string =>
  one.component !== null
    ? `${componentName(context, one.component)}, ${one.partGrade}`
    : `${conditionWord(one.grade ?? 0)}${one.storage === null ? '' : say`, ${one.storage} GB`}`;

const inWords = (context: Context, one: SightingRecord): string =>
  `#${one.number}: ${modelName(context, one.model)}, ${whatWords(context, one)}, ${formatMoney(one.price, context.locale)} ${one.how}`;

interface Market {
  words: string;
  data: z.infer<typeof marketData>;
}

/** What a model's prices add up to; null where there is nothing to go by. */
function marketOf(context: Context, id: number): Market | null {
  const model = context.store.models.get(id);
  if (!model || !context.knowledge.families.has(model.family)) return null;
  const family = familyById(context, model.family);
  const { market, currency, inputs } = economicsFor(context, { name: model.name, family, model });
  if (!market) return null;
  const [median, low, high] = [market.median, market.low, market.high].map((one) => fromMajor(one, currency));
  if (!median || !low || !high) return null;
  const show = (amount: typeof median) => formatMoney(amount, context.locale);
  const outliers = market.outliers.length;
  const known =
    market.n < MOST_SIGHTINGS
      ? counted(market.n, '{0} price', '{0} prices')
      : say`the newest ${market.n} prices`;
  const marketInputs: Input[] = inputs.filter(
    ({ name }) => name.startsWith('market') || name.startsWith('value'),
  );
  return {
    words: say`A working ${model.name} in fair condition sells for about ${show(median)} today (10–90 %: ${show(low)} to ${show(high)}), from ${known}${
      outliers ? say`, ${outliers} of them out of line` : ''
    }; ${percent(market.priorShare)} of that is assumption.${market.rough ? say` Rough: more prices would help.` : ''}`,
    data: {
      median: toWire(median),
      low: toWire(low),
      high: toWire(high),
      sightings: market.n,
      outliers,
      priorShare: market.priorShare,
      rough: market.rough,
      inputs: marketInputs,
    },
  };
}

const modelOption = lookupOption({
  lookup: models,
  summary: 'The model, named with /family name',
  example: 'Orrin K3',
});
const idOf = (named: Named): number => Number(named.id);

const list = defineAction({
  summary: 'Show the prices seen, newest first, and what they add up to',
  options: { what: optional(modelOption) },
  examples: ['/prices "Orrin K3"', '/prices'],
  run: ({ what }, context) => {
    const { store, locale } = context;
    const filter = what ? { model: idOf(what) } : {};
    const total = store.sightings.count(filter);
    const seen = store.sightings.list({ ...filter, limit: SHOWN });
    const market = what ? marketOf(context, idOf(what)) : null;
    const of = what ? say` of ${what.name}` : '';
    return reply({
      title: total ? `${counted(total, '{0} price', '{0} prices')}${of}` : say`No price${of} yet`,
      blocks: [
        ...(market ? [text(market.words)] : []),
        ...(seen.length
          ? [
              table(
                [
                  say`>No.`,
                  say`Seen`,
                  ...(what ? [] : [say`Model`]),
                  say`What`,
                  '>Price',
                  say`How`,
                  say`Note`,
                  say`By`,
                ],
                seen.map((one) => [
                  String(one.number),
                  one.seen,
                  ...(what ? [] : [modelName(context, one.model)]),
                  whatWords(context, one),
                  formatMoney(one.price, locale),
                  one.how,
                  one.note,
                  one.by,
                ]),
              ),
            ]
          : []),
        ...(total > seen.length ? [text(say`The newest ${seen.length}; /prices export has all.`)] : []),
        ...(total ? [] : [text(say`Add one: /prices add "Orrin K3" price:180 condition:good`)]),
      ],
      data: {
        model: what?.name ?? null,
        total,
        prices: seen.map((one) => dataOf(context, one)),
        market: market?.data ?? null,
      } satisfies z.infer<typeof pricesListData>,
    });
  },
});

const add = defineAction({
  summary: 'Record a price seen, for a phone or for a part that fits it',
  who: 'member',
  options: {
    what: modelOption,
    price: moneyOption({ summary: "The price, in the collective's currency", example: '180' }),
    how: optional(
      choiceOption({
        choices: ['sold', 'asked'],
        summary: 'A price it sold at, or only asked; sold when left out',
        example: 'sold',
      }),
    ),
    condition: optional(
      choiceOption({
        choices: conditions,
        summary: 'Condition of the phone; fair when left out',
        example: 'good',
      }),
    ),
    storage: optional(integerOption({ min: 1, max: 8192, summary: 'Storage in GB', example: '64' })),
    component: optional(
      lookupOption({ lookup: components, summary: 'For a part: which component', example: 'battery' }),
    ),
    grade: optional(
      choiceOption({ choices: partGrades, summary: 'For a part: what kind it is', example: 'copy' }),
    ),
    seen: optional(
      dateOption({ summary: 'The day it was seen; today when left out', example: '2026-02-20' }),
    ),
    note: optional(textOption({ max: 200, summary: 'Anything worth knowing', example: 'with charger' })),
  },
  examples: [
    '/prices add "Orrin K3" price:180 how:sold condition:good storage:64',
    '/prices add "Orrin K3" price:24 component:battery grade:copy',
  ],
  run: ({ what, price, how, condition, storage, component, grade, seen, note }, context) => {
    const { store, person, now, collective } = context;
    const refuse = (option: string, problem: string, expected: string): never => {
      throw new Refusal({ option, problem, expected });
    };
    if (price.minor === 0) refuse('price', say`A price of nothing tells nothing.`, say`a price above 0`);
    if (component && !grade)
      refuse('grade', say`A part needs its grade.`, say`grade: and one of ${partGrades.join(', ')}`);
    if (grade && !component)
      refuse('grade', say`Only a part has a grade.`, say`condition: for a phone, or component:`);
    if (component && condition)
      refuse(
        'condition',
        say`A part has no condition here.`,
        say`grade: and one of ${partGrades.join(', ')}`,
      );
    if (component && storage) refuse('storage', say`A part has no storage.`, say`no storage`);
    const today = isoDateIn(collective.settings.zone, now);
    if (seen && seen > today) refuse('seen', say`${seen} is in the future.`, say`a date up to ${today}`);
    const added = store.sightings.add({
      kind: component ? 'part' : 'phone',
      model: idOf(what),
      component: component?.id ?? null,
      partGrade: component ? (grade ?? null) : null,
      grade: component ? null : gradeOf(condition ?? 'fair'),
      storage: storage ?? null,
      price,
      how: how ?? 'sold',
      seen: seen ?? today,
      note: note ?? '',
      by: person.name,
      byKey: person.key,
      at: now,
    });
    const market = component ? null : marketOf(context, added.model);
    return reply({
      title: inWords(context, added),
      tone: 'good',
      blocks: market ? [text(market.words)] : [],
      data: {
        added: dataOf(context, added),
        market: market?.data ?? null,
      } satisfies z.infer<typeof pricesAddData>,
    });
  },
});

const remove = defineAction({
  summary: 'Remove a price that you added; a steward removes any',
  who: 'member',
  options: { number: integerOption({ min: 1, max: 1e9, summary: 'Its number in the list', example: '12' }) },
  examples: ['/prices remove 12'],
  run: ({ number }, context) => {
    const { store, person } = context;
    const one = store.sightings.get(number);
    if (!one) {
      throw new Refusal({
        option: 'number',
        problem: say`There is no price #${number} here.`,
        expected: say`a number from /prices`,
      });
    }
    if (one.byKey !== person.key && person.role !== 'steward') {
      throw new Refusal({
        option: 'number',
        problem: say`Price #${number} was added by ${one.by}.`,
        expected: say`one of your own, or to ask a steward`,
      });
    }
    store.sightings.remove(number);
    return reply({
      title: say`Removed ${inWords(context, one)}`,
      data: { removed: dataOf(context, one) } satisfies z.infer<typeof pricesRemoveData>,
    });
  },
});

/** A part in a file is written with its grade: "Battery (copy)". */
const partCell = /^(.+?)\s*\((original|refurbished|copy|used)\)$/;

function partIn(
  cell: string,
  context: Context,
): { component: string; partGrade: (typeof partGrades)[number] } | null {
  const [, name = '', word = ''] = partCell.exec(cell.trim()) ?? [];
  const component = components.find(name, components.entries(context));
  const partGrade = partGrades.find((grade) => grade === word);
  return component && partGrade ? { component: component.id, partGrade } : null;
}

function rowOf(context: Context, names: ReadonlyMap<number, string>, one: SightingRecord): SightingRow {
  const shared = {
    date: one.seen,
    what: names.get(one.model) ?? String(one.model),
    price: one.price,
    how: one.how,
    note: one.note,
  };
  return one.component === null
    ? { ...shared, kind: 'phone', grade: one.grade ?? 0, storage: one.storage }
    : {
        ...shared,
        kind: 'part',
        component: `${componentName(context, one.component)} (${one.partGrade})`,
      };
}

function sightingOf(context: Context, row: SightingRow): NewSighting {
  const { store, person, now } = context;
  const model = store.models.findByName(row.what);
  const part = row.kind === 'part' ? partIn(row.component, context) : null;
  if (!model || (row.kind === 'part' && !part)) throw new Error('the row was not checked');
  return {
    kind: row.kind,
    model: model.id,
    component: part?.component ?? null,
    partGrade: part?.partGrade ?? null,
    grade: row.kind === 'phone' ? row.grade : null,
    storage: row.kind === 'phone' ? row.storage : null,
    price: row.price,
    how: row.how,
    seen: row.date,
    note: row.note,
    by: person.name,
    byKey: person.key,
    at: now,
  };
}

/** Two sightings with the same key say the same. */
const sameKey = ({
  kind,
  model,
  component,
  partGrade,
  grade,
  storage,
  price,
  how,
  seen,
  note,
}: NewSighting) =>
  JSON.stringify([kind, model, component, partGrade, grade, storage, price.minor, how, seen, note]);

function refusedFile(problems: z.infer<typeof pricesImportData>['problems']): Reply {
  const rows = new Set(problems.map(({ line }) => line)).size;
  return reply({
    outcome: 'refused',
    audience: 'asker',
    tone: 'caution',
    title: counted(
      rows,
      'Nothing was imported: {0} line is not right',
      'Nothing was imported: {0} lines are not right',
    ),
    blocks: [
      table(
        ['>Line', say`Column`, say`Problem`, say`Expected`],
        problems
          .slice(0, SHOWN)
          .map(({ line, column, problem, expected }) => [String(line), column ?? '', problem, expected]),
      ),
      ...(problems.length > SHOWN ? [text(say`And ${problems.length - SHOWN} more.`)] : []),
      text(say`Mend them and send the whole file again.`),
    ],
    data: { imported: 0, known: 0, problems } satisfies z.infer<typeof pricesImportData>,
  });
}

const importFile = defineAction({
  summary: 'Import prices from a CSV file: all of it, or nothing when a line is not right',
  who: 'member',
  options: { file: fileOption({ summary: 'A CSV file as /prices export writes it', example: 'prices.csv' }) },
  examples: ['/prices import prices.csv'],
  run: ({ file }, context) => {
    const { store, collective, now } = context;
    const names = new Set(store.models.list().map(({ name }) => nameKey(name)));
    const { rows, problems } = parseSightingsCsv(file, {
      currency: collective.settings.currency,
      today: isoDateIn(collective.settings.zone, now),
      knownModel: (name) => names.has(nameKey(name)),
      knownComponent: (cell) => partIn(cell, context) !== null,
    });
    if (problems.length) {
      return refusedFile(
        problems.map(({ line, column, problem, expected }) => ({
          line,
          column: column ?? null,
          problem,
          expected:
            column === 'component' && expected !== say`an empty cell`
              ? say`a component with its grade, such as Battery (copy)`
              : column === 'what'
                ? say`a model named with /family name`
                : expected,
        })),
      );
    }
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
      data: { imported: fresh.length, known, problems: [] } satisfies z.infer<typeof pricesImportData>,
    });
  },
});

const exportFile = defineAction({
  summary: 'Export all prices as a CSV file',
  options: { what: optional(modelOption) },
  examples: ['/prices export', '/prices export "Orrin K3"'],
  run: ({ what }, context) => {
    const seen = context.store.sightings.list(what ? { model: idOf(what) } : {});
    const names = new Map(context.store.models.list().map(({ id, name }) => [id, name]));
    const day = isoDateIn(context.collective.settings.zone, context.now);
    const alt = counted(seen.length, '{0} price as CSV', '{0} prices as CSV');
    return reply({
      title: alt,
      files: [
        {
          name: `prices-${day}.csv`,
          mime: 'text/csv',
          alt,
          text: sightingsToCsv(seen.map((one) => rowOf(context, names, one)).reverse()),
        },
      ],
      data: { rows: seen.length } satisfies z.infer<typeof pricesExportData>,
    });
  },
});

export const prices = defineCommand({
  name: 'prices',
  summary: 'Record and list prices seen, for phones and parts',
  main: 'list',
  actions: { list, add, remove, import: importFile, export: exportFile },
});
