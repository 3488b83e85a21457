import { z } from 'zod';
import type { Money } from '../money/money.ts';
import type { Actor } from '../people/actor.ts';
import { nameKey } from './name-key.ts';
import { moneyOf, type Sql, timeColumn } from './sql.ts';

/** A model that the collective has named. */
export interface ModelRecord {
  id: number;
  name: string;
  /** Id of a family of the pack. */
  family: string;
  /** ISO date. */
  launched: string | null;
  newPrice: Money | null;
  /** Who saved it last, and when. */
  by: Actor;
  at: Date;
}

const columns = 'id, name, family, launched, new_price, new_price_currency, by, by_key, at';
const modelFields = z.object({
  id: z.number().int(),
  name: z.string(),
  family: z.string(),
  launched: z.iso.date().nullable(),
  new_price: z.number().int().nullable(),
  new_price_currency: z.string().nullable(),
  by: z.string(),
  by_key: z.string().nullable(),
  at: timeColumn,
});
const modelOf = <T extends z.output<typeof modelFields>>({
  new_price: minor,
  new_price_currency: currency,
  by: who,
  by_key: key,
  ...rest
}: T) => ({
  ...rest,
  by: { key, name: who },
  newPrice: minor === null || currency === null ? null : moneyOf(minor, currency),
});
const modelRow = modelFields.transform((row): ModelRecord => modelOf(row));
const versionRow = modelFields
  .extend({ seq: z.number().int() })
  .transform(({ seq, ...row }): ModelVersion => ({ ...modelOf(row), seq }));

/** What was known of it before it was changed, and who had said so. */
export type ModelVersion = ModelRecord & { seq: number };

/** So many are kept of a model; the oldest go first. */
const MOST_VERSIONS = 50;

export interface Models {
  /** The newest first. `id` is the model's. */
  versions(id: number): ModelVersion[];
  list(): ModelRecord[];
  get(id: number): ModelRecord | null;
  /** Case, spaces, hyphens and accents do not matter. */
  findByName(name: string): ModelRecord | null;
  /** Adds the model, or changes the one of that name: what it was is kept among its versions. */
  save(model: Omit<ModelRecord, 'id'>): ModelRecord;
  /** Removes the model with its sightings and its bench's tables; traces, jobs, swap reports and TACs of it keep their family. */
  remove(id: number): void;
}

const known = ({ name, family, launched, newPrice }: Omit<ModelRecord, 'id'>): string =>
  JSON.stringify([name, family, launched, newPrice]);

export const modelsOf = (sql: Sql, collective: number): Models => ({
  versions: (id) =>
    sql.all(
      versionRow,
      `SELECT model AS id, seq, name, family, launched, new_price, new_price_currency, by, by_key, at
       FROM model_versions WHERE collective = ? AND model = ? ORDER BY seq DESC`,
      collective,
      id,
    ),
  list: () =>
    sql.all(modelRow, `SELECT ${columns} FROM models WHERE collective = ? ORDER BY name_key`, collective),
  get: (id) =>
    sql.one(modelRow, `SELECT ${columns} FROM models WHERE collective = ? AND id = ?`, collective, id),
  findByName: (name) =>
    sql.one(
      modelRow,
      `SELECT ${columns} FROM models WHERE collective = ? AND name_key = ?`,
      collective,
      nameKey(name),
    ),
  save: (model) => {
    const { name, family, launched, newPrice, by, at } = model;
    const before = modelsOf(sql, collective).findByName(name);
    if (before && known(before) !== known(model)) keepVersion(sql, collective, before);
    const saved = sql.one(
      modelRow,
      `INSERT INTO models (collective, name, name_key, family, launched, new_price, new_price_currency, by, by_key, at)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
       ON CONFLICT (collective, name_key) DO UPDATE SET name = excluded.name, family = excluded.family,
         launched = excluded.launched, new_price = excluded.new_price,
         new_price_currency = excluded.new_price_currency, by = excluded.by, by_key = excluded.by_key, at = excluded.at
       RETURNING ${columns}`,
      collective,
      name,
      nameKey(name),
      family,
      launched,
      newPrice?.minor ?? null,
      newPrice?.currency ?? null,
      by.name,
      by.key,
      at.toISOString(),
    );
    if (!saved) throw new Error(`model ${name} was not saved`);
    return saved;
  },
  remove: (id) => {
    sql.run('DELETE FROM model_versions WHERE collective = ? AND model = ?', collective, id);
    sql.run('DELETE FROM sightings WHERE collective = ? AND model = ?', collective, id);
    sql.run('DELETE FROM bench_readings WHERE collective = ? AND model = ?', collective, id);
    for (const table of ['traces', 'jobs', 'tacs', 'swaps', 'shelf', 'shelf_wanted'])
      sql.run(`UPDATE ${table} SET model = NULL WHERE collective = ? AND model = ?`, collective, id);
    sql.run('DELETE FROM models WHERE collective = ? AND id = ?', collective, id);
  },
});

function keepVersion(
  sql: Sql,
  collective: number,
  { id, name, family, launched, newPrice, by, at }: ModelRecord,
) {
  sql.run(
    `INSERT INTO model_versions (collective, model, seq, name, family, launched, new_price, new_price_currency, by, by_key, at)
     SELECT ?, ?, 1 + coalesce(max(seq), 0), ?, ?, ?, ?, ?, ?, ?, ? FROM model_versions WHERE collective = ? AND model = ?`,
    collective,
    id,
    name,
    family,
    launched,
    newPrice?.minor ?? null,
    newPrice?.currency ?? null,
    by.name,
    by.key,
    at.toISOString(),
    collective,
    id,
  );
  sql.run(
    `DELETE FROM model_versions WHERE collective = ? AND model = ? AND seq <=
       (SELECT max(seq) FROM model_versions WHERE collective = ? AND model = ?) - ?`,
    collective,
    id,
    collective,
    id,
    MOST_VERSIONS,
  );
}
