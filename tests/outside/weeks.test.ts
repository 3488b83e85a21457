import { expect } from 'vitest';
import { instantOf } from '../../shared/time/zone.ts';
import { lastDue, nextDue, type PostTime } from '../../shared/week/due.ts';
import { formatWeek, hourOfWeek, parseWeek, spanOf, weekOf, weeksIn } from '../../shared/week/iso-week.ts';
import { outside } from './check.ts';

const weeks = 'shared/week/iso-week.ts';
const zones = 'shared/time/zone.ts';
const no = (at: number): string => String(at).padStart(2, '0');
const at = (text: string): Date => new Date(text);
function week(text: string) {
  const read = parseWeek(text);
  if (!read) throw new Error(`not a week: ${text}`);
  return read;
}

/** Day, week and day of the week (Monday 1), where they stand, and how they are known. */
const days: readonly (readonly [string, string, number, string, 'read' | 'computed'])[] = [
  ['1999-12-31', '1999-W52', 5, 'r-isoweek', 'read'],
  ['2000-12-31', '2000-W52', 7, 'r-isoweek', 'read'],
  ['2001-12-31', '2002-W01', 1, 'r-isoweek', 'read'],
  ['2002-12-31', '2003-W01', 2, 'r-isoweek', 'read'],
  ['2003-12-31', '2004-W01', 3, 'r-isoweek', 'read'],
  ['2004-12-31', '2004-W53', 5, 'r-isoweek', 'read'],
  ['2005-12-31', '2005-W52', 6, 'r-isoweek', 'read'],
  ['2006-12-31', '2006-W52', 7, 'r-isoweek', 'read'],
  ['2007-12-31', '2008-W01', 1, 'r-isoweek', 'read'],
  ['2008-12-31', '2009-W01', 3, 'r-isoweek', 'read'],
  ['2009-12-31', '2009-W53', 4, 'r-isoweek', 'read'],
  ['2010-12-31', '2010-W52', 5, 'r-isoweek', 'read'],
  ['2011-12-31', '2011-W52', 6, 'r-isoweek', 'read'],
  ['2008-12-29', '2009-W01', 1, 'codesys-week', 'read'],
  ['2010-01-03', '2009-W53', 7, 'codesys-week', 'read'],
  ['2005-01-01', '2004-W53', 6, 'postgres-week', 'read'],
  ['2006-01-01', '2005-W52', 7, 'postgres-week', 'read'],
  ['2012-12-31', '2013-W01', 1, 'postgres-week', 'read'],
  ['1995-01-01', '1994-W52', 7, 'jiff-week', 'read'],
  ['2020-12-31', '2020-W53', 4, 'iso-8601', 'computed'],
  ['2021-01-03', '2020-W53', 7, 'iso-8601', 'computed'],
  ['2021-01-04', '2021-W01', 1, 'iso-8601', 'computed'],
  ['2024-12-29', '2024-W52', 7, 'iso-8601', 'computed'],
  ['2024-12-30', '2025-W01', 1, 'iso-8601', 'computed'],
  ['2025-12-29', '2026-W01', 1, 'iso-8601', 'computed'],
  ['2026-12-31', '2026-W53', 4, 'iso-8601', 'computed'],
  ['2027-01-03', '2026-W53', 7, 'iso-8601', 'computed'],
  ['2027-01-04', '2027-W01', 1, 'iso-8601', 'computed'],
];
days.forEach(([day, name, weekday, source, known], i) => {
  outside(
    {
      id: `week-${no(i + 1)}`,
      what: `Week of ${day}`,
      value: `${name}-${weekday}`,
      source,
      known,
      where: weeks,
    },
    () => {
      expect(formatWeek(weekOf(at(`${day}T12:00:00Z`), 'UTC'))).toBe(name);
      // And back: noon of that day of that week.
      expect(hourOfWeek(week(name), weekday, 12, 'UTC')).toEqual(at(`${day}T12:00:00Z`));
    },
  );
});

outside(
  {
    id: 'week-29',
    what: 'Years with 53 weeks from 2000 to 2050, and no others',
    value: '2004 2009 2015 2020 2026 2032 2037 2043 2048',
    source: 'iso-8601',
    known: 'computed',
    where: weeks,
  },
  () => {
    const years = Array.from({ length: 51 }, (_, i) => 2000 + i);
    expect(years.filter((year) => weeksIn(year) === 53)).toEqual([
      2004, 2009, 2015, 2020, 2026, 2032, 2037, 2043, 2048,
    ]);
    expect(years.filter((year) => weeksIn(year) !== 53).every((year) => weeksIn(year) === 52)).toBe(true);
    expect(parseWeek('2026-W53')).toEqual({ year: 2026, week: 53 });
    expect(parseWeek('2025-W53')).toBeNull();
  },
);
outside(
  {
    id: 'week-30',
    what: 'Week 1 has the first Thursday, which is to say 4 January; weeks begin on Monday',
    value: 'in every year',
    source: 'iso-8601',
    where: weeks,
  },
  () => {
    for (let year = 1990; year <= 2060; year += 1) {
      expect(weekOf(at(`${year}-01-04T12:00:00Z`), 'UTC')).toEqual({ year, week: 1 });
      const { from, to } = spanOf({ year, week: 1 }, 'UTC');
      expect(from.getUTCDay()).toBe(1);
      expect(to.getTime() - from.getTime()).toBe(7 * 86_400_000);
    }
  },
);
outside(
  {
    id: 'week-31',
    what: 'The post of the last week of 2026, and of the first of 2027',
    value: '2026-W53, then 2027-W01',
    source: 'iso-8601',
    known: 'computed',
    where: 'shared/week/due.ts',
  },
  () => {
    const sydney: PostTime = { weekDay: 1, weekHour: 9, zone: 'Australia/Sydney' };
    expect(formatWeek(lastDue(sydney, at('2027-01-04T00:00:00Z')).week)).toBe('2026-W53');
    expect(formatWeek(lastDue(sydney, at('2027-01-11T00:00:00Z')).week)).toBe('2027-W01');
  },
);

