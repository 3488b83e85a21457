/** Which messages of the bot in chat show what: so that they can be put right, and their buttons taken away, later. */
import { LRUCache } from 'lru-cache';
import { z } from 'zod';
import type { Actor } from '../people/actor.ts';
import { type Sql, timeColumn } from './sql.ts';

/** A message of the bot, as its platform names it. */
export interface MessagePlace {
  /** `discord`, `matrix`. */
  platform: string;
  channel: string;
  message: string;
}

interface ShownMessage extends MessagePlace {
  /** Key of the one person whom it was shown to; null where a room reads it. */
  person: string | null;
  /** It offers something to tap. */
  choices: boolean;
  at: Date;
}

export interface ShownMessages {
  /** What a message shows from now on: `job:4`, `trace:3`, and `request:ID` for the request that it answers. */
  note(shown: Omit<ShownMessage, 'at'>, subjects: readonly string[], at: Date): void;
  /** The newest messages that show something, newest first; `offering`: of those that offer something to tap. */
  showing(subject: string, only?: { offering: boolean }): ShownMessage[];
  /** It offers nothing any more. */
  retired(place: MessagePlace): void;
}

/** A message that is to be put right, and the one person whom it was shown to. */
export interface RemovalPlace extends MessagePlace {
  person: string | null;
}

/** Words were removed, and messages that may show them are to be put right. */
export interface Removal {
  collective: number;
  number: number;
  /** By name, as it is said. */
  by: string;
  steward: boolean;
  /** What was removed; null where the program was started anew since: the words are kept nowhere. */
  words: readonly string[] | null;
  messages: RemovalPlace[];
}

export interface Removals {
  /** What is still to be put right on a platform, the oldest first. */
  pending(platform: string): Removal[];
  /** The message is right now. */
  mended(collective: number, place: MessagePlace): void;
  /** The message is not there any more. */
  gone(collective: number, place: MessagePlace): void;
  /** Forgets messages that are older than they are kept. The number of rows. */
  forgetOld(now: Date): number;
}

/** So many days it is known which message showed what. */
const SHOWN_KEPT_DAYS = 400;
const DAY_MS = 24 * 3600_000;
const MOST_SHOWN = 200;

const columns = 'platform, channel, message, person, choices, at';
const shownRow = z.object({
  platform: z.string(),
  channel: z.string(),
  message: z.string(),
  person: z.string().nullable(),
  choices: z.number().transform(Boolean),
  at: timeColumn,
});
const removalRow = z.object({
  collective: z.number().int(),
  number: z.number().int(),
  by: z.string(),
  role: z.string(),
});
const placeRow = z.object({
  platform: z.string(),
  channel: z.string(),
  message: z.string(),
  person: z.string().nullable(),
});

export const shownMessagesOf = (sql: Sql, collective: number): ShownMessages => ({
  note: ({ platform, channel, message, person, choices }, subjects, at) => {
    for (const subject of new Set(subjects)) {
      sql.run(
        `INSERT INTO shown_messages (collective, subject, ${columns}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
         ON CONFLICT DO UPDATE SET choices = excluded.choices, at = excluded.at, person = excluded.person`,
        collective,
        subject,
        platform,
        channel,
        message,
        person,
        choices ? 1 : 0,
        at.toISOString(),
      );
    }
  },
  showing: (subject, { offering } = { offering: false }) =>
    sql.all(
      shownRow,
      `SELECT ${columns} FROM shown_messages
       WHERE collective = ? AND subject = ? AND choices >= ? ORDER BY at DESC LIMIT ?`,
      collective,
      subject,
      offering ? 1 : 0,
      MOST_SHOWN,
    ),
  retired: ({ platform, channel, message }) => {
    sql.run(
      `UPDATE shown_messages SET choices = 0
       WHERE collective = ? AND platform = ? AND channel = ? AND message = ?`,
      collective,
      platform,
      channel,
      message,
    );
  },
});

