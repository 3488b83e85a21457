/** A bench's own tables: what a sound phone of a model reads, place by place, by whom and when. */
import { z } from 'zod';
import { type BenchTable, benchTables } from '../../knowledge/schema.ts';
import type { Actor } from '../people/actor.ts';
import { nameKey } from './name-key.ts';
import { type Sql, timeColumn } from './sql.ts';

export interface BenchReading {
  /** Counted from 1 in each collective, and not used again. */
  number: number;
  model: number;
  table: BenchTable;
  /** Where or when it was read, as people write it: "battery 3". */
  place: string;
  /** V of a diode reading, null where the meter shows an open line; A of a current. */
  value: number | null;
  by: Actor;
  at: Date;
}

const columns = 'number, model, kind, place, value, by, by_key, at';
const readingRow = z
  .object({
    number: z.number().int(),
    model: z.number().int(),
    kind: z.enum(benchTables),
    place: z.string(),
    value: z.number().nullable(),
    by: z.string(),
    by_key: z.string(),
    at: timeColumn,
  })
  .transform(
    ({ kind, by: name, by_key: key, ...rest }): BenchReading => ({ ...rest, table: kind, by: { key, name } }),
  );

export interface BenchReadings {
  /** Of a model, by table and place. */
  of(model: number): BenchReading[];
  get(number: number): BenchReading | null;
  /** One place of a table holds one reading: another takes its place, under the same number. */
  save(reading: Omit<BenchReading, 'number'>): { saved: BenchReading; before: BenchReading | null };
  /** Erased, so that nothing of it is left in the file. */
  remove(number: number): void;
}

export const benchReadingsOf = (sql: Sql, collective: number): BenchReadings => {
  const at = (model: number, table: BenchTable, place: string) =>
    sql.one(
      readingRow,
      `SELECT ${columns} FROM bench_readings WHERE collective = ? AND model = ? AND kind = ? AND place_key = ?`,
      collective,
      model,
      table,
      nameKey(place),
    );
  return {
    of: (model) =>
      sql.all(
        readingRow,
        `SELECT ${columns} FROM bench_readings WHERE collective = ? AND model = ? ORDER BY kind, place_key`,
        collective,
        model,
      ),
    get: (number) =>
      sql.one(
        readingRow,
        `SELECT ${columns} FROM bench_readings WHERE collective = ? AND number = ?`,
        collective,
        number,
      ),
    save: ({ model, table, place, value, by, at: when }) => {
      const before = at(model, table, place);
      const number = before?.number ?? sql.nextNumber(collective, 'bench-reading');
      sql.run(
        `INSERT INTO bench_readings (collective, number, model, kind, place, place_key, value, by, by_key, at)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
         ON CONFLICT (collective, model, kind, place_key) DO UPDATE SET place = excluded.place,
           value = excluded.value, by = excluded.by, by_key = excluded.by_key, at = excluded.at`,
        collective,
        number,
        model,
        table,
        place,
        nameKey(place),
        value,
        by.name,
        by.key,
        when.toISOString(),
      );
      const saved = at(model, table, place);
      if (!saved) throw new Error(`reading ${number} was not saved`);
      return { saved, before };
    },
    remove: (number) => {
      sql.secureErase('DELETE FROM bench_readings WHERE collective = ? AND number = ?', collective, number);
    },
  };
};
