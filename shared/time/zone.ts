/** Local time in IANA zones, without a look at the clock. */
import { createRequire } from 'node:module';
import type * as Luxon from 'luxon';

const require = createRequire(import.meta.url);

/** Loaded when first needed: most starts of the program need no week. */
export const luxon = (): typeof Luxon => require('luxon');

/** A date and time on a wall clock; the month from 1, the day may run over its month. */
export interface WallTime {
  year: number;
  month: number;
  day: number;
  hour?: number;
}

const MINUTE = 60_000;
const DAY = 24 * 60 * MINUTE;

/**
 * The instant at which the clocks of a zone show a time. As RFC 5545, 3.3.5 reads such times: one that is there twice (the
 * clocks went back) is the first; one that is not there (they went forward) is reckoned with the offset before the gap,
 * so 02:30 becomes 03:30. Throws RangeError for an unknown zone.
 */
export function instantOf({ year, month, day, hour = 0 }: WallTime, zone: string): Date {
  const iana = luxon().IANAZone.create(zone);
  if (!iana.isValid) throw new RangeError(`not an IANA time zone: ${zone}`);
  const wall = Date.UTC(year, month - 1, day, hour);
  // No zone is a day away from UTC, so these are the offsets on either side of a change near that time.
  const before = iana.offset(wall - DAY) * MINUTE;
  const after = iana.offset(wall + DAY) * MINUTE;
  const shown = [before, after]
    .map((offset) => wall - offset)
    .filter((instant) => instant + iana.offset(instant) * MINUTE === wall);
  return new Date(shown.length ? Math.min(...shown) : wall - before);
}