/** Clock changes, and the offsets before and after in minutes. */
const changes = [
  ['Australia/Sydney', '2026-04-04T16:00:00Z', 660, 600],
  ['Australia/Sydney', '2026-10-03T16:00:00Z', 600, 660],
  ['Australia/Sydney', '2027-04-03T16:00:00Z', 660, 600],
  ['Australia/Sydney', '2027-10-02T16:00:00Z', 600, 660],
  ['Europe/London', '2026-03-29T01:00:00Z', 0, 60],
  ['Europe/London', '2026-10-25T01:00:00Z', 60, 0],
  ['Europe/London', '2027-03-28T01:00:00Z', 0, 60],
  ['Europe/London', '2027-10-31T01:00:00Z', 60, 0],
  ['Australia/Lord_Howe', '2026-04-04T15:00:00Z', 660, 630],
] as const;
changes.forEach(([zone, change, before, after], i) => {
  outside(
    {
      id: `zone-${no(i + 1)}`,
      what: `${zone}: clocks change at`,
      value: change.replace(':00Z', 'Z'),
      source: 'iana-tz',
      where: zones,
    },
    () => {
      // Noon of the day before and of the day after, on the wall, lie apart by the change.
      const noon = (days: number, offset: number) => {
        const wall = new Date(at(change).getTime() + offset * 60_000 + days * 86_400_000);
        const [year, month, day] = [wall.getUTCFullYear(), wall.getUTCMonth() + 1, wall.getUTCDate()];
        return {
          instant: instantOf({ year, month, day, hour: 12 }, zone),
          wall: Date.UTC(year, month - 1, day, 12),
        };
      };
      const [first, last] = [noon(-1, before), noon(1, after)];
      expect(first.wall - first.instant.getTime()).toBe(before * 60_000);
      expect(last.wall - last.instant.getTime()).toBe(after * 60_000);
      // Hours within the day of the change itself: those before it have the first offset, those after it the other.
      const wall = new Date(at(change).getTime() + before * 60_000);
      const hours = Array.from({ length: 24 }, (_, hour) => hour).map((hour) => {
        const local = {
          year: wall.getUTCFullYear(),
          month: wall.getUTCMonth() + 1,
          day: wall.getUTCDate(),
          hour,
        };
        return { hour, instant: instantOf(local, zone).getTime() };
      });
      for (const { hour, instant } of hours) {
        const shown = Date.UTC(wall.getUTCFullYear(), wall.getUTCMonth(), wall.getUTCDate(), hour);
        if (instant < at(change).getTime()) expect(shown - instant).toBe(before * 60_000);
        else expect([after * 60_000, before * 60_000]).toContain(shown - instant);
      }
    },
  );
});

/** A post at 09:00 on a Friday, and when that is. */
const posts = [
  ['Australia/Sydney', 2026, 4, 3, '2026-04-02T22:00:00.000Z'],
  ['Australia/Sydney', 2026, 4, 10, '2026-04-09T23:00:00.000Z'],
  ['Australia/Sydney', 2026, 10, 2, '2026-10-01T23:00:00.000Z'],
  ['Australia/Sydney', 2026, 10, 9, '2026-10-08T22:00:00.000Z'],
  ['Europe/London', 2026, 3, 27, '2026-03-27T09:00:00.000Z'],
  ['Europe/London', 2026, 4, 3, '2026-04-03T08:00:00.000Z'],
] as const;
posts.forEach(([zone, year, month, day, instant], i) => {
  outside(
    {
      id: `zone-${no(i + 10)}`,
      what: `09:00 in ${zone} on ${year}-${no(month)}-${no(day)}`,
      value: instant,
      source: 'iana-tz',
      where: zones,
    },
    () => {
      expect(instantOf({ year, month, day, hour: 9 }, zone).toISOString()).toBe(instant);
    },
  );
});
for (const [id, what, hours, from, zone] of [
  ['zone-16', 'Sydney, clocks back', 169, '2026-04-03T00:00:00Z', 'Australia/Sydney'],
  ['zone-17', 'Sydney, clocks forward', 167, '2026-10-02T00:00:00Z', 'Australia/Sydney'],
  ['zone-18', 'London, clocks forward', 167, '2026-03-27T10:00:00Z', 'Europe/London'],
] as const) {
  outside(
    {
      id,
      what: `Hours between two posts: ${what}`,
      value: String(hours),
      source: 'iana-tz',
      where: 'shared/week/due.ts',
    },
    () => {
      const friday: PostTime = { weekDay: 5, weekHour: 9, zone };
      const gap = nextDue(friday, at(from)).at.getTime() - lastDue(friday, at(from)).at.getTime();
      expect(gap / 3_600_000).toBe(hours);
    },
  );
}

