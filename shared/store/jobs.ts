import { z } from 'zod';
import { type Entry, entrySchema, type LoggedEntry, withoutWords } from '../jobs/entry.ts';
import {
  cameWays,
  type EndedAs,
  type Ending,
  endingSchema,
  endings,
  type JobRecord,
  promiseSchema,
} from '../jobs/job.ts';
import type { Actor } from '../people/actor.ts';
import type { Sealer } from '../sealing/sealer.ts';
import { jsonColumn, moneyOf, numberRow, type Sql, timeColumn } from './sql.ts';

const columns = `number, model, family, came, price, currency, grade, symptoms, imei_last, trace, promise,
  opened_by, opened_key, at, holder, holder_key, revision, ended, ended_at, ending`;
const jobRow = z
  .object({
    number: z.number().int(),
    model: z.number().int().nullable(),
    family: z.string(),
    came: z.enum(cameWays),
    price: z.number().int(),
    currency: z.string(),
    grade: z.number().int().min(-2).max(2),
    symptoms: jsonColumn(z.array(z.string())),
    imei_last: z.string().nullable(),
    trace: z.number().int().nullable(),
    promise: jsonColumn(promiseSchema),
    opened_by: z.string(),
    opened_key: z.string(),
    at: timeColumn,
    holder: z.string(),
    holder_key: z.string(),
    revision: z.number().int(),
    ended: z.enum(endings).nullable(),
    ended_at: timeColumn.nullable(),
    ending: jsonColumn(endingSchema).nullable(),
  })
  .transform(
    ({
      price,
      currency,
      imei_last,
      opened_by,
      opened_key,
      holder,
      holder_key,
      ended,
      ended_at,
      ending,
      ...rest
    }) => ({
      ...rest,
      price: moneyOf(price, currency),
      imeiLast: imei_last,
      openedBy: { key: opened_key, name: opened_by },
      holder: { key: holder_key, name: holder },
      ended: ended && ended_at && ending ? { as: ended, at: ended_at, ending } : null,
    }),
  );

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

/** Who did it, and when. */
export interface Hand {
  by: Actor;
  at: Date;
}

type NewJob = Pick<
  JobRecord,
  'model' | 'family' | 'came' | 'price' | 'grade' | 'symptoms' | 'promise' | 'openedBy' | 'at'
> & {
  /** All 15 digits; sealed before they are saved. */
  imei: string | null;
};

export interface Jobs {
  /** The opener holds it. */
  open(job: NewJob): JobRecord;
  get(number: number): JobRecord | null;
  /** The open job that a trace belongs to, else a closed one; null when there is none. */
  ofTrace(trace: number): JobRecord | null;
  /** Newest first; `limit` at most. */
  listOpen(filter?: { holderKey?: string; limit?: number }): JobRecord[];
  countOpen(): number;
  /** Jobs that ended from `from` (included) to `to` (not included), in the order of their ends. */
  endedBetween(from: Date, to: Date): JobRecord[];
  /** The newest closed jobs. */
  listEnded(limit: number): JobRecord[];
  /** These throw when there is no such job. Each adds one to the revision. */
  add(number: number, entries: readonly Entry[], hand: Hand): JobRecord;
  /** Throws when there is no such entry, or it is struck out already. */
  strike(number: number, seq: number, hand: Hand, why: string): JobRecord;
  /**
   * Removes what was written in an entry from the file for good. Throws when there is no such entry. Copies of it elsewhere:
   * `wipeCopies`.
   */
  wipe(number: number, seq: number, hand: Hand): JobRecord;
  setTrace(number: number, trace: number): void;
  hand(number: number, holder: Actor): void;
  end(number: number, as: EndedAs, at: Date, ending: Ending): JobRecord;
  reopen(number: number): JobRecord;
  /** The whole IMEI; null when none was given. Throws CannotOpen. */
  imeiOf(number: number): string | null;
}

export const imeiPlace = (collective: number, job: number): string => `imei:${collective}:${job}`;

