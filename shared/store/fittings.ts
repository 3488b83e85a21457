/** What was fitted in phones that were finished, and which of it failed again: what is learnt of how long parts last. */
import { z } from 'zod';
import { partGrades } from '../../knowledge/schema.ts';
import { type Sql, timeColumn } from './sql.ts';

const row = z.object({
  job: z.number().int(),
  component: z.string(),
  grade: z.enum(partGrades),
  supplier: z.string(),
  since: timeColumn,
  promised: z.number().int(),
  failed: timeColumn.nullable(),
});
/** One component in one phone, from the day on which the phone was finished. */
export type Fitting = z.infer<typeof row>;
const columns = 'job, component, grade, supplier, since, promised, failed';

export interface Fittings {
  record(fitting: Omit<Fitting, 'failed'>): void;
  /** Those of a job that is opened again are known no more. */
  forget(job: number): void;
  /** It failed again; what is not one of the job's is passed over. */
  fail(job: number, component: string, at: Date): void;
  ofJob(job: number): Fitting[];
  /** The newest first, `limit` at most. */
  of(component: string, limit?: number): Fitting[];
  list(limit?: number): Fitting[];
}

const MOST = 2000;

export const fittingsOf = (sql: Sql, collective: number): Fittings => ({
  record: ({ job, component, grade, supplier, since, promised }) => {
    sql.run(
      `INSERT INTO fittings (collective, ${columns}) VALUES (?, ?, ?, ?, ?, ?, ?, NULL)`,
      collective,
      job,
      component,
      grade,
      supplier,
      since.toISOString(),
      promised,
    );
  },
  forget: (job) => {
    sql.run('DELETE FROM fittings WHERE collective = ? AND job = ?', collective, job);
  },
  fail: (job, component, at) => {
    sql.run(
      'UPDATE fittings SET failed = ? WHERE collective = ? AND job = ? AND component = ? AND failed IS NULL',
      at.toISOString(),
      collective,
      job,
      component,
    );
  },
  ofJob: (job) =>
    sql.all(
      row,
      `SELECT ${columns} FROM fittings WHERE collective = ? AND job = ? ORDER BY component`,
      collective,
      job,
    ),
  of: (component, limit = MOST) =>
    sql.all(
      row,
      `SELECT ${columns} FROM fittings WHERE collective = ? AND component = ? ORDER BY since DESC LIMIT ?`,
      collective,
      component,
      limit,
    ),
  list: (limit = MOST) =>
    sql.all(
      row,
      `SELECT ${columns} FROM fittings WHERE collective = ? ORDER BY since DESC LIMIT ?`,
      collective,
      limit,
    ),
});
