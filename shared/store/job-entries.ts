/** The log of each job: entries are added, struck out, and their words removed. None is ever taken away. */
import { z } from 'zod';
import { type Entry, entrySchema, type LoggedEntry, withoutWords } from '../jobs/entry.ts';
import type { Actor } from '../people/actor.ts';
import { jsonColumn, type Sql, timeColumn } from './sql.ts';

/** Who did it, and when. */
export interface Hand {
  by: Actor;
  at: Date;
}

const entryRow = z
  .object({
    job: z.number().int(),
    seq: z.number().int(),
    entry: jsonColumn(entrySchema),
    by: z.string(),
    by_key: z.string(),
    at: timeColumn,
    struck_by: z.string().nullable(),
    struck_key: z.string().nullable(),
    struck_at: timeColumn.nullable(),
    struck_why: z.string().nullable(),
    wiped_by: z.string().nullable(),
    wiped_key: z.string().nullable(),
    wiped_at: timeColumn.nullable(),
  })
  .transform(
    ({
      job,
      by,
      by_key,
      struck_by,
      struck_key,
      struck_at,
      struck_why,
      wiped_by,
      wiped_key,
      wiped_at,
      ...rest
    }): { job: number; logged: LoggedEntry } => ({
      job,
      logged: {
        ...rest,
        by: { key: by_key, name: by },
        struck:
          struck_by !== null && struck_at && struck_why !== null
            ? { by: { key: struck_key, name: struck_by }, at: struck_at, why: struck_why }
            : null,
        wiped:
          wiped_by !== null && wiped_at ? { by: { key: wiped_key, name: wiped_by }, at: wiped_at } : null,
      },
    }),
  );
const entryColumns = `job, seq, entry, by, by_key, at, struck_by, struck_key, struck_at, struck_why,
  wiped_by, wiped_key, wiped_at`;

interface JobEntries {
  /** In their order. */
  of(job: number): LoggedEntry[];
  add(job: number, entry: Entry, hand: Hand): void;
  /** Throws when there is no such entry, or it is struck out already. */
  strike(job: number, seq: number, hand: Hand, why: string): void;
  /** Leaves nothing of what was written in the file. Throws when there is no such entry. */
  wipe(job: number, seq: number, hand: Hand): void;
}

export function jobEntriesOf(sql: Sql, collective: number): JobEntries {
  const of = (job: number): LoggedEntry[] =>
    sql
      .all(
        entryRow,
        `SELECT ${entryColumns} FROM job_entries WHERE collective = ? AND job = ? ORDER BY seq`,
        collective,
        job,
      )
      .map(({ logged }) => logged);
  return {
    of,
    add: (job, entry, { by, at }) => {
      sql.run(
        `INSERT INTO job_entries (collective, job, seq, entry, by, by_key, at)
         SELECT ?, ?, 1 + coalesce(max(seq), 0), ?, ?, ?, ? FROM job_entries WHERE collective = ? AND job = ?`,
        collective,
        job,
        JSON.stringify(entrySchema.parse(entry)),
        by.name,
        by.key,
        at.toISOString(),
        collective,
        job,
      );
    },
    strike: (job, seq, { by, at }, why) => {
      const struck = sql.run(
        `UPDATE job_entries SET struck_by = ?, struck_key = ?, struck_at = ?, struck_why = ?
         WHERE collective = ? AND job = ? AND seq = ? AND struck_by IS NULL`,
        by.name,
        by.key,
        at.toISOString(),
        why,
        collective,
        job,
        seq,
      );
      if (!struck) throw new Error(`job ${job} has no entry ${seq} to strike out`);
    },
    wipe: (job, seq, { by, at }) => {
      const logged = of(job).find((one) => one.seq === seq);
      if (!logged) throw new Error(`job ${job} has no entry ${seq}`);
      sql.secureErase(
        `UPDATE job_entries SET entry = ?, struck_why = CASE WHEN struck_by IS NULL THEN NULL ELSE '' END,
           wiped_by = ?, wiped_key = ?, wiped_at = ?
         WHERE collective = ? AND job = ? AND seq = ?`,
        JSON.stringify(entrySchema.parse(withoutWords(logged.entry))),
        by.name,
        by.key,
        at.toISOString(),
        collective,
        job,
        seq,
      );
    },
  };
}
