/** Clock changes: IANA tz database (2025b). Hours that are missing or doubled: RFC 5545, 3.3.5. Weeks: ISO 8601. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { lastDue, nextDue, type PostTime } from '../../shared/week/due.ts';
import { formatWeek, previousWeek, spanOf } from '../../shared/week/iso-week.ts';

const sydney: PostTime = { weekDay: 1, weekHour: 9, zone: 'Australia/Sydney' };
const shown = ({ week, at }: ReturnType<typeof lastDue>) =>
  `${formatWeek(week)} ${at.toISOString().slice(0, 16)}Z`;
const at = (text: string): Date => new Date(text);

describe('which post is due', () => {
  it('turns at the day and hour, and is about the last full week', () => {
    // Monday 2 March 2026, 09:00 in Sydney is 22:00 UTC on Sunday.
    expect(shown(lastDue(sydney, at('2026-03-01T21:59:59Z')))).toBe('2026-W08 2026-02-22T22:00Z');
    expect(shown(lastDue(sydney, at('2026-03-01T22:00:00Z')))).toBe('2026-W09 2026-03-01T22:00Z');
    expect(shown(lastDue(sydney, at('2026-03-08T21:59:59Z')))).toBe('2026-W09 2026-03-01T22:00Z');
  });
  it('is about the week before even on a Sunday night: the running one is not full', () => {
    const sunday = { weekDay: 7, weekHour: 23, zone: 'UTC' };
    expect(shown(lastDue(sunday, at('2026-03-08T23:00:00Z')))).toBe('2026-W09 2026-03-08T23:00Z');
  });
  it('names week 53 by the year of ISO 8601', () => {
    expect(shown(lastDue(sydney, at('2027-01-04T00:00:00Z')))).toBe('2026-W53 2027-01-03T22:00Z');
    expect(shown(lastDue(sydney, at('2027-01-11T00:00:00Z')))).toBe('2027-W01 2027-01-10T22:00Z');
  });
  it('goes by the clock on the wall: 169 or 167 hours where the clocks change', () => {
    const friday = { ...sydney, weekDay: 5 };
    const hours = (from: string) => {
      const first = lastDue(friday, at(from));
      const next = nextDue(friday, at(from));
      return (next.at.getTime() - first.at.getTime()) / 3_600_000;
    };
    expect(hours('2026-04-03T00:00:00Z')).toBe(169);
    expect(hours('2026-10-02T00:00:00Z')).toBe(167);
    expect(hours('2026-10-09T00:00:00Z')).toBe(168);
  });
  it('is neither lost nor doubled where its hour is missing', () => {
    // Sunday 2026-10-04 02:00 is not there in Sydney: it is read as 03:00+11:00.
    const sunday = { weekDay: 7, weekHour: 2, zone: 'Australia/Sydney' };
    expect(shown(lastDue(sunday, at('2026-10-03T15:59:59Z')))).toBe('2026-W38 2026-09-26T16:00Z');
    expect(shown(lastDue(sunday, at('2026-10-03T16:00:00Z')))).toBe('2026-W39 2026-10-03T16:00Z');
  });
  it('is due at the first where its hour is there twice', () => {
    // Sunday 2026-04-05 02:00 is there at 15:00Z and at 16:00Z of the day before.
    const sunday = { weekDay: 7, weekHour: 2, zone: 'Australia/Sydney' };
    expect(shown(lastDue(sunday, at('2026-04-04T15:00:00Z')))).toBe('2026-W13 2026-04-04T15:00Z');
    expect(shown(lastDue(sunday, at('2026-04-04T16:30:00Z')))).toBe('2026-W13 2026-04-04T15:00Z');
  });
  it('is one alone after a stop of any length: the newest', () => {
    expect(shown(lastDue(sydney, at('2031-07-16T03:00:00Z')))).toBe('2031-W28 2031-07-13T23:00Z');
  });
  it('hour by hour through a year gives each week once, in order, when it is over', () => {
    for (const settings of [sydney, { weekDay: 7, weekHour: 2, zone: 'Europe/London' }]) {
      const seen: string[] = [];
      for (let ms = Date.UTC(2026, 0, 1); ms < Date.UTC(2027, 0, 31); ms += 3_600_000) {
        const { week, at: due } = lastDue(settings, new Date(ms));
        expect(due.getTime()).toBeLessThanOrEqual(ms);
        expect(spanOf(week, settings.zone).to.getTime()).toBeLessThanOrEqual(due.getTime());
        if (seen.at(-1) !== formatWeek(week)) seen.push(formatWeek(week));
      }
      expect(new Set(seen).size).toBe(seen.length);
      expect([...seen].sort()).toEqual(seen);
      expect(seen).toContain('2026-W53');
      expect(seen.length).toBe(57);
    }
  });
  it('the next one is the one after the last, for any settings and time', () => {
    fc.assert(
      fc.property(
        fc.record({
          weekDay: fc.integer({ min: 1, max: 7 }),
          weekHour: fc.integer({ min: 0, max: 23 }),
          zone: fc.constantFrom('UTC', 'Australia/Sydney', 'America/New_York', 'Australia/Lord_Howe'),
        }),
        fc.integer({ min: Date.UTC(2020, 0, 1), max: Date.UTC(2037, 0, 1) }),
        (settings, ms) => {
          const last = lastDue(settings, new Date(ms));
          const next = nextDue(settings, new Date(ms));
          expect(last.at.getTime()).toBeLessThanOrEqual(ms);
          expect(next.at.getTime()).toBeGreaterThan(ms);
          expect(previousWeek(next.week)).toEqual(last.week);
          expect(lastDue(settings, next.at)).toEqual(next);
        },
      ),
    );
  });
});
