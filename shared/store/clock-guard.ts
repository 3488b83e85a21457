/**
 * Whether a time may be believed before something is erased because of it: what is erased by a clock that was set years ahead
 * is gone for good. A clock that was set back erases nothing that it should not.
 */
import type Sqlite from 'better-sqlite3';
import { z } from 'zod';

const DAY = 24 * 60 * 60_000;
const HOUR = 60 * 60_000;
/** A clock that is so much further than when it was last seen may be wrong; a bot that stood still for as long may not. */
const LEAP = 30 * DAY;
/** After a leap nothing is erased for so long: somebody may notice, and set the clock right. */
export const DOUBT_DAYS = 7;

interface ClockLeap {
  from: Date;
  to: Date;
}

export interface ClockGuard {
  /** Whether what is old at that time may be erased. Remembers when it was last asked, over a restart. */
  trusts(now: Date): boolean;
  /** The leap for which nothing is erased just now; null when there is none. */
  leap(): ClockLeap | null;
  /** From here on nothing is erased by age: the time is one that somebody made up. */
  hold(): void;
}

const rows = z.array(z.object({ key: z.string(), value: z.string() }));

export function clockGuardOf(file: Sqlite.Database): ClockGuard {
  let held = false;
  // Compiled at the first question: the table is made by a migration.
  let kept: Sqlite.Statement | null = null;
  const read = (): ReadonlyMap<string, Date> => {
    kept ??= file.prepare("SELECT key, value FROM surface_state WHERE surface = 'clock'");
    return new Map(rows.parse(kept.all()).map(({ key, value }) => [key, new Date(value)]));
  };
  const write = (key: string, time: Date): void => {
    file
      .prepare(
        `INSERT INTO surface_state (surface, key, value, at) VALUES ('clock', ?, ?, ?)
         ON CONFLICT DO UPDATE SET value = excluded.value, at = excluded.at`,
      )
      .run(key, time.toISOString(), time.toISOString());
  };
  const forget = (): void => {
    file
      .prepare("DELETE FROM surface_state WHERE surface = 'clock' AND key IN ('leapt', 'leapt-from')")
      .run();
  };
  const leapIn = (times: ReadonlyMap<string, Date>): ClockLeap | null => {
    const to = times.get('leapt');
    return to ? { from: times.get('leapt-from') ?? to, to } : null;
  };
  return {
    leap: () => leapIn(read()),
    hold: () => {
      held = true;
    },
    trusts: (now) => {
      if (held) return false;
      const times = read();
      const seen = times.get('seen');
      // Not at each question: it is asked with every reply.
      if (!seen || Math.abs(now.getTime() - seen.getTime()) >= HOUR) write('seen', now);
      let leapt = leapIn(times);
      if (seen && now.getTime() - seen.getTime() > LEAP) {
        leapt = { from: seen, to: now };
        write('leapt', now);
        write('leapt-from', seen);
      }
      if (leapt === null) return true;
      const since = now.getTime() - leapt.to.getTime();
      if (since >= 0 && since < DOUBT_DAYS * DAY) return false;
      forget();
      return true;
    },
  };
}
