import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { instantOf } from '../../shared/time/zone.ts';
import {
  formatWeek,
  hourOfWeek,
  nextWeek,
  parseWeek,
  previousWeek,
  shiftWeek,
  spanOf,
  weekOf,
  weeksIn,
} from '../../shared/week/iso-week.ts';

const DAY = 24 * 3600 * 1000;
const at = (text: string): Date => new Date(text);
const weekOn = (date: string): string => formatWeek(weekOf(at(`${date}T12:00:00Z`), 'UTC'));
/** What `week` is, or a failure that says so. */
function week(text: string) {
  const read = parseWeek(text);
  if (!read) throw new Error(`not a week: ${text}`);
  return read;
}

describe('the week of a day (ISO 8601: weeks begin on Monday, week 1 has the first Thursday)', () => {
  // 31 December of 13 years: the table in the manual of the R package ISOweek (CRAN), date2ISOweek.
  it.each([
    ['1999-12-31', '1999-W52'],
    ['2000-12-31', '2000-W52'],
    ['2001-12-31', '2002-W01'],
    ['2002-12-31', '2003-W01'],
    ['2003-12-31', '2004-W01'],
    ['2004-12-31', '2004-W53'],
    ['2005-12-31', '2005-W52'],
    ['2006-12-31', '2006-W52'],
    ['2007-12-31', '2008-W01'],
    ['2008-12-31', '2009-W01'],
    ['2009-12-31', '2009-W53'],
    ['2010-12-31', '2010-W52'],
    ['2011-12-31', '2011-W52'],
  ])('%s is in %s', (date, expected) => {
    expect(weekOn(date)).toBe(expected);
  });
  // From the manuals of libraries that follow ISO 8601: CODESYS Util WeekOfYear, PostgreSQL lists, jiff ISOWeekDate.
  it.each([
    ['2008-12-29', '2009-W01'],
    ['2010-01-03', '2009-W53'],
    ['2005-01-01', '2004-W53'],
    ['2006-01-01', '2005-W52'],
    ['2012-12-31', '2013-W01'],
    ['1995-01-01', '1994-W52'],
  ])('%s is in %s', (date, expected) => {
    expect(weekOn(date)).toBe(expected);
  });
  // By the rule of ISO 8601, worked out by hand.
  it.each([
    ['2020-12-31', '2020-W53'],
    ['2021-01-03', '2020-W53'],
    ['2021-01-04', '2021-W01'],
    ['2024-12-29', '2024-W52'],
    ['2024-12-30', '2025-W01'],
    ['2025-12-29', '2026-W01'],
    ['2026-12-31', '2026-W53'],
    ['2027-01-03', '2026-W53'],
    ['2027-01-04', '2027-W01'],
  ])('%s is in %s', (date, expected) => {
    expect(weekOn(date)).toBe(expected);
  });
  it('has 53 weeks in these years of 2000 to 2050 and no others', () => {
    const years = Array.from({ length: 51 }, (_, index) => 2000 + index);
    expect(years.filter((year) => weeksIn(year) === 53)).toEqual([
      2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048,
    ]);
    expect(years.every((year) => [52, 53].includes(weeksIn(year)))).toBe(true);
  });
  it('goes by the clocks of the zone', () => {
    // Sunday 2026-03-01 14:00 UTC is Monday in Sydney.
    expect(formatWeek(weekOf(at('2026-03-01T14:00:00Z'), 'UTC'))).toBe('2026-W09');
    expect(formatWeek(weekOf(at('2026-03-01T14:00:00Z'), 'Australia/Sydney'))).toBe('2026-W10');
  });
  it('refuses a zone that there is not', () => {
    expect(() => weekOf(at('2026-03-01T14:00:00Z'), 'Mars/Olympus')).toThrow(RangeError);
    expect(() => spanOf(week('2026-W10'), 'Mars/Olympus')).toThrow(RangeError);
  });
});

describe('a week as text', () => {
  it('is written as ISO 8601 does, and read in three ways', () => {
    expect(formatWeek({ year: 2026, week: 9 })).toBe('2026-W09');
    for (const text of ['2026-W09', '2026W09', ' 2026-w9 '])
      expect(parseWeek(text)).toEqual({ year: 2026, week: 9 });
  });
  it('is refused where there is no such week', () => {
    for (const text of [
      '',
      '2026',
      '2026-09',
      'W09',
      '2026-W00',
      '2026-W54',
      '2025-W53',
      '2026-W009',
      '26-W09',
    ])
      expect(parseWeek(text)).toBeNull();
    expect(parseWeek('2026-W53')).toEqual({ year: 2026, week: 53 });
  });
});

describe('weeks in order', () => {
  it('steps over the end of years with 52 and with 53 weeks', () => {
    expect(nextWeek(week('2026-W53'))).toEqual(week('2027-W01'));
    expect(nextWeek(week('2026-W52'))).toEqual(week('2026-W53'));
    expect(nextWeek(week('2025-W52'))).toEqual(week('2026-W01'));
    expect(previousWeek(week('2027-W01'))).toEqual(week('2026-W53'));
    expect(previousWeek(week('2026-W01'))).toEqual(week('2025-W52'));
  });
  it('forward and back is where it was, and texts sort as weeks do', () => {
    const weeks = fc
      .integer({ min: 1971, max: 2399 })
      .chain((year) => fc.integer({ min: 1, max: weeksIn(year) }).map((one) => ({ year, week: one })));
    fc.assert(
      fc.property(weeks, fc.integer({ min: -600, max: 600 }), (one, by) => {
        const there = shiftWeek(one, by);
        expect(shiftWeek(there, -by)).toEqual(one);
        expect(Math.sign(formatWeek(there).localeCompare(formatWeek(one)))).toBe(Math.sign(by));
      }),
    );
  });
  it('every instant lies in the span of its week, in any zone', () => {
    const zones = [
      'UTC',
      'Australia/Sydney',
      'Europe/London',
      'America/New_York',
      'Australia/Lord_Howe',
      'Asia/Kathmandu',
    ];
    fc.assert(
      fc.property(
        fc.integer({ min: Date.UTC(2000, 0, 1), max: Date.UTC(2037, 0, 1) }),
        fc.constantFrom(...zones),
        (ms, zone) => {
          const { from, to } = spanOf(weekOf(new Date(ms), zone), zone);
          expect(from.getTime()).toBeLessThanOrEqual(ms);
          expect(to.getTime()).toBeGreaterThan(ms);
        },
      ),
    );
  });
});