/** Hours that are missing: half past, as RFC 5545 has its examples, is half an hour after the full hour asked for here. */
const half = (date: Date) => new Date(date.getTime() + 30 * 60_000);
for (const [id, what, value, got, source, known] of [
  [
    'zone-19',
    'New York, 2007-03-11 02:30, which is missing',
    '2007-03-11T03:30:00-04:00',
    () => half(instantOf({ year: 2007, month: 3, day: 11, hour: 2 }, 'America/New_York')),
    'rfc-5545',
    'read',
  ],
  [
    'zone-20',
    'New York, 2007-11-04 01:30, which is there twice: the first',
    '2007-11-04T01:30:00-04:00',
    () => half(instantOf({ year: 2007, month: 11, day: 4, hour: 1 }, 'America/New_York')),
    'rfc-5545',
    'read',
  ],
  [
    'zone-21',
    'Sydney, 2026-10-04 02:30, missing',
    '2026-10-03T16:30:00Z',
    () => half(instantOf({ year: 2026, month: 10, day: 4, hour: 2 }, 'Australia/Sydney')),
    'rfc-5545',
    'computed',
  ],
  [
    'zone-22',
    'London, 2026-03-29 01:30, missing',
    '2026-03-29T01:30:00Z',
    () => half(instantOf({ year: 2026, month: 3, day: 29, hour: 1 }, 'Europe/London')),
    'rfc-5545',
    'computed',
  ],
  [
    'zone-23',
    'Sydney, 2026-04-05 02:30, twice: the first',
    '2026-04-04T15:30:00Z',
    () => half(instantOf({ year: 2026, month: 4, day: 5, hour: 2 }, 'Australia/Sydney')),
    'rfc-5545',
    'computed',
  ],
  [
    'zone-24',
    'London, 2026-10-25 01:30, twice: the first',
    '2026-10-25T00:30:00Z',
    () => half(instantOf({ year: 2026, month: 10, day: 25, hour: 1 }, 'Europe/London')),
    'rfc-5545',
    'computed',
  ],
  [
    'zone-25',
    'Lord Howe shifts by half an hour: 2026-04-05 03:00',
    '2026-04-04T16:30:00Z',
    () => instantOf({ year: 2026, month: 4, day: 5, hour: 3 }, 'Australia/Lord_Howe'),
    'iana-tz',
    'computed',
  ],
  [
    'zone-26',
    'Brisbane never changes: 2026-10-04 02:00',
    '2026-10-03T16:00:00Z',
    () => instantOf({ year: 2026, month: 10, day: 4, hour: 2 }, 'Australia/Brisbane'),
    'iana-tz',
    'computed',
  ],
  [
    'zone-27',
    'Samoa left out 2011-12-30: 09:00 of it',
    '2011-12-31T09:00:00+14:00',
    () => instantOf({ year: 2011, month: 12, day: 30, hour: 9 }, 'Pacific/Apia'),
    'iana-tz',
    'computed',
  ],
] as const) {
  outside(
    { id, what, value, source, ...(source === 'rfc-5545' ? { at: '3.3.5' } : {}), known, where: zones },
    () => {
      expect(got()).toEqual(at(value));
    },
  );
}
outside(
  {
    id: 'zone-28',
    what: 'The same RFC also has it that recurrences at a missing time are left out (3.3.10): a weekly post is neither lost nor doubled here',
    value: 'once each week',
    source: 'rfc-5545',
    at: '3.3.5 and 3.3.10',
    known: 'computed',
    where: 'shared/week/due.ts',
  },
  () => {
    // Sunday 02:00 in Sydney is missing on 2026-10-04 and there twice on 2026-04-05.
    const sunday: PostTime = { weekDay: 7, weekHour: 2, zone: 'Australia/Sydney' };
    const seen: string[] = [];
    for (let ms = Date.UTC(2026, 2, 1); ms < Date.UTC(2026, 10, 1); ms += 1_800_000) {
      const { week: due, at: when } = lastDue(sunday, new Date(ms));
      expect(when.getTime()).toBeLessThanOrEqual(ms);
      if (seen.at(-1) !== formatWeek(due)) seen.push(formatWeek(due));
    }
    expect(seen).toHaveLength(new Set(seen).size);
    expect(seen).toEqual([...seen].sort());
    // 2026-W08 to W42: each of them once.
    expect(seen).toHaveLength(Number(seen.at(-1)?.slice(-2)) - Number(seen[0]?.slice(-2)) + 1);
  },
);
