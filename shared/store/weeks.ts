import { z } from 'zod';
import { type Sql, timeColumn } from './sql.ts';

/** The post of one week at one place. */
export interface WeekPost {
  /** "2026-W09". */
  week: string;
  /** Where it goes: a room of a surface. */
  place: string;
  /** `sending` from before the first try until it is known to be there. */
  state: 'sending' | 'sent';
  /** What was sent last, or is about to be: JSON. */
  said: string;
  /** The surface's id of the message; null while it is not known to be there. */
  message: string | null;
  /** Tries since it last went well. */
  tries: number;
  /** The last try. */
  at: Date;
}

/** Stands where a place would: a steward asked for the post, and the clock has yet to send it everywhere. */
const ASKED = '*';

const columns = 'week, place, state, said, message, tries, at';
const postRow = z.object({
  week: z.string(),
  place: z.string(),
  state: z.enum(['sending', 'sent']),
  said: z.string(),
  message: z.string().nullable(),
  tries: z.number().int(),
  at: timeColumn,
});
const stampRow = z.object({ stamp: z.string() });

export interface Weeks {
  get(week: string, place: string): WeekPost | null;
  /** Those of one place from that week on, oldest first. */
  listOf(place: string, from: string): WeekPost[];
  /** Those of one place that are not known to be there. */
  unsent(place: string): WeekPost[];
  /** The posts of one week at all places. */
  ofWeek(week: string): WeekPost[];
  /** The newest week that a place has a post of, or is being sent one of. */
  newest(place: string): string | null;
  /** Saves that it is about to be sent; one try more where it was already. */
  sending(week: string, place: string, said: string, at: Date): void;
  /** One try more, at this time. */
  tried(week: string, place: string, at: Date): void;
  /** It is there. `said` where it is not what the intent said. */
  sent(week: string, place: string, message: string, at: Date, said?: string): void;
  /** Forgets a post that was never known to be there. */
  drop(week: string, place: string): void;
  /** Another room has taken a place's place: what was posted there counts as posted. */
  move(from: string, to: string): void;
  /** A steward wants a week posted now. */
  ask(week: string, at: Date): void;
  asked(): { week: string; at: Date }[];
  /** It is done, or has lapsed. */
  answered(week: string): void;
  /** Changes whenever something does that the summary of these days hangs on. */
  stamp(from: Date, to: Date): string;
}

const postsWhere = (sql: Sql, collective: number, rest: string, ...values: string[]): WeekPost[] =>
  sql.all(postRow, `SELECT ${columns} FROM week_posts WHERE collective = ? ${rest}`, collective, ...values);

/** The number of rows changed: none where it was sent already. */
function save(
  sql: Sql,
  collective: number,
  week: string,
  place: string,
  said: string,
  tries: number,
  at: Date,
): number {
  return sql.run(
    `INSERT INTO week_posts (collective, week, place, state, said, message, tries, at)
       VALUES (?, ?, ?, 'sending', ?, NULL, ?, ?)
       ON CONFLICT DO UPDATE SET said = excluded.said, tries = tries + 1, at = excluded.at
       WHERE state = 'sending'`,
    collective,
    week,
    place,
    said,
    tries,
    at.toISOString(),
  );
}

/** A job's revision rises with every change to it, and a job that is reopened has no end. */
function stampOf(sql: Sql, collective: number, from: Date, to: Date): string {
  return (
    sql.one(
      stampRow,
      `SELECT (SELECT count(*) || '/' || coalesce(sum(revision), 0) || '/' || coalesce(sum(number), 0) FROM jobs
                 WHERE collective = ? AND ended_at >= ? AND ended_at < ?)
             || ' ' ||
                (SELECT count(*) || '/' || count(aside_at) FROM swaps
                 WHERE collective = ? AND at >= ? AND at < ?) AS stamp`,
      ...[collective, from.toISOString(), to.toISOString()],
      ...[collective, from.toISOString(), to.toISOString()],
    )?.stamp ?? ''
  );
}

export function weeksOf(sql: Sql, collective: number): Weeks {
  const select = (rest: string, ...values: string[]) => postsWhere(sql, collective, rest, ...values);
  const must = (changed: number, week: string, place: string): void => {
    if (!changed) throw new Error(`there is no post of ${week} at ${place}`);
  };
  return {
    get: (week, place) => select('AND week = ? AND place = ?', week, place)[0] ?? null,
    listOf: (place, from) => select('AND place = ? AND week >= ? ORDER BY week', place, from),
    unsent: (place) => select("AND place = ? AND state = 'sending' ORDER BY week", place),
    ofWeek: (week) => select('AND week = ? AND place <> ? ORDER BY place', week, ASKED),
    newest: (place) => select('AND place = ? ORDER BY week DESC LIMIT 1', place)[0]?.week ?? null,
    sending: (week, place, said, at) => must(save(sql, collective, week, place, said, 1, at), week, place),
    tried: (week, place, at) =>
      must(
        sql.run(
          'UPDATE week_posts SET tries = tries + 1, at = ? WHERE collective = ? AND week = ? AND place = ?',
          at.toISOString(),
          collective,
          week,
          place,
        ),
        week,
        place,
      ),
    sent: (week, place, message, at, said) =>
      must(
        sql.run(
          `UPDATE week_posts SET state = 'sent', message = ?, said = coalesce(?, said), tries = 0, at = ?
           WHERE collective = ? AND week = ? AND place = ?`,
          message,
          said ?? null,
          at.toISOString(),
          collective,
          week,
          place,
        ),
        week,
        place,
      ),
    drop: (week, place) => {
      sql.run(
        "DELETE FROM week_posts WHERE collective = ? AND week = ? AND place = ? AND state = 'sending'",
        collective,
        week,
        place,
      );
    },
    move: (from, to) => {
      sql.run(
        'UPDATE OR IGNORE week_posts SET place = ? WHERE collective = ? AND place = ?',
        to,
        collective,
        from,
      );
    },
    ask: (week, at) => {
      save(sql, collective, week, ASKED, '', 0, at);
    },
    asked: () => select('AND place = ? ORDER BY week', ASKED).map(({ week, at }) => ({ week, at })),
    answered: (week) => {
      sql.run(
        'DELETE FROM week_posts WHERE collective = ? AND week = ? AND place = ?',
        collective,
        week,
        ASKED,
      );
    },
    stamp: (from, to) => stampOf(sql, collective, from, to),
  };
}
