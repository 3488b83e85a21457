import { z } from 'zod';
import { type Sql, timeColumn } from './sql.ts';

/** What the phones of one Type Allocation Code turned out to be. Kept apart from any job, so that it names no phone. */
interface TacRecord {
  tac: string;
  /** Id of a family of the pack. */
  family: string;
  model: number | null;
  /** How many jobs said so. */
  jobs: number;
  at: Date;
}

const tacRow = z.object({
  tac: z.string(),
  family: z.string(),
  model: z.number().int().nullable(),
  jobs: z.number().int(),
  at: timeColumn,
});

export interface Tacs {
  /** What has been seen under it: the most often seen first. */
  find(tac: string): TacRecord[];
  learn(tac: string, family: string, model: number | null, at: Date): void;
}

export const tacsOf = (sql: Sql, collective: number): Tacs => ({
  find: (tac) =>
    sql.all(
      tacRow,
      'SELECT tac, family, model, jobs, at FROM tacs WHERE collective = ? AND tac = ? ORDER BY jobs DESC, at DESC',
      collective,
      tac,
    ),
  learn: (tac, family, model, at) => {
    sql.run(
      `INSERT INTO tacs (collective, tac, family, model, jobs, at) VALUES (?, ?, ?, ?, 1, ?)
       ON CONFLICT DO UPDATE SET jobs = jobs + 1, model = coalesce(excluded.model, model), at = excluded.at`,
      collective,
      tac,
      family,
      model,
      at.toISOString(),
    );
  },
});
