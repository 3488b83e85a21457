/** What `/lot` answers: the whole, each row, and what to bid. */
import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import {
  counted,
  inRow,
  joined,
  listWords,
  packText,
  plain,
  quantity,
  say,
  typed,
} from '../../shared/language/say.ts';
import { amount, bareAmount, fromMajor, moneyWire, toWire } from '../../shared/money/money.ts';
import type { LotAdvice } from '../../shared/worth/lot.ts';
import { ways } from '../../shared/worth/verdict.ts';
import type { Context } from '../framework/context.ts';
import {
  type Draft,
  type DraftBlock,
  facts,
  onBack,
  reply,
  right,
  steps,
  table,
  text,
} from '../framework/reply.ts';
import type { AppraisedPhone } from '../shared/appraise-phone.ts';
import { cardsOfState, withoutDoubles } from '../shared/caution-cards.ts';
import { wayWords } from '../shared/way-words.ts';
import { percent } from '../shared/words.ts';
import type { LotRowAsked } from './lot-rows.ts';

export const lotData = z.object({
  /** Null: no price was asked. */
  price: moneyWire.nullable(),
  buy: z.boolean(),
  /** The highest price for the whole; null: none, not even as a gift. */
  bid: moneyWire.nullable(),
  limit: z.enum(['margin', 'risk']).nullable(),
  phones: z.number().int(),
  mean: moneyWire,
  loss: z.number(),
  /** What the worst tenth loses, time counted: if the phones' fates are independent, and at most. */
  atRisk: z.object({ independent: moneyWire, together: moneyWire }),
  bearable: moneyWire,
  minutes: z.number(),
  outlay: moneyWire,
  rows: z.array(
    z.object({
      place: z.number().int(),
      family: z.string(),
      model: z.string().nullable(),
      symptoms: z.array(z.string()),
      damage: z.array(z.string()),
      count: z.number().int(),
      /** Null: no price is known, so it is not counted. */
      way: z.enum(ways).nullable(),
      adds: moneyWire.nullable(),
      highest: moneyWire.nullable(),
      ofBid: moneyWire.nullable(),
    }),
  ),
});

type Show = (sum: number) => Message;
type LotRow = LotAdvice['rows'][number];

/** A lot as it was appraised, in the order of its rows. */
interface FoundLot {
  rows: readonly { row: LotRowAsked; result: LotRow | null }[];
  advice: LotAdvice;
  phones: number;
  price: number | null;
  currency: string;
}

function rowName({ knowledge }: Context, { phone, symptoms, damage, count }: LotRowAsked): Message {
  const said = [
    ...symptoms.map((id) => packText(knowledge.symptoms.get(id)?.name ?? id)),
    ...damage.map((id) => packText(knowledge.components.get(id)?.name ?? id)),
  ];
  const one = said.length ? plain`${phone.name} (${inRow(said)})` : phone.name;
  return count > 1 ? plain`${count} × ${one}` : one;
}

function lotTitle({ advice, phones, price }: FoundLot, show: Show): Message {
  const size = counted(phones, '{0} phone', '{0} phones');
  if (advice.rows.length === 0) return say`${size}: no bid yet, no price is known for any of them`;
  const most = advice.bid === null ? say`no price is worth paying` : say`bid up to ${show(advice.bid)}`;
  if (price === null) return plain`${size}: ${most}`;
  return plain`${size}: ${advice.buy ? say`buy them at ${show(price)}` : say`pass at ${show(price)}`} (${most})`;
}

function rowsTable({ rows, currency }: FoundLot, context: Context): DraftBlock {
  const bare = (sum: number): Message => bareAmount(fromMajor(sum, currency));
  return table(
    [
      say`Phone`,
      say`What to do`,
      right(say`Adds, ${typed(currency)}`),
      right(say`Alone up to`),
      right(say`Of the bid`),
    ],
    rows.map(({ row, result }) => [
      rowName(context, row),
      result ? (result.way === 'pass' ? say`Leave it` : wayWords[result.way]) : say`not counted`,
      result ? bare(result.adds) : '',
      result ? (result.highest === null ? say`nothing` : bare(result.highest)) : '',
      result ? bare(result.ofBid) : '',
    ]),
  );
}

