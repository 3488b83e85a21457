/** Prices in words and as data, and what those of a model add up to. */

import { z } from 'zod';
import { partGrades } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, inRow, joined, plain, quantity, say, verbatim } from '../../shared/language/say.ts';
import { amount, fromMajor, moneyWire, toWire } from '../../shared/money/money.ts';
import type { SightingRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { type Input, inputSchema } from '../framework/reply.ts';
import { economicsFor, MOST_SIGHTINGS } from '../shared/appraise-phone.ts';
import { conditions, conditionWords, familyById } from '../shared/phone.ts';
import { componentName, partGradeWords, percent } from '../shared/words.ts';

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
const conditionWord = (grade: number): Message => {
  const condition = conditions[2 - grade];
  return condition === undefined ? plain`${grade}` : conditionWords[condition];
};
export const howWords: Readonly<Record<SightingRecord['how'], Message>> = {
  sold: say`sold`,
  asked: say`asked`,
};

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
export const sightingWords = (context: Context, one: SightingRecord): Message =>
  one.component !== null
    ? inRow([componentName(context, one.component), one.partGrade ? partGradeWords[one.partGrade] : ''])
    : inRow([conditionWord(one.grade ?? 0), one.storage === null ? '' : quantity(one.storage, 'GB')]);

export const sightingInWords = (context: Context, one: SightingRecord): Message =>
  plain`#${one.number}: ${verbatim(modelName(context, one.model))}, ${sightingWords(context, one)}, ${amount(one.price)} ${howWords[one.how]}`;

interface Market {
  words: Message;
  data: z.infer<typeof marketSchema>;
}

/** What a model's prices add up to; null where there is nothing to go by. */
export function marketOf(context: Context, id: number): Market | null {
  const model = context.store.models.get(id);
  if (!model || !context.knowledge.families.has(model.family)) return null;
  const family = familyById(context, model.family);
  const { market, currency, inputs } = economicsFor(context, { name: verbatim(model.name), family, model });
  if (!market) return null;
  const [median, low, high] = [market.median, market.low, market.high].map((one) => fromMajor(one, currency));
  if (!median || !low || !high) return null;
  const outliers = market.outliers.length;
  const known =
    market.n < MOST_SIGHTINGS
      ? counted(market.n, '{0} price', '{0} prices')
      : say`the newest ${market.n} prices`;
  const marketInputs: Input[] = inputs.filter(
    ({ name }) => name.startsWith('market') || name.startsWith('value'),
  );
  return {
    words: joined([
      say`A working ${verbatim(model.name)} in fair condition sells for about ${amount(median)} today (10–90 %: ${amount(low)} to ${amount(high)}), from ${outliers ? say`${known}, ${outliers} of them out of line` : known}; ${percent(market.priorShare)} of that is assumption.`,
      market.rough ? say`Rough: more prices would help.` : '',
    ]),
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
