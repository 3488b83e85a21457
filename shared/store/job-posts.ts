/** The threads of jobs in chat: where they go, what stands there, and which of them no longer says how its job stands. */
import { z } from 'zod';
import type { Actor } from '../people/actor.ts';
import { numberRow, type Sql } from './sql.ts';

/** Where the jobs of a collective have their threads on a platform. */
interface JobChannel {
  platform: string;
  channel: string;
  /** The server that it is in, where the platform has servers. */
  server: string | null;
  by: Actor;
}

const states = ['idle', 'making', 'there', 'done', 'gone'] as const;

export interface JobPost {
  platform: string;
  job: number;
  channel: string;
  /**
   * `idle`: not before the job moves. `making`: it may stand there already. `done`: its job is closed. `gone`: the job goes on
   * without it.
   */
  state: (typeof states)[number];
  thread: string | null;
  card: string | null;
  /** Revisions of what the card says. */
  stamp: string;
}

/** A job whose post is not as it should be, and its stamp now. */
export interface DuePost {
  job: number;
  stamp: string;
  post: JobPost | null;
}

export interface JobPosts {
  /** Jobs have their threads there from now on; those that are open get one when they move. What was gone is made anew. */
  choose(place: JobChannel, at: Date): void;
  /** No job has a thread on this platform from now on; those that stand there stay as they are. */
  leave(platform: string): void;
  channelOf(platform: string): JobChannel | null;
  /** Jobs whose post is missing or says no more how they stand, in the order of their numbers. */
  due(platform: string): DuePost[];
  save(post: JobPost): void;
  isCard(platform: string, message: string): boolean;
}

const channelRow = z
  .object({
    platform: z.string(),
    channel: z.string(),
    server: z.string().nullable(),
    by: z.string(),
    by_key: z.string().nullable(),
  })
  .transform(({ by: name, by_key, ...rest }): JobChannel => ({ ...rest, by: { key: by_key ?? '', name } }));

const postRow = z.object({
  number: z.number().int(),
  now: z.string(),
  platform: z.string().nullable(),
  channel: z.string().nullable(),
  state: z.enum(states).nullable(),
  thread: z.string().nullable(),
  card: z.string().nullable(),
  stamp: z.string().nullable(),
});

/** What a card says follows from these: the job, its trace, and what was said of its phone. */
const STAMP = `j.revision || ' ' || coalesce(t.revision, 0) || ' ' ||
  (SELECT count(*) || ' ' || count(e.withdrawn_at) FROM phone_events e
   WHERE e.collective = j.collective AND e.subject = 'job' AND e.number = j.number) || ' ' ||
  (SELECT count(*) || ' ' || count(e.withdrawn_at) FROM phone_events e
   WHERE e.collective = j.collective AND e.subject = 'trace' AND e.number = j.trace)`;

const STANDING = `SELECT j.number, ${STAMP} AS now, p.platform, p.channel, p.state, p.thread, p.card, p.stamp`;
/** Open jobs; and closed ones whose card does not say so yet. */
const OPEN = `${STANDING} FROM jobs j
  LEFT JOIN traces t ON t.collective = j.collective AND t.number = j.trace
  LEFT JOIN job_posts p ON p.collective = j.collective AND p.platform = ? AND p.job = j.number
  WHERE j.collective = ? AND j.ended IS NULL`;
const CLOSED = `${STANDING} FROM job_posts p
  JOIN jobs j ON j.collective = p.collective AND j.number = p.job
  LEFT JOIN traces t ON t.collective = j.collective AND t.number = j.trace
  WHERE p.collective = ? AND p.platform = ? AND p.state IN ('there', 'making') AND j.ended IS NOT NULL`;

const postOf = ({ number, now: _, ...row }: z.infer<typeof postRow>): JobPost | null => {
  const { platform, channel, state, thread, card, stamp } = row;
  if (platform === null || channel === null || state === null || stamp === null) return null;
  return { platform, job: number, channel, state, thread, card, stamp };
};

const isDue = ({ post, stamp }: DuePost): boolean =>
  post === null || post.state === 'making' || (post.state !== 'gone' && post.stamp !== stamp);

export function jobPostsOf(sql: Sql, collective: number): JobPosts {
  const rowsOf = (statement: string, ...values: (string | number)[]): DuePost[] =>
    sql
      .all(postRow, statement, ...values)
      .map((row) => ({ job: row.number, stamp: row.now, post: postOf(row) }));
  const openRows = (platform: string) => rowsOf(OPEN, platform, collective);
  const save = ({ platform, job, channel, state, thread, card, stamp }: JobPost): void => {
    sql.run(
      `INSERT INTO job_posts (collective, platform, job, channel, state, thread, card, stamp)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?)
       ON CONFLICT DO UPDATE SET channel = excluded.channel, state = excluded.state, thread = excluded.thread,
         card = excluded.card, stamp = excluded.stamp`,
      collective,
      platform,
      job,
      channel,
      state,
      thread,
      card,
      stamp,
    );
  };
  const channelOf: JobPosts['channelOf'] = (platform) =>
    sql.one(
      channelRow,
      'SELECT platform, channel, server, by, by_key FROM job_channels WHERE collective = ? AND platform = ?',
      collective,
      platform,
    );
  return {
    channelOf,
    save,
    choose: ({ platform, channel, server, by }, at) => {
      const moved = channelOf(platform)?.channel !== channel;
      sql.run(
        `INSERT INTO job_channels (collective, platform, channel, server, by, by_key, at) VALUES (?, ?, ?, ?, ?, ?, ?)
         ON CONFLICT DO UPDATE SET channel = excluded.channel, server = excluded.server, by = excluded.by,
           by_key = excluded.by_key, at = excluded.at`,
        collective,
        platform,
        channel,
        server,
        by.name,
        by.key,
        at.toISOString(),
      );
      for (const { job, stamp, post } of openRows(platform)) {
        if (post && post.state !== 'gone' && !moved) continue;
        // Not all at once: one that lies still needs no post.
        save({ platform, job, channel, state: 'idle', thread: null, card: null, stamp });
      }
    },
    leave: (platform) => {
      sql.run('DELETE FROM job_channels WHERE collective = ? AND platform = ?', collective, platform);
      sql.run('DELETE FROM job_posts WHERE collective = ? AND platform = ?', collective, platform);
    },
    due: (platform) =>
      [...openRows(platform), ...rowsOf(CLOSED, collective, platform)]
        .filter(isDue)
        .sort((a, b) => a.job - b.job),
    isCard: (platform, message) =>
      sql.one(
        numberRow,
        'SELECT 1 AS n FROM job_posts WHERE collective = ? AND platform = ? AND card = ?',
        collective,
        platform,
        message,
      ) !== null,
  };
}
