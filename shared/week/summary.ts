/** What a week brought: the phones that were finished in it. Restorations are what counts; the rest is told in one line. */
import type { PairingEffect } from '../../knowledge/schema.ts';
import type { EndedAs } from '../jobs/job.ts';
import { addMoney, fromMajor, type Money, money, subtract } from '../money/money.ts';

/** A job that has ended, as a room may see it. */
export interface FinishedJob {
  number: number;
  model: string;
  /** Id of the family. */
  family: string;
  ended: EndedAs;
  openedAt: Date;
  endedAt: Date;
  /** At the bench. */
  minutes: number;
  /** All that was spent, the price of the phone with it. */
  out: Money;
  back: Money;
  /** The collective keeps the phone: nothing was to come back. */
  kept: boolean;
  /** What a kept phone is worth in use; null where nothing is known of its price, and for one that was let go. */
  worth: Money | null;
  /** What the estimate at intake expected to be left after the time, and its minutes; null when there was none. */
  promised: { mean: Money; minutes: number } | null;
  /** Id of the fault that it was; null when nobody knows. */
  fault: string | null;
  /** Its chance at intake, from 0 to 1; null when it was not reckoned with. */
  faultChanceAtIntake: number | null;
  /** Parts with an earlier life: fitted ones of a restored phone, those kept of a stripped one. */
  reusedParts: number;
  by: string;
}

/** A swap report of the week. */
export interface WeekSwap {
  number: number;
  component: string;
  /** A model's name, or a family's id. */
  phone: string;
  effect: PairingEffect;
}

export interface RestoredPhone {
  number: number;
  model: string;
  by: string;
  /** From intake to the end, whole days. */
  days: number;
  minutes: number;
  out: Money;
  /** Null for a phone that is kept. */
  back: Money | null;
  /** What a kept phone is worth in use; null where that is not known, and for one that was let go. */
  worth: Money | null;
  reusedParts: number;
}

export type WeekLesson =
  | { kind: 'fault'; job: number; model: string; fault: string; chance: number }
  | ({ kind: 'swap' } & WeekSwap);

export interface WeekSummary {
  /** "2026-W09". */
  week: string;
  from: Date;
  /** The first instant after the week. */
  to: Date;
  /** In the order of their ends. */
  restored: RestoredPhone[];
  others: { stripped: number; partsKept: number; passed: number; handedBack: number };
  /**
   * Of the restored phones. Time is no money here. `worth` is that of the kept ones, and the net is back + worth - out; a kept
   * phone whose worth is not known stays out of the net, as its outlay alone would be a loss that nobody had.
   */
  totals: {
    minutes: number;
    out: Money;
    back: Money;
    worth: Money;
    net: Money;
    kept: number;
    reusedParts: number;
  };
  /** Restored phones whose money is in a currency that the collective no longer uses: it is left out of the totals. */
  otherCurrency: number;
  days: { least: number; median: number; most: number } | null;
  /** Over the restored phones that were let go and had an estimate: what was left after the time, and the minutes. */
  estimate: { phones: number; expected: Money; came: Money; expectedMinutes: number; minutes: number } | null;
  learnt: WeekLesson | null;
}

export interface WeekQuestion {
  week: string;
  from: Date;
  to: Date;
  /** Those that ended in the week. */
  jobs: readonly FinishedJob[];
  /** Swap reports made in the week, none of them set aside. */
  swaps: readonly WeekSwap[];
  /** ISO 4217. */
  currency: string;
  /** Major units for an hour at the bench. */
  hour: number;
}

const DAY = 24 * 3600 * 1000;
/** A fault that had more than this at intake surprised nobody. */
const SURPRISE = 0.25;
/** What tells a bench most comes first; `free` is what one hopes for. */
const effectRank: readonly PairingEffect[] = ['lost', 'reduced', 'calibrate', 'notice'];

/**
 * The most useful thing learnt: the restored phone whose fault had the smallest chance at intake, if that was under a
 * quarter, since it is what the bench would least have looked for; else the swap report with the gravest effect, since it
 * warns the next person who buys that part; else nothing. The lower number decides between equals.
 */