function lotDataOf({ rows, advice, phones, price, currency }: FoundLot): z.infer<typeof lotData> {
  const wire = (sum: number) => toWire(fromMajor(sum, currency));
  return {
    price: price === null ? null : wire(price),
    buy: price !== null && advice.buy,
    bid: advice.bid === null ? null : wire(advice.bid),
    limit: advice.limit,
    phones,
    mean: wire(advice.mean),
    loss: Math.min(1, Math.max(0, advice.loss)),
    atRisk: { independent: wire(advice.atRisk.independent), together: wire(advice.atRisk.together) },
    bearable: wire(advice.bearable),
    minutes: advice.minutes,
    outlay: wire(advice.cash),
    rows: rows.map(({ row, result }) => ({
      place: row.place,
      family: row.phone.family.id,
      model: row.phone.model?.name ?? null,
      symptoms: [...row.symptoms],
      damage: [...row.damage],
      count: row.count,
      way: result?.way ?? null,
      adds: result ? wire(result.adds) : null,
      highest: result && result.highest !== null ? wire(result.highest) : null,
      ofBid: result ? wire(result.ofBid) : null,
    })),
  };
}

export function lotReply(
  context: Context,
  appraised: readonly { row: LotRowAsked; appraised: AppraisedPhone }[],
  advice: LotAdvice,
  price: number | null,
): Draft<z.infer<typeof lotData>> {
  const { currency } = context.collective.settings;
  const show: Show = (sum) => amount(fromMajor(sum, currency));
  const results = new Map(advice.rows.map((one) => [one.name, one]));
  const rows = appraised.map(({ row }, i) => ({ row, result: results.get(String(i)) ?? null }));
  const phones = rows.reduce((sum, { row }) => sum + row.count, 0);
  const lot: FoundLot = { rows, advice, phones, price, currency };
  const unpriced = rows.filter(({ result }) => !result);
  const cards = appraised.flatMap(({ appraised: { found } }) => cardsOfState(context, found.state));
  const nothing = advice.rows.length === 0;
  return reply({
    title: lotTitle(lot, show),
    tone: nothing || (price === null ? advice.bid === null : !advice.buy) ? 'caution' : 'good',
    cautions: withoutDoubles(cards),
    blocks: [
      ...(nothing ? [] : [text(wholeInWords(advice, price, show))]),
      ...(unpriced.length
        ? [
            text(
              say`Not counted, no price is known (/prices add): ${listWords(unpriced.map(({ row }) => rowName(context, row)))}.`,
            ),
          ]
        : []),
      rowsTable(lot, context),
      ...(phones > rows.length ? [text(say`Amounts are of one phone of each row.`)] : []),
      ...onBack(
        facts(
          [
            [say`Bench time`, quantity(Math.round(advice.minutes), 'min')],
            [say`Parts`, show(advice.cash)],
            [say`What you can bear`, say`${show(advice.bearable)} on a lot of this size (/setup bear:)`],
          ],
          say`Behind it`,
        ),
      ),
      steps(
        [
          say`Before any money: whose are they, are they free of an account lock, are they on a stolen-phone list? /caution data-and-ownership`,
        ],
        undefined,
        false,
      ),
    ],
    data: lotDataOf(lot),
  });
}

function wholeInWords(advice: LotAdvice, price: number | null, show: Show): Message {
  const { mean, atRisk, loss, limit, buy } = advice;
  return joined([
    price === null
      ? say`As a gift it is expected to leave ${show(mean)}.`
      : say`At ${show(price)} it is expected to leave ${show(mean)}. Chance of any loss: ${percent(loss)}.`,
    atRisk.together >= 0.5
      ? say`One time in ten the whole leaves you out ${show(atRisk.independent)}, if each phone has its own luck; if all go badly together, ${show(atRisk.together)}.`
      : '',
    price !== null && !buy && limit === 'risk' ? say`That is more than you bear on a lot of this size.` : '',
  ]);
}
