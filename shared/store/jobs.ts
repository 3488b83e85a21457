import { z } from 'zod';
import type { Entry } from '../jobs/entry.ts';
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
import { type Hand, jobEntriesOf } from './job-entries.ts';
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

/** The number that it was saved under. */
function insertJob(sql: Sql, sealer: Sealer, collective: number, job: NewJob): number {
  const number = sql.nextNumber(collective, 'job');
  sql.run(
    `INSERT INTO jobs (collective, number, model, family, came, price, currency, grade, symptoms, imei, imei_last,
       trace, promise, opened_by, opened_key, at, holder, holder_key, revision)
     VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, NULL, ?, ?, ?, ?, ?, ?, 1)`,
    collective,
    number,
    job.model,
    job.family,
    job.came,
    job.price.minor,
    job.price.currency,
    job.grade,
    JSON.stringify(job.symptoms),
    job.imei && sealer.seal(imeiPlace(collective, number), job.imei),
    job.imei?.slice(-4) ?? null,
    JSON.stringify(job.promise),
    job.openedBy.name,
    job.openedBy.key,
    job.at.toISOString(),
    job.openedBy.name,
    job.openedBy.key,
  );
  return number;
}

type FoundJobs = Pick<Jobs, 'get' | 'ofTrace' | 'listOpen' | 'countOpen' | 'endedBetween' | 'listEnded'>;

function findingJobs(sql: Sql, collective: number): FoundJobs {
  const entries = jobEntriesOf(sql, collective);
  const select = (rest: string, ...values: (string | number)[]): JobRecord[] =>
    sql
      .all(jobRow, `SELECT ${columns} FROM jobs WHERE collective = ? ${rest}`, collective, ...values)
      .map((job) => ({ ...job, entries: entries.of(job.number) }));
  return {
    get: (number) => select('AND number = ?', number)[0] ?? null,
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
  };
}

export function jobsOf(sql: Sql, sealer: Sealer, collective: number): Jobs {
  const entries = jobEntriesOf(sql, collective);
  const found = findingJobs(sql, collective);
  const must = (number: number): JobRecord => {
    const job = found.get(number);
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
    ...found,
    open: (job) => must(insertJob(sql, sealer, collective, job)),
    add: (number, added, hand) => {
      change(number);
      for (const entry of added) entries.add(number, entry, hand);
      return must(number);
    },
    strike: (number, seq, hand, why) => {
      change(number);
      entries.strike(number, seq, hand, why);
      return must(number);
    },
    wipe: (number, seq, hand) => {
      change(number);
      entries.wipe(number, seq, hand);
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
