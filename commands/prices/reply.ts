/** Prices in words and as data, and what those of a model add up to. */
import { z } from 'zod';
import { partGrades } from '../../knowledge/schema.ts';
import { counted, say } from '../../shared/language/say.ts';
import { formatMoney, fromMajor, moneyWire, toWire } from '../../shared/money/money.ts';
import type { SightingRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { type Input, inputSchema } from '../framework/reply.ts';
import { economicsFor, MOST_SIGHTINGS } from '../shared/appraise-phone.ts';
import { conditions, familyById } from '../shared/phone.ts';
import { componentName, percent } from '../shared/words.ts';

/** Rows that a list or a report shows; `data` and the export have all. */
export const PRICES_SHOWN = 20;

export const sightingSchema = z.object({
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
export const marketSchema = z.object({
  median: moneyWire,
  low: moneyWire,
  high: moneyWire,
  sightings: z.number().int(),
  outliers: z.number().int(),
  priorShare: z.number(),
  rough: z.boolean(),
  inputs: z.array(inputSchema),
});

export const modelName = ({ store }: Context, id: number): string => store.models.get(id)?.name ?? String(id);
const conditionWord = (grade: number): string => conditions[2 - grade] ?? String(grade);

export const sightingDataOf = (context: Context, one: SightingRecord): z.infer<typeof sightingSchema> => ({
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
  by: one.by.name,
});

/** "good, 64 GB"; "Battery, copy". */
export const sightingWords = (context: Context, one: SightingRecord): string =>
  one.component !== null
    ? `${componentName(context, one.component)}, ${one.partGrade}`
    : `${conditionWord(one.grade ?? 0)}${one.storage === null ? '' : say`, ${one.storage} GB`}`;

export const sightingInWords = (context: Context, one: SightingRecord): string =>
  `#${one.number}: ${modelName(context, one.model)}, ${sightingWords(context, one)}, ${formatMoney(one.price, context.locale)} ${one.how}`;

interface Market {
  words: string;
  data: z.infer<typeof marketSchema>;
}

/** What a model's prices add up to; null where there is nothing to go by. */
export function marketOf(context: Context, id: number): Market | null {
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
