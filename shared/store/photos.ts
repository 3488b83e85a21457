/** Photos of jobs, sealed under the store's key. */
import { z } from 'zod';
import { type JobPhoto, photoMoments } from '../photos/photo.ts';
import type { Sealer } from '../sealing/sealer.ts';
import type { Hand } from './job-entries.ts';
import { type Sql, timeColumn } from './sql.ts';

const row = z
  .object({
    number: z.number().int(),
    moment: z.enum(photoMoments),
    by: z.string(),
    by_key: z.string(),
    at: timeColumn,
  })
  .transform(({ by: name, by_key: key, ...rest }): JobPhoto => ({ ...rest, by: { key, name } }));

export interface Photos {
  /** `png`: base64 of what is kept. */
  add(job: number, moment: JobPhoto['moment'], png: string, hand: Hand): JobPhoto;
  /** In their order. */
  list(job: number): JobPhoto[];
  /** Base64; null where there is no such photo. Throws CannotOpen. */
  png(job: number, number: number): string | null;
  /** Erased, so that nothing of it is left in the file. False where there is none. */
  erase(job: number, number: number): boolean;
}

export const photoPlace = (collective: number, job: number, number: number): string =>
  `photo:${collective}:${job}:${number}`;

export const photosOf = (sql: Sql, sealer: Sealer, collective: number): Photos => {
  const list = (job: number): JobPhoto[] =>
    sql.all(
      row,
      'SELECT number, moment, by, by_key, at FROM photos WHERE collective = ? AND job = ? ORDER BY number',
      collective,
      job,
    );
  return {
    list,
    add: (job, moment, png, { by, at }) => {
      const number = sql.nextNumber(collective, `photo ${job}`);
      sql.run(
        'INSERT INTO photos (collective, job, number, moment, sealed, by, by_key, at) VALUES (?, ?, ?, ?, ?, ?, ?, ?)',
        collective,
        job,
        number,
        moment,
        sealer.seal(photoPlace(collective, job, number), png),
        by.name,
        by.key,
        at.toISOString(),
      );
      const saved = list(job).find((one) => one.number === number);
      if (!saved) throw new Error(`photo ${number} of job ${job} was not saved`);
      return saved;
    },
    png: (job, number) => {
      const found = sql.one(
        z.object({ sealed: z.string() }),
        'SELECT sealed FROM photos WHERE collective = ? AND job = ? AND number = ?',
        collective,
        job,
        number,
      );
      return found ? sealer.open(photoPlace(collective, job, number), found.sealed) : null;
    },
    erase: (job, number) =>
      sql.secureErase(
        'DELETE FROM photos WHERE collective = ? AND job = ? AND number = ?',
        collective,
        job,
        number,
      ) > 0,
  };
};