/** What was removed, by collective and number: in memory alone, for as long as it takes to put messages right. */
const inMind = new WeakMap<Sql, LRUCache<string, readonly string[]>>();
/** More removals than this are not under way at once: those before are mended without their words. */
const MOST_MINDED = 50;
const minded = (sql: Sql): LRUCache<string, readonly string[]> => {
  const known = inMind.get(sql) ?? new LRUCache<string, readonly string[]>({ max: MOST_MINDED });
  inMind.set(sql, known);
  return known;
};

/** Who had words removed, and when. */
export interface RemovedBy {
  by: Actor;
  steward: boolean;
  at: Date;
}

/** Has the messages put right that show one of the subjects. How many they are, by platform. */
export function markShown(
  sql: Sql,
  collective: number,
  subjects: readonly string[],
  words: readonly string[],
  { by, steward, at }: RemovedBy,
): Record<string, number> {
  const places = new Map<string, z.infer<typeof placeRow>>();
  for (const subject of subjects)
    for (const place of sql.all(
      placeRow,
      'SELECT platform, channel, message, person FROM shown_messages WHERE collective = ? AND subject = ?',
      collective,
      subject,
    ))
      places.set(`${place.platform} ${place.channel} ${place.message}`, place);
  if (!places.size) return {};
  const number = sql.nextNumber(collective, 'removal');
  sql.run(
    'INSERT INTO removals (collective, number, by, by_key, role, at) VALUES (?, ?, ?, ?, ?, ?)',
    collective,
    number,
    by.name,
    by.key,
    steward ? 'steward' : 'member',
    at.toISOString(),
  );
  const count: Record<string, number> = {};
  for (const { platform, channel, message } of places.values()) {
    sql.run(
      `UPDATE shown_messages SET removal = ?
       WHERE collective = ? AND platform = ? AND channel = ? AND message = ?`,
      number,
      collective,
      platform,
      channel,
      message,
    );
    count[platform] = (count[platform] ?? 0) + 1;
  }
  minded(sql).set(`${collective} ${number}`, [...words]);
  return count;
}

export const removalsOf = (sql: Sql): Removals => {
  const settle = (collective: number, { platform, channel, message }: MessagePlace, change: string): void => {
    sql.run(
      `${change} WHERE collective = ? AND platform = ? AND channel = ? AND message = ?`,
      collective,
      platform,
      channel,
      message,
    );
  };
  return {
    pending: (platform) => {
      const known = minded(sql);
      return sql
        .all(
          removalRow,
          `SELECT r.collective, r.number, r.by, r.role FROM removals r
           WHERE (r.collective, r.number) IN
             (SELECT collective, removal FROM shown_messages WHERE platform = ? AND removal IS NOT NULL)
           ORDER BY r.at, r.number`,
          platform,
        )
        .map(({ collective, number, by, role }) => ({
          collective,
          number,
          by,
          steward: role === 'steward',
          words: known.get(`${collective} ${number}`) ?? null,
          messages: sql.all(
            placeRow,
            `SELECT DISTINCT platform, channel, message, person FROM shown_messages
             WHERE platform = ? AND removal = ? AND collective = ? ORDER BY message DESC`,
            platform,
            number,
            collective,
          ),
        }));
    },
    mended: (collective, place) => settle(collective, place, 'UPDATE shown_messages SET removal = NULL'),
    gone: (collective, place) => settle(collective, place, 'DELETE FROM shown_messages'),
    forgetOld: (now) => {
      const oldest = new Date(now.getTime() - SHOWN_KEPT_DAYS * DAY_MS).toISOString();
      return (
        sql.eraseAged(now, 'DELETE FROM shown_messages WHERE at < ?', [oldest], false) +
        sql.eraseAged(now, 'DELETE FROM removals WHERE at < ?', [oldest], false)
      );
    },
  };
};
