/** What the weekly post answers besides words: its data. */

import { z } from 'zod';
import { pairingEffects } from '../../knowledge/schema.ts';
import { moneyWire, toWire } from '../../shared/money/money.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { sparedBy } from '../../shared/week/factors.ts';
import type { WeekSummary } from '../../shared/week/summary.ts';
import { lastInstant, type WeekWords } from './week-words.ts';

const range = z.object({ low: z.number(), high: z.number() }).nullable();

export const weekData = z.object({
  week: z.string(),
  /** First and last day. */
  from: z.iso.date(),
  until: z.iso.date(),
  restored: z.array(
    z.object({
      job: z.number().int(),
      model: z.string(),
      by: z.string(),
      /** From intake to the end. */
      days: z.number().int(),
      minutes: z.number().int(),
      out: moneyWire,
      /** Null for a phone that is kept. */
      back: moneyWire.nullable(),
      /** What a kept phone is worth in use; null where that is not known, and for one that was let go. */
      worth: moneyWire.nullable().default(null),
      /** Parts with an earlier life. */
      reusedParts: z.number().int(),
    }),
  ),
  others: z.object({
    stripped: z.number().int(),
    partsKept: z.number().int(),
    passed: z.number().int(),
    handedBack: z.number().int(),
  }),
  /** Of the restored phones; time is no money here. */
  minutes: z.number().int(),
  out: moneyWire,
  back: moneyWire,
  /** What the kept ones are worth in use; in the net. */
  worth: moneyWire.optional(),
  net: moneyWire,
  /** Over the restored phones that were let go: what was left after the time, and what was expected at intake. */
  estimate: z
    .object({
      phones: z.number().int(),
      expected: moneyWire,
      came: moneyWire,
      expectedMinutes: z.number(),
      minutes: z.number().int(),
    })
    .nullable(),
  days: z.object({ least: z.number(), median: z.number(), most: z.number() }).nullable(),
  reusedParts: z.number().int(),
  /** Kilograms. */
  mass: range,
  /** Kilograms of CO2 equivalent, and kilograms of raw material, for each further year of use in place of new phones. */
  gas: range,
  material: range,
  learnt: z
    .discriminatedUnion('kind', [
      z.object({
        kind: z.literal('fault'),
        job: z.number().int(),
        model: z.string(),
        fault: z.string(),
        chance: z.number(),
      }),
      z.object({
        kind: z.literal('swap'),
        number: z.number().int(),
        component: z.string(),
        phone: z.string(),
        effect: z.enum(pairingEffects),
      }),
    ])
    .nullable(),
});
export type WeekData = z.infer<typeof weekData>;

export const weekDataOf = (summary: WeekSummary, { knowledge, zone }: WeekWords): WeekData => {
  const { mass, gas, material } = sparedBy(knowledge.factors, summary.restored.length);
  const { estimate, totals } = summary;
  return {
    week: summary.week,
    from: isoDateIn(zone, summary.from),
    until: isoDateIn(zone, lastInstant(summary)),
    restored: summary.restored.map(({ number, model, by, days, minutes, out, back, worth, reusedParts }) => ({
      job: number,
      model,
      by,
      days,
      minutes,
      out: toWire(out),
      back: back && toWire(back),
      worth: worth && toWire(worth),
      reusedParts,
    })),
    others: summary.others,
    minutes: totals.minutes,
    out: toWire(totals.out),
    back: toWire(totals.back),
    worth: toWire(totals.worth),
    net: toWire(totals.net),
    estimate: estimate && {
      ...estimate,
      expected: toWire(estimate.expected),
      came: toWire(estimate.came),
    },
    days: summary.days,
    reusedParts: totals.reusedParts,
    mass,
    gas,
    material,
    learnt: summary.learnt,
  };
};