export function jobsOf(sql: Sql, sealer: Sealer, collective: number): Jobs {
  const withEntries = (jobs: z.infer<typeof jobRow>[]): JobRecord[] =>
    jobs.map((job) => ({
      ...job,
      entries: sql
        .all(
          entryRow,
          `SELECT ${entryColumns} FROM job_entries WHERE collective = ? AND job = ? ORDER BY seq`,
          collective,
          job.number,
        )
        .map(({ logged }) => logged),
    }));
  const select = (rest: string, ...values: (string | number)[]): JobRecord[] =>
    withEntries(
      sql.all(jobRow, `SELECT ${columns} FROM jobs WHERE collective = ? ${rest}`, collective, ...values),
    );
  const get = (number: number): JobRecord | null => select('AND number = ?', number)[0] ?? null;
  const must = (number: number): JobRecord => {
    const job = get(number);
    if (!job) throw new Error(`there is no job ${number}`);
    return job;
  };
  const change = (number: number, set = '', ...values: (string | number | null)[]): void => {
    const changed = sql.run(
      `UPDATE jobs SET revision = revision + 1${set && `, ${set}`} WHERE collective = ? AND number = ?`,
      ...values,
      collective,
      number,
    );
    if (!changed) throw new Error(`there is no job ${number}`);
  };
  return {
    open: ({ model, family, came, price, grade, symptoms, promise, openedBy, at, imei }) => {
      const number = sql.nextNumber(collective, 'job');
      sql.run(
        `INSERT INTO jobs (collective, number, model, family, came, price, currency, grade, symptoms, imei, imei_last,
           trace, promise, opened_by, opened_key, at, holder, holder_key, revision)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, NULL, ?, ?, ?, ?, ?, ?, 1)`,
        collective,
        number,
        model,
        family,
        came,
        price.minor,
        price.currency,
        grade,
        JSON.stringify(symptoms),
        imei && sealer.seal(imeiPlace(collective, number), imei),
        imei?.slice(-4) ?? null,
        JSON.stringify(promise),
        openedBy.name,
        openedBy.key,
        at.toISOString(),
        openedBy.name,
        openedBy.key,
      );
      return must(number);
    },
    get,
    ofTrace: (trace) =>
      select('AND trace = ? ORDER BY ended IS NOT NULL, number DESC LIMIT 1', trace)[0] ?? null,
    listOpen: ({ holderKey, limit = 25 } = {}) =>
      holderKey === undefined
        ? select('AND ended IS NULL ORDER BY number DESC LIMIT ?', limit)
        : select('AND ended IS NULL AND holder_key = ? ORDER BY number DESC LIMIT ?', holderKey, limit),
    countOpen: () =>
      sql.one(numberRow, 'SELECT count(*) AS n FROM jobs WHERE collective = ? AND ended IS NULL', collective)
        ?.n ?? 0,
    endedBetween: (from, to) =>
      select(
        'AND ended_at >= ? AND ended_at < ? ORDER BY ended_at, number',
        from.toISOString(),
        to.toISOString(),
      ),
    listEnded: (limit) =>
      select('AND ended_at IS NOT NULL ORDER BY ended_at DESC, number DESC LIMIT ?', limit),
    add: (number, entries, { by, at }) => {
      change(number);
      for (const entry of entries) {
        sql.run(
          `INSERT INTO job_entries (collective, job, seq, entry, by, by_key, at)
           SELECT ?, ?, 1 + coalesce(max(seq), 0), ?, ?, ?, ? FROM job_entries WHERE collective = ? AND job = ?`,
          collective,
          number,
          JSON.stringify(entrySchema.parse(entry)),
          by.name,
          by.key,
          at.toISOString(),
          collective,
          number,
        );
      }
      return must(number);
    },
    strike: (number, seq, { by, at }, why) => {
      change(number);
      const struck = sql.run(
        `UPDATE job_entries SET struck_by = ?, struck_key = ?, struck_at = ?, struck_why = ?
         WHERE collective = ? AND job = ? AND seq = ? AND struck_by IS NULL`,
        by.name,
        by.key,
        at.toISOString(),
        why,
        collective,
        number,
        seq,
      );
      if (!struck) throw new Error(`job ${number} has no entry ${seq} to strike out`);
      return must(number);
    },
    wipe: (number, seq, { by, at }) => {
      change(number);
      const logged = must(number).entries.find((one) => one.seq === seq);
      if (!logged) throw new Error(`job ${number} has no entry ${seq}`);
      sql.secureErase(
        `UPDATE job_entries SET entry = ?, struck_why = CASE WHEN struck_by IS NULL THEN NULL ELSE '' END,
           wiped_by = ?, wiped_key = ?, wiped_at = ?
         WHERE collective = ? AND job = ? AND seq = ?`,
        JSON.stringify(entrySchema.parse(withoutWords(logged.entry))),
        by.name,
        by.key,
        at.toISOString(),
        collective,
        number,
        seq,
      );
      return must(number);
    },
    setTrace: (number, trace) => change(number, 'trace = ?', trace),
    hand: (number, { name, key }) => change(number, 'holder = ?, holder_key = ?', name, key),
    end: (number, as, at, ending) => {
      change(
        number,
        'ended = ?, ended_at = ?, ending = ?',
        as,
        at.toISOString(),
        JSON.stringify(endingSchema.parse(ending)),
      );
      return must(number);
    },
    reopen: (number) => {
      change(number, 'ended = NULL, ended_at = NULL, ending = NULL');
      return must(number);
    },
    imeiOf: (number) => {
      const row = sql.one(
        z.object({ imei: z.string().nullable() }),
        'SELECT imei FROM jobs WHERE collective = ? AND number = ?',
        collective,
        number,
      );
      return row?.imei ? sealer.open(imeiPlace(collective, number), row.imei) : null;
    },
  };
}
