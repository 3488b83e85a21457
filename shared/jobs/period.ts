/** What a month or a year brought: each closed job as a line, and lines added up. Pure. */
import { addMoney, fromMajor, type Money, money, subtract } from '../money/money.ts';
import { isoDateIn } from '../time/calendar.ts';
import { instantOf } from '../time/zone.ts';
import { type EndedAs, type JobRecord, totalsOf } from './job.ts';

/** A calendar month, or a year where `month` is null. */
export interface Period {
  year: number;
  month: number | null;
}

/** "2026" or "2026-03"; null for anything else. */
export function readPeriod(text: string): Period | null {
  const match = /^(\d{4})(?:-(\d{2}))?$/.exec(text.trim());
  const month = match?.[2] === undefined ? null : Number(match[2]);
  if (!match || (month !== null && (month < 1 || month > 12))) return null;
  return { year: Number(match[1]), month };
}
export const formatPeriod = ({ year, month }: Period): string =>
  month === null ? String(year) : `${year}-${String(month).padStart(2, '0')}`;
/** The month of a day, as the calendar of a zone has it. */
export const monthOf = (instant: Date, zone: string): Period => {
  const [year = 0, month = 1] = isoDateIn(zone, instant).split('-').map(Number);
  return { year, month };
};

/** From its first instant (included) to its last (not included), in an IANA zone. */
export function spanOfPeriod({ year, month }: Period, zone: string): { from: Date; to: Date } {
  const at = (y: number, m: number) => instantOf({ year: y, month: m, day: 1 }, zone);
  if (month === null) return { from: at(year, 1), to: at(year + 1, 1) };
  return { from: at(year, month), to: month === 12 ? at(year + 1, 1) : at(year, month + 1) };
}

/** A closed job as a line of the books. */
export interface ClosedLine {
  job: number;
  /** The day on which it ended, ISO. */
  day: string;
  ended: EndedAs;
  kept: boolean;
  /** Who ended it: their key where it is known, and the name. */
  member: { key: string | null; name: string };
  family: string;
  minutes: number;
  out: Money;
  back: Money;
  /** What a kept phone is worth in use. */
  worth: Money;
  /** back + worth - out. */
  net: Money;
  /** What was expected at intake after the time; null where nothing was, or the phone was not sold. */
  expected: Money | null;
  /** Expected bench minutes, where `expected` is not null. */
  expectedMinutes: number;
}

/** Null for an open job. */
export function closedLine(job: JobRecord, zone: string): ClosedLine | null {
  if (!job.ended) return null;
  const { as, at, ending } = job.ended;
  const { out, back, worth, net, minutes } = totalsOf(job);
  const sold = as === 'restored' && !ending.kept;
  // What is somebody else's was taken in to be given back.
  const estimated = sold && job.promise.verdict !== null && job.came !== 'customer';
  return {
    job: job.number,
    day: isoDateIn(zone, at),
    ended: as,
    kept: ending.kept,
    member: ending.by,
    family: job.family,
    ...{ minutes, out, back, worth, net },
    expected: estimated ? job.promise.mean : null,
    expectedMinutes: estimated ? job.promise.minutes : 0,
  };
}

export interface PeriodSum {
  restored: number;
  kept: number;
  stripped: number;
  passed: number;
  handedBack: number;
  minutes: number;
  out: Money;
  back: Money;
  worth: Money;
  net: Money;
  /** What is left when the bench time is paid. */
  after: Money;
  /** Of the phones that were sold and had an estimate: what was expected after the time, and what came. */
  estimated: number;
  expected: Money;
  came: Money;
}

/**
 * Lines added up. Each of them counts once, so sums over members, families or months are the sum of the whole.
 * @param lines all in `currency`.
 * @param hour what a bench hour costs, major units; each line's time is rounded to minor units, so that sums agree.
 */
export function sumLines(lines: readonly ClosedLine[], currency: string, hour: number): PeriodSum {
  const nothing = money(0, currency);
  const total = (of: (line: ClosedLine) => Money, from = lines) =>
    from.reduce((sum, line) => addMoney(sum, of(line)), nothing);
  const afterOf = (line: ClosedLine) => subtract(line.net, fromMajor((hour * line.minutes) / 60, currency));
  const count = (is: (line: ClosedLine) => boolean) => lines.filter(is).length;
  const estimated = lines.filter(({ expected }) => expected !== null);
  return {
    restored: count(({ ended }) => ended === 'restored'),
    kept: count(({ ended, kept }) => ended === 'restored' && kept),
    stripped: count(({ ended }) => ended === 'stripped'),
    passed: count(({ ended }) => ended === 'passed'),
    handedBack: count(({ ended }) => ended === 'handed-back'),
    minutes: lines.reduce((sum, { minutes }) => sum + minutes, 0),
    out: total(({ out }) => out),
    back: total(({ back }) => back),
    worth: total(({ worth }) => worth),
    net: total(({ net }) => net),
    after: total(afterOf),
    estimated: estimated.length,
    expected: total(({ expected }) => expected ?? nothing, estimated),
    came: total(afterOf, estimated),
  };
}