describe('the span of a week', () => {
  it('is an hour shorter or longer where the clocks change in it', () => {
    // Sydney, IANA tz database, rule AN: back on 2026-04-05, forward on 2026-10-04; both Sundays, so in W14 and W40.
    const hours = (text: string) => {
      const { from, to } = spanOf(week(text), 'Australia/Sydney');
      return (to.getTime() - from.getTime()) / 3_600_000;
    };
    expect(hours('2026-W13')).toBe(168);
    expect(hours('2026-W14')).toBe(169);
    expect(hours('2026-W40')).toBe(167);
  });
  it('begins at local midnight', () => {
    expect(spanOf(week('2026-W10'), 'Australia/Sydney').from).toEqual(at('2026-03-01T13:00:00Z'));
    expect(spanOf(week('2026-W10'), 'Europe/London').from).toEqual(at('2026-03-02T00:00:00Z'));
  });
});

describe('an hour on the clocks of a zone', () => {
  // Changes from the IANA tz database (2025b); how a missing or doubled hour is read from RFC 5545, section 3.3.5.
  it('that is not there is reckoned with the offset before the gap', () => {
    const half = (date: Date) => new Date(date.getTime() + 30 * 60_000);
    // RFC 5545, 3.3.5: 2007-03-11 02:30 in New York is 03:30 UTC-4.
    expect(half(instantOf({ year: 2007, month: 3, day: 11, hour: 2 }, 'America/New_York'))).toEqual(
      at('2007-03-11T03:30:00-04:00'),
    );
    expect(instantOf({ year: 2026, month: 10, day: 4, hour: 2 }, 'Australia/Sydney')).toEqual(
      at('2026-10-04T03:00:00+11:00'),
    );
    expect(instantOf({ year: 2026, month: 3, day: 29, hour: 1 }, 'Europe/London')).toEqual(
      at('2026-03-29T02:00:00+01:00'),
    );
  });
  it('that is there twice is the first', () => {
    // RFC 5545, 3.3.5: 2007-11-04 01:30 in New York is 01:30 UTC-4.
    expect(instantOf({ year: 2007, month: 11, day: 4, hour: 1 }, 'America/New_York')).toEqual(
      at('2007-11-04T01:00:00-04:00'),
    );
    expect(instantOf({ year: 2026, month: 4, day: 5, hour: 2 }, 'Australia/Sydney')).toEqual(
      at('2026-04-04T15:00:00Z'),
    );
    expect(instantOf({ year: 2026, month: 10, day: 25, hour: 1 }, 'Europe/London')).toEqual(
      at('2026-10-25T00:00:00Z'),
    );
  });
  it('is right before and after each change', () => {
    // Sydney changes at 2026-04-04T16:00Z and 2026-10-03T16:00Z, London at 2026-03-29T01:00Z and 2026-10-25T01:00Z.
    const nine = (zone: string, month: number, day: number) =>
      instantOf({ year: 2026, month, day, hour: 9 }, zone).toISOString();
    expect(nine('Australia/Sydney', 4, 3)).toBe('2026-04-02T22:00:00.000Z');
    expect(nine('Australia/Sydney', 4, 10)).toBe('2026-04-09T23:00:00.000Z');
    expect(nine('Australia/Sydney', 10, 2)).toBe('2026-10-01T23:00:00.000Z');
    expect(nine('Australia/Sydney', 10, 9)).toBe('2026-10-08T22:00:00.000Z');
    expect(nine('Europe/London', 3, 27)).toBe('2026-03-27T09:00:00.000Z');
    expect(nine('Europe/London', 4, 3)).toBe('2026-04-03T08:00:00.000Z');
  });
  it('follows changes of half an hour, none, and a day that was left out', () => {
    // Lord Howe goes from +11 to +10:30 at 2026-04-04T15:00Z; Brisbane never changes; Samoa left out 2011-12-30.
    expect(instantOf({ year: 2026, month: 4, day: 5, hour: 1 }, 'Australia/Lord_Howe')).toEqual(
      at('2026-04-04T14:00:00Z'),
    );
    expect(instantOf({ year: 2026, month: 4, day: 5, hour: 3 }, 'Australia/Lord_Howe')).toEqual(
      at('2026-04-04T16:30:00Z'),
    );
    expect(instantOf({ year: 2026, month: 10, day: 4, hour: 2 }, 'Australia/Brisbane')).toEqual(
      at('2026-10-03T16:00:00Z'),
    );
    expect(instantOf({ year: 2011, month: 12, day: 30, hour: 9 }, 'Pacific/Apia')).toEqual(
      at('2011-12-31T09:00:00+14:00'),
    );
  });
  it('of a week falls on its day', () => {
    const monday = hourOfWeek(week('2026-W53'), 1, 0, 'UTC');
    expect(monday).toEqual(at('2026-12-28T00:00:00Z'));
    expect(hourOfWeek(week('2026-W53'), 7, 23, 'UTC').getTime() - monday.getTime()).toBe(
      6 * DAY + 23 * 3_600_000,
    );
  });
});