function learntFrom(restored: readonly FinishedJob[], swaps: readonly WeekSwap[]): WeekLesson | null {
  const surprises = restored.flatMap(({ number, model, fault, faultChanceAtIntake: chance }) =>
    fault !== null && chance !== null && chance < SURPRISE ? [{ job: number, model, fault, chance }] : [],
  );
  const [surprise] = surprises.sort((a, b) => a.chance - b.chance || a.job - b.job);
  if (surprise) return { kind: 'fault', ...surprise };
  for (const effect of effectRank) {
    const [first] = swaps.filter((one) => one.effect === effect).sort((a, b) => a.number - b.number);
    if (first) return { kind: 'swap', ...first };
  }
  return null;
}

function median(sorted: readonly number[]): number {
  const middle = Math.floor(sorted.length / 2);
  const [low = 0, high = 0] = [sorted[middle - (sorted.length % 2 ? 0 : 1)], sorted[middle]];
  return (low + high) / 2;
}

/** The same jobs in any order, at any time, give the same summary: a post is compared with what it should say by this. */
export function summariseWeek({ week, from, to, jobs, swaps, currency, hour }: WeekQuestion): WeekSummary {
  const inOrder = [...jobs].sort((a, b) => a.endedAt.getTime() - b.endedAt.getTime() || a.number - b.number);
  const count = (ended: EndedAs) => inOrder.filter((job) => job.ended === ended);
  const restored = count('restored');
  const counted = restored.filter(({ out, back }) => out.currency === currency && back.currency === currency);
  const nothing = money(0, currency);
  const out = counted.reduce((sum, job) => addMoney(sum, job.out), nothing);
  const back = counted.reduce((sum, job) => addMoney(sum, job.back), nothing);
  const worthOf = ({ kept, worth }: FinishedJob) => (kept && worth?.currency === currency ? worth : nothing);
  const worth = counted.reduce((sum, job) => addMoney(sum, worthOf(job)), nothing);
  const net = counted
    .filter((job) => !job.kept || worthOf(job).minor > 0)
    .reduce((sum, job) => addMoney(sum, subtract(addMoney(job.back, worthOf(job)), job.out)), nothing);
  const phones = restored.map(
    (job): RestoredPhone => ({
      number: job.number,
      model: job.model,
      by: job.by,
      days: Math.max(0, Math.round((job.endedAt.getTime() - job.openedAt.getTime()) / DAY)),
      minutes: job.minutes,
      out: job.out,
      back: job.kept ? null : job.back,
      worth: job.kept && job.worth?.currency === job.out.currency ? job.worth : null,
      reusedParts: job.reusedParts,
    }),
  );
  const days = phones.map((phone) => phone.days).sort((a, b) => a - b);
  const total = (of: readonly FinishedJob[], field: 'minutes' | 'reusedParts') =>
    of.reduce((sum, job) => sum + job[field], 0);

  const estimated = counted.flatMap((job) =>
    !job.kept && job.promised?.mean.currency === currency ? [{ job, promised: job.promised }] : [],
  );
  const estimatedMinutes = total(
    estimated.map(({ job }) => job),
    'minutes',
  );
  const left = estimated.reduce((sum, { job }) => addMoney(sum, subtract(job.back, job.out)), nothing);
  return {
    week,
    from,
    to,
    restored: phones,
    others: {
      stripped: count('stripped').length,
      partsKept: total(count('stripped'), 'reusedParts'),
      passed: count('passed').length,
      handedBack: count('handed-back').length,
    },
    totals: {
      minutes: total(restored, 'minutes'),
      out,
      back,
      worth,
      net,
      kept: restored.filter(({ kept }) => kept).length,
      reusedParts: total(restored, 'reusedParts'),
    },
    otherCurrency: restored.length - counted.length,
    days: days.length ? { least: days[0] ?? 0, median: median(days), most: days.at(-1) ?? 0 } : null,
    estimate: estimated.length
      ? {
          phones: estimated.length,
          expected: estimated.reduce((sum, { promised }) => addMoney(sum, promised.mean), nothing),
          came: subtract(left, fromMajor((hour * estimatedMinutes) / 60, currency)),
          expectedMinutes: estimated.reduce((sum, { promised }) => sum + promised.minutes, 0),
          minutes: estimatedMinutes,
        }
      : null,
    learnt: learntFrom(restored, swaps),
  };
}
