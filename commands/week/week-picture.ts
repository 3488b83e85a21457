/** What the week's picture is drawn from, and what it shows for who cannot see it. */

import { z } from 'zod';
import type { Message, Unrendered } from '../../shared/language/message.ts';
import { counted, joined, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import { amount, toMajor } from '../../shared/money/money.ts';
import { sparedBy } from '../../shared/week/factors.ts';
import type { WeekSummary } from '../../shared/week/summary.ts';
import {
  cameBack,
  daysInWords,
  dayWords,
  hours,
  KG,
  lastInstant,
  learntInWords,
  othersInWords,
  phoneName,
  rangeWords,
  type WeekWords,
} from './week-words.ts';

/** What the picture is drawn from: words ready to be set, and money in major units for its lengths. */
export const weekChartData = z.object({
  title: z.string(),
  subtitle: z.string(),
  /** The week in numbers: told small, below the phones. */
  figures: z.array(z.object({ label: z.string(), value: z.string() })),
  currency: z.string(),
  phones: z.array(
    z.object({
      job: z.number().int(),
      model: z.string(),
      note: z.string(),
      out: z.number(),
      outWords: z.string(),
      /** Null for a phone that is kept. */
      back: z.number().nullable(),
      backWords: z.string(),
    }),
  ),
  /** Phones that the picture has no room for. */
  more: z.number().int(),
  /** What the picture says by itself: what its bars are, and how many phones are left out. */
  words: z.object({ spent: z.string(), back: z.string(), more: z.string() }),
  learnt: z.string().nullable(),
  footer: z.string(),
});
export type WeekChartData = z.infer<typeof weekChartData>;

/** Rows of the picture; more would be too small on a phone. */
const DRAWN = 8;

export function chartOf(summary: WeekSummary, words: WeekWords): Unrendered<WeekChartData> {
  const { collective, knowledge } = words;
  const { totals, restored } = summary;
  const { mass, gas } = sparedBy(knowledge.factors, restored.length);
  const others = othersInWords(summary);
  const left = Math.max(0, restored.length - DRAWN);
  return {
    title: say`From spent to came back`,
    subtitle: plain`${verbatim(collective)}, ${daysInWords(summary.from, lastInstant(summary), words)} (${typed(summary.week)})`,
    figures: [
      {
        label: counted(restored.length, 'phone back in use', 'phones back in use'),
        value: plain`${restored.length}`,
      },
      { label: say`at the bench`, value: hours(totals.minutes) },
      { label: say`spent`, value: amount(totals.out) },
      { label: say`came back`, value: amount(totals.back) },
      {
        label: counted(totals.reusedParts, 'part used again', 'parts used again'),
        value: plain`${totals.reusedParts}`,
      },
      ...(mass ? [{ label: say`kept in use`, value: rangeWords(mass, KG) }] : []),
      ...(gas ? [{ label: say`CO2e spared a year`, value: rangeWords(gas, KG) }] : []),
    ],
    currency: typed(totals.out.currency),
    phones: restored.slice(0, DRAWN).map((phone) => ({
      job: phone.number,
      model: phoneName(words, phone.model),
      note: plain`${dayWords(phone.days)}, ${hours(phone.minutes)}`,
      out: toMajor(phone.out),
      outWords: amount(phone.out),
      back: phone.back && toMajor(phone.back),
      backWords: cameBack(phone),
    })),
    more: left,
    words: {
      spent: say`spent, ${typed(totals.out.currency)}`,
      back: say`came back`,
      more: say`and ${left} more in the message`,
    },
    learnt: summary.learnt && learntInWords(summary.learnt, words),
    footer: others ? say`Also finished: ${others}.` : typed(''),
  };
}

/** What the picture shows, for who cannot see it. */
export function altOf(chart: Unrendered<WeekChartData>): Message {
  const { title, subtitle, figures, phones, more, learnt, footer } = chart;
  const line = ({ job, model, note, outWords, back, backWords }: (typeof phones)[number]) =>
    back === null
      ? say`${model} (job ${job}): ${outWords} spent, kept, ${note}`
      : say`${model} (job ${job}): ${outWords} spent, ${backWords} came back, ${note}`;
  const lines = joined(phones.map(line), '; ');
  return joined([
    plain`${title}. ${subtitle}.`,
    plain`${joined(
      figures.map(({ label, value }) => joined([value, label])),
      '; ',
    )}.`,
    more
      ? say`For each phone what was spent and what came back: ${lines}; and ${more} more.`
      : say`For each phone what was spent and what came back: ${lines}.`,
    ...(learnt ? [say`Learnt: ${learnt}`] : []),
    footer,
  ]);
}
