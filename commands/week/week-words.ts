/** The week in words: its days, ranges, hours, phones, what was learnt and what came back. */

import type { Knowledge } from '../../knowledge/load.ts';
import type { Message } from '../../shared/language/message.ts';
import {
  counted,
  datesOf,
  joined,
  listWords,
  packText,
  plain,
  quantity,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';
import { amount } from '../../shared/money/money.ts';
import { effectWords } from '../../shared/pairing/pairing.ts';
import type { Range } from '../../shared/week/factors.ts';
import type { RestoredPhone, WeekLesson, WeekSummary } from '../../shared/week/summary.ts';
import { percent } from '../shared/words.ts';

export interface WeekWords {
  knowledge: Knowledge;
  collective: string;
  zone: string;
}

/** "23–29 November 2026", "28 December 2026 – 3 January 2027". */
export function daysInWords(from: Date, until: Date, { zone }: WeekWords): Message {
  return datesOf(from, until, { timeZone: zone, day: 'numeric', month: 'long', year: 'numeric' });
}

/** Two figures, so that no more is said than is known: 0.42, 5.6, 39, 230. */
export const rough = (value: number): number =>
  value >= 100 ? Math.round(value / 10) * 10 : Number(value.toPrecision(2));
export const rangeWords = ({ low, high }: Range, unit: Message): Message =>
  rough(low) === rough(high)
    ? say`about ${rough(low)} ${unit}`
    : say`${rough(low)} to ${rough(high)} ${unit}`;
export const KG = typed('kg');

export const hours = (minutes: number): Message =>
  minutes < 60 ? quantity(minutes, 'min') : quantity(Number((minutes / 60).toFixed(1)), 'h');
export const dayWords = (days: number): Message =>
  days < 1 ? say`under a day` : counted(days, '{0} day', '{0} days');

/** "1 stripped (4 parts kept), 2 passed on"; empty when there was nothing else. */
export function othersInWords({
  others: { stripped, partsKept, passed, handedBack },
}: WeekSummary): Message | null {
  const others = [
    ...(stripped
      ? [
          partsKept
            ? say`${stripped} stripped (${counted(partsKept, '{0} part kept', '{0} parts kept')})`
            : say`${stripped} stripped`,
        ]
      : []),
    ...(passed ? [say`${passed} passed on`] : []),
    ...(handedBack ? [say`${handedBack} handed back`] : []),
  ];
  return others.length ? listWords(others) : null;
}

/** A model's own name, or that of a family by its id. */
export const phoneName = ({ knowledge }: WeekWords, name: string): Message => {
  const family = knowledge.families.get(name);
  return family ? packText(family.name) : verbatim(name);
};

export function learntInWords(learnt: WeekLesson, words: WeekWords): Message {
  const { knowledge } = words;
  if (learnt.kind === 'fault') {
    const fault = knowledge.faults.get(learnt.fault)?.name ?? learnt.fault;
    return say`Job ${learnt.job}, ${phoneName(words, learnt.model)}: it was “${packText(fault)}”, which had ${percent(learnt.chance)} at intake. Worth a look on the next one.`;
  }
  const component = knowledge.components.get(learnt.component)?.name ?? learnt.component;
  return say`Swap report ${learnt.number}: on a ${phoneName(words, learnt.phone)}, a swapped ${packText(component)} ${effectWords[learnt.effect]}.`;
}

/** "AUD 210.00 left, AUD 35.00 more than expected". */
export function estimateInWords(summary: WeekSummary): Message {
  const { estimate } = summary;
  if (!estimate) return say`no estimate to hold it against`;
  const { expected, came, phones, expectedMinutes, minutes } = estimate;
  const minor = came.minor - expected.minor;
  const difference = amount({ ...came, minor: Math.abs(minor) });
  const than =
    minor === 0
      ? say`just as expected`
      : minor > 0
        ? say`${difference} more than expected`
        : say`${difference} less than expected`;
  const left = say`${amount(came)} left after the time, ${than}`;
  return joined(
    [
      phones === summary.restored.length
        ? left
        : plain`${left} (${counted(phones, '{0} phone', '{0} phones')})`,
      expectedMinutes
        ? say`${hours(minutes)} where about ${hours(Math.round(expectedMinutes))} were expected`
        : '',
    ],
    '; ',
  );
}

export const daysFact = ({ days }: WeekSummary): Message =>
  days === null
    ? typed('')
    : days.least === days.most
      ? dayWords(days.most)
      : say`${days.least} to ${days.most}, half of them within ${dayWords(days.median)}`;

export const lastInstant = ({ to }: WeekSummary): Date => new Date(to.getTime() - 1);

/** What came back for it, or that it is kept and what it is worth. */
export const cameBack = ({ back, worth }: RestoredPhone): Message =>
  back ? amount(back) : worth ? say`kept, worth ${amount(worth)}` : say`kept`;

/** All money of the week in a line: what went out, what came back, what is left. */
export function sumInWords({ totals }: WeekSummary): Message {
  const { out, back, worth, net, kept } = totals;
  return joined([
    say`Together ${amount(out)} spent, ${amount(back)} came back, ${amount(net)} left.`,
    kept && worth.minor
      ? counted(kept, '{0} phone kept, worth {1}.', '{0} phones kept, worth {1}.', amount(worth))
      : kept
        ? counted(kept, '{0} phone kept.', '{0} phones kept.')
        : '',
  ]);
}
