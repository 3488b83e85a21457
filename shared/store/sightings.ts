import { z } from 'zod';
import { type PartGrade, partGrades } from '../../knowledge/schema.ts';
import type { Money } from '../money/money.ts';
import type { Actor } from '../people/actor.ts';
import { moneyOf, numberRow, type Sql, timeColumn } from './sql.ts';

/** A price seen, for a phone or for a part that fits it. */
export interface SightingRecord {
  /** Counted from 1 in each collective. */
  number: number;
  kind: 'phone' | 'part';
  model: number;
  /** Id of a component of the pack; null for a phone. */
  component: string | null;
  /** Null for a phone. */
  partGrade: PartGrade | null;
  /** Condition, -2 (poor) to 2 (mint); null for a part. */
  grade: number | null;
  /** GB; null where not known, and for a part. */
  storage: number | null;
  price: Money;
  how: 'sold' | 'asked';
  /** ISO date. */
  seen: string;
  note: string;
  /** Who told it. */
  by: Actor;
  at: Date;
}
export type NewSighting = Omit<SightingRecord, 'number'>;

const columns =
  'number, kind, model, component, part_grade, grade, storage, price, currency, how, seen, note, by, by_key, at';
const sightingRow = z
  .object({
    number: z.number().int(),
    kind: z.enum(['phone', 'part']),
    model: z.number().int(),
    component: z.string().nullable(),
    part_grade: z.enum(partGrades).nullable(),
    grade: z.number().int().min(-2).max(2).nullable(),
    storage: z.number().int().nullable(),
    price: z.number().int(),
    currency: z.string(),
    how: z.enum(['sold', 'asked']),
    seen: z.iso.date(),
    note: z.string(),
    by: z.string(),
    by_key: z.string(),
    at: timeColumn,
  })
  .transform(
    ({ part_grade: partGrade, by: name, by_key: key, price, currency, ...rest }): SightingRecord => ({
      ...rest,
      partGrade,
      by: { key, name },
      price: moneyOf(price, currency),
    }),
  );

interface SightingFilter {
  model?: number;
  kind?: 'phone' | 'part';
  /** Only those whose price is in another currency than this. */
  notIn?: string;
}

export interface Sightings {
  add(sighting: NewSighting): SightingRecord;
  addMany(sightings: readonly NewSighting[]): SightingRecord[];
  get(number: number): SightingRecord | null;
  /** Newest first, by the day seen and then by number. */
  list(filter?: SightingFilter & { limit?: number }): SightingRecord[];
  count(filter?: SightingFilter): number;
  /** Erased, so that nothing of it is left in the file. */
  remove(number: number): void;
}

export function sightingsOf(sql: Sql, collective: number): Sightings {
  const where = ({ model, kind, notIn }: SightingFilter): [string, (string | number)[]] => {
    const wanted = [
      ...(model === undefined ? [] : ([['model = ?', model]] as const)),
      ...(kind === undefined ? [] : ([['kind = ?', kind]] as const)),
      ...(notIn === undefined ? [] : ([['currency <> ?', notIn]] as const)),
    ];
    return [
      ['collective = ?', ...wanted.map(([condition]) => condition)].join(' AND '),
      [collective, ...wanted.map(([, value]) => value)],
    ];
  };
  const add = (sighting: NewSighting): SightingRecord => {
    const number = sql.nextNumber(collective, 'sighting');
    sql.run(
      `INSERT INTO sightings (collective, ${columns}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      collective,
      number,
      sighting.kind,
      sighting.model,
      sighting.component,
      sighting.partGrade,
      sighting.grade,
      sighting.storage,
      sighting.price.minor,
      sighting.price.currency,
      sighting.how,
      sighting.seen,
      sighting.note,
      sighting.by.name,
      sighting.by.key,
      sighting.at.toISOString(),
    );
    return { number, ...sighting };
  };
  return {
    add,
    addMany: (sightings) => sightings.map(add),
    get: (number) =>
      sql.one(
        sightingRow,
        `SELECT ${columns} FROM sightings WHERE collective = ? AND number = ?`,
        collective,
        number,
      ),
    list: ({ limit, ...filter } = {}) => {
      const [condition, values] = where(filter);
      return sql.all(
        sightingRow,
        `SELECT ${columns} FROM sightings WHERE ${condition} ORDER BY seen DESC, number DESC LIMIT ?`,
        ...values,
        limit ?? -1,
      );
    },
    count: (filter = {}) => {
      const [condition, values] = where(filter);
      return sql.one(numberRow, `SELECT count(*) AS n FROM sightings WHERE ${condition}`, ...values)?.n ?? 0;
    },
    remove: (number) => {
      sql.secureErase('DELETE FROM sightings WHERE collective = ? AND number = ?', collective, number);
    },
  };
}
