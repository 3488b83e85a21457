/** Weeks of ISO 8601: they begin on Monday, and week 1 is the one with the year's first Thursday. */
import { instantOf, luxon } from '../time/zone.ts';

export interface IsoWeek {
  /** The year that the week belongs to, which is not always that of its days. */
  year: number;
  /** 1 to 52, or 53. */
  week: number;
}

const DAY = 24 * 3600 * 1000;
/** Days of the week as ISO 8601 numbers them. */
const THURSDAY = 4;

/** The Monday of a week, as if it were in UTC: week 1 has 4 January in it. */
function mondayOf({ year, week }: IsoWeek): Date {
  const fourth = new Date(Date.UTC(year, 0, 4));
  const weekday = fourth.getUTCDay() || 7;
  return new Date(fourth.getTime() + ((week - 1) * 7 + 1 - weekday) * DAY);
}

/** 52 or 53. */
export function weeksIn(year: number): number {
  const days = mondayOf({ year: year + 1, week: 1 }).getTime() - mondayOf({ year, week: 1 }).getTime();
  return days / (7 * DAY);
}

/** The week of an instant, by the clocks of a zone (IANA). Throws RangeError for an unknown zone. */
export function weekOf(instant: Date, zone: string): IsoWeek {
  const local = luxon().DateTime.fromJSDate(instant, { zone });
  if (!local.isValid) throw new RangeError(`not a time in a zone: ${zone}`);
  return { year: local.weekYear, week: local.weekNumber };
}

/** "2026-W09". Such texts sort as the weeks do, from year 0 to 9999. */
export const formatWeek = ({ year, week }: IsoWeek): string =>
  `${String(year).padStart(4, '0')}-W${String(week).padStart(2, '0')}`;

/** Reads "2026-W09", and "2026W09" and "2026-w9" too; null for anything else, and for a week that the year does not have. */
export function parseWeek(text: string): IsoWeek | null {
  const [, year, week] = /^(\d{4})-?[Ww](\d{1,2})$/.exec(text.trim()) ?? [];
  if (year === undefined || week === undefined) return null;
  const read = { year: Number(year), week: Number(week) };
  return read.week >= 1 && read.week <= weeksIn(read.year) ? read : null;
}

/** Which week is so many weeks later, or earlier for a negative number. */
export function shiftWeek(week: IsoWeek, by: number): IsoWeek {
  const thursday = new Date(mondayOf(week).getTime() + (7 * by + THURSDAY - 1) * DAY);
  const year = thursday.getUTCFullYear();
  const first = mondayOf({ year, week: 1 }).getTime();
  return { year, week: Math.floor((thursday.getTime() - first) / (7 * DAY)) + 1 };
}
export const nextWeek = (week: IsoWeek): IsoWeek => shiftWeek(week, 1);
export const previousWeek = (week: IsoWeek): IsoWeek => shiftWeek(week, -1);

/** The instant of an hour (0 to 23) of a day (Monday 1 to Sunday 7) of a week, by the clocks of a zone; see `instantOf`. */
export function hourOfWeek(week: IsoWeek, weekday: number, hour: number, zone: string): Date {
  const monday = mondayOf(week);
  return instantOf(
    {
      year: monday.getUTCFullYear(),
      month: monday.getUTCMonth() + 1,
      day: monday.getUTCDate() + weekday - 1,
      hour,
    },
    zone,
  );
}

/** The first instant of a week in a zone, and the first after it. */
export const spanOf = (week: IsoWeek, zone: string): { from: Date; to: Date } => ({
  from: hourOfWeek(week, 1, 0, zone),
  to: hourOfWeek(nextWeek(week), 1, 0, zone),
});
