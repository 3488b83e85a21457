/** What `/worth` answers besides words. */
import { z } from 'zod';
import { fromMajor, moneyWire, toWire } from '../../shared/money/money.ts';
import { dependsOn } from '../../shared/worth/appraise.ts';
import { type WayResult, ways } from '../../shared/worth/verdict.ts';
import type { Context } from '../framework/context.ts';
import { inputSchema } from '../framework/reply.ts';
import { lookSchema, looksToData } from '../shared/at-the-table.ts';

import { closestOf, highestOf, oddsOf, valueRange, type WorthQuestion } from './worth-question.ts';

const chance = z.number().min(0).max(1);
export const worthData = z.object({
  /** Null: no price is known, so there is none. */
  verdict: z.enum(ways).nullable(),
  price: moneyWire,
  /** The most worth paying, by the way advised; where that is to pass, by any; null when no price is. */
  highest: moneyWire.nullable(),
  rough: z.boolean(),
  value: z.object({ median: moneyWire, low: moneyWire, high: moneyWire }),
  ways: z.array(
    z.object({
      way: z.enum(ways),
      mean: moneyWire,
      low: moneyWire,
      high: moneyWire,
      loss: chance,
      minutes: z.number(),
      perHour: moneyWire.nullable(),
      /** Expected money besides the price. */
      outlay: moneyWire,
      highest: moneyWire.nullable(),
      /** What stops it above that. */
      limit: z.enum(['margin', 'risk']).nullable(),
      chanceRestored: chance,
      /** The mean of the worst tenth: what one is out, time counted. */
      atRisk: z.object({ total: moneyWire, parts: moneyWire, takings: moneyWire, minutes: z.number() }),
      gates: z.array(
        z.object({
          chance,
          minutesBefore: z.number(),
          cash: moneyWire,
          restored: chance,
          steps: z.array(z.string()),
        }),
      ),
    }),
  ),
  /** The nearest price at which the advice changes. */
  closest: z.object({ price: moneyWire, below: z.enum(ways), above: z.enum(ways) }).nullable(),
  depends: z.array(z.object({ on: z.enum(dependsOn), low: moneyWire, high: moneyWire })),
  nextCheck: z.object({ id: z.string(), gain: moneyWire }).nullable(),
  /** The checks of a minute that move the highest price most, by how much they are expected to. */
  table: z.array(
    z.object({
      check: z.string(),
      minutes: z.number(),
      moves: moneyWire,
      outcomes: z.array(z.object({ id: z.string(), chance })),
    }),
  ),
  /** What was seen before buying, and the highest price before the last of it; null: none. */
  seen: z.array(lookSchema),
  before: moneyWire.nullable(),
  odds: z.array(z.object({ fault: z.string(), chance })),
  inputs: z.array(inputSchema),
});
export type WorthData = z.infer<typeof worthData>;

/** Rounding may leave a chance a hair outside of its range. */
const within = (share: number): number => Math.min(1, Math.max(0, share));

type Wire = (sum: number) => z.infer<typeof moneyWire>;

const wayData = (way: WayResult, wire: Wire): WorthData['ways'][number] => ({
  way: way.way,
  mean: wire(way.mean),
  low: wire(way.low),
  high: wire(way.high),
  loss: within(way.loss),
  minutes: way.minutes,
  perHour: way.perHour === null ? null : wire(way.perHour),
  outlay: wire(way.cash),
  highest: way.highest === null ? null : wire(way.highest),
  limit: way.limit,
  chanceRestored: within(way.restored),
  atRisk: {
    total: wire(way.atRisk.total),
    parts: wire(way.atRisk.parts),
    takings: wire(way.atRisk.takings),
    minutes: way.atRisk.minutes,
  },
  gates: way.gates.map((gate) => ({
    chance: within(gate.chance),
    minutesBefore: gate.minutesBefore,
    cash: wire(gate.cash),
    restored: within(gate.restored),
    steps: gate.steps.map(({ id }) => id),
  })),
});

function inputsOf(
  { economics, result, phone }: WorthQuestion,
  { knowledge, collective: { settings } }: Context,
  wire: Wire,
): WorthData['inputs'] {
  const { service } = result;
  return [
    { name: 'family', value: phone.family.id, ground: 'given' },
    { name: 'price asked', value: wire(result.price).amount, ground: 'given' },
    { name: 'margin wanted', value: settings.margin, ground: 'collective', note: '/setup margin:' },
    {
      name: 'what can be borne on one phone',
      value: wire(result.stance.bearable).amount,
      ground: settings.bearable === null ? 'assumed' : 'collective',
      note: '/setup bear:',
    },
    {
      name: 'tax on margin, percent',
      value: settings.marginTax,
      ground: 'collective',
      note: '/setup margin-tax:',
    },
    ...(service
      ? [
          {
            name: 'fee of a service',
            value: wire(service.amount).amount,
            ground: service.ground,
            note: '/setup service:',
          },
        ]
      : []),
    ...economics.inputs,
    {
      name: 'knowledge pack',
      value: knowledge.version,
      ground: 'practice',
      note: 'pack',
    },
  ];
}

export function worthDataOf(question: WorthQuestion, context: Context): WorthData {
  const { economics, result, rough, looks, before } = question;
  const wire: Wire = (sum) => toWire(fromMajor(sum, economics.currency));
  const value = valueRange(economics);
  const closest = closestOf(result);
  const highest = highestOf(result);
  const beforeHighest = before && highestOf(before);
  return {
    verdict: result.verdict,
    price: wire(result.price),
    highest: highest === null ? null : wire(highest),
    rough: rough.length > 0,
    value: { median: wire(value.median), low: wire(value.low), high: wire(value.high) },
    ways: result.ways.map((way) => wayData(way, wire)),
    closest: closest && { ...closest, price: wire(closest.price) },
    depends: result.depends.map((one) => ({ ...one, low: wire(one.low), high: wire(one.high) })),
    nextCheck: result.nextCheck && { id: result.nextCheck.id, gain: wire(result.nextCheck.gain) },
    table: result.table.map(({ id, minutes, moves, outcomes }) => ({
      ...{ check: id, minutes, moves: wire(moves) },
      outcomes: outcomes.map((one) => ({ id: one.id, chance: within(one.chance) })),
    })),
    seen: looksToData(looks),
    before: beforeHighest === null ? null : wire(beforeHighest),
    odds: oddsOf(question).map(({ fault, share }) => ({ fault: fault.id, chance: within(share) })),
    inputs: inputsOf(question, context, wire),
  };
}
