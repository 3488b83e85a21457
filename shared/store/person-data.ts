/**
 * What the store holds about one person, and its erasure, by their key. A few records from before keys were kept everywhere
 * carry a name alone that several people went by: whose they are cannot be told, so they are left as they are.
 */
import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import { type HeldKind, type HeldRow, heldRows } from './held-rows.ts';
import { noteCounter, notesOf } from './notes.ts';
import { numberRow, type Sql } from './sql.ts';
import { forgetInPosts } from './wiped-words.ts';

/** What stands in place of the name of one who left. */
export const ERASED_NAME = 'someone who left';

export interface Held {
  /** The names that the person has gone by here. */
  names: string[];
  /** Records under one of the names without a key, which are not among the rows: they may be somebody else's. */
  unkeyed: { names: string[]; records: number };
  rows: Readonly<Record<HeldKind, HeldRow[]>>;
  /** Open jobs that the person holds. */
  holding: number[];
}

export interface PersonData {
  read(key: string, name: string): Held;
  /**
   * Erases notes, choices, link words, what their own words were learnt to mean, the person's own row and their home. In what the collective keeps, the name becomes
   * {@link ERASED_NAME} and the key a random one, another in each record. What weekly posts
   * said of them is forgotten, so that they are put right where that is still done.
   */
  erase(key: string, name: string): void;
}

/** Names with their keys: table, name, key. */
const IN_COLUMNS = [
  ['people', 'name', 'key'],
  ['jobs', 'opened_by', 'opened_key'],
  ['jobs', 'holder', 'holder_key'],
  ['job_entries', 'by', 'by_key'],
  ['job_entries', 'struck_by', 'struck_key'],
  ['job_entries', 'wiped_by', 'wiped_key'],
  ['phone_events', 'by', 'by_key'],
  ['phone_events', 'withdrawn_by', 'withdrawn_key'],
  ['sightings', 'by', 'by_key'],
  ['swaps', 'by', 'by_key'],
  ['swaps', 'aside_by', 'aside_key'],
  ['shelf', 'by', 'by_key'],
  ['shelf_moves', 'by', 'by_key'],
  ['bench_readings', 'by', 'by_key'],
  ['traces', 'started_by', 'started_key'],
  ['trace_steps', 'by', 'by_key'],
  ['models', 'by', 'by_key'],
  ['model_versions', 'by', 'by_key'],
  ['removals', 'by', 'by_key'],
  ['words_wiped', 'by', 'by_key'],
  ['job_channels', 'by', 'by_key'],
] as const;
/** Actors within JSON. A change of a closed job counts as one, so that a weekly post that names it is put right. */
const IN_JSON = [
  ['jobs', 'ending', '$.by', ', revision = revision + 1'],
  ['job_entries', 'entry', '$.from', ''],
  ['job_entries', 'entry', '$.to', ''],
] as const;
/** The same, as expressions for table, name and key. */
const ACTORS: readonly (readonly [table: string, name: string, key: string])[] = [
  ...IN_COLUMNS,
  ...IN_JSON.map(
    ([table, column, path]) =>
      [table, `${column} ->> '${path}.name'`, `${column} ->> '${path}.key'`] as const,
  ),
];

const nameRow = z.object({ name: z.string() });
const RANDOM_KEY = "'left:' || lower(hex(randomblob(12)))";

/** The one they go by now, and those in their records. */
function namesOf(sql: Sql, collective: number, key: string, name: string): string[] {
  const found = sql.all(
    nameRow,
    ACTORS.map(
      ([table, nameOf, keyOf]) =>
        `SELECT ${nameOf} AS name FROM ${table} WHERE collective = ? AND ${keyOf} = ?`,
    ).join(' UNION '),
    ...ACTORS.flatMap(() => [collective, key]),
  );
  return [...new Set([name, ...found.map((row) => row.name)])].filter((one) => one !== ERASED_NAME);
}

/** Records without a key that carry one of the names. */
function unkeyedUnder(sql: Sql, collective: number, names: readonly string[]): Held['unkeyed'] {
  const counts = names.flatMap((name) => {
    const n = ACTORS.reduce(
      (total, [table, nameOf, keyOf]) =>
        total +
        (sql.one(
          numberRow,
          `SELECT count(*) AS n FROM ${table} WHERE collective = ? AND ${keyOf} IS NULL AND ${nameOf} = ?`,
          collective,
          name,
        )?.n ?? 0),
      0,
    );
    return n ? [{ name, n }] : [];
  });
  return { names: counts.map(({ name }) => name), records: counts.reduce((sum, { n }) => sum + n, 0) };
}

export function personDataOf(sql: Sql, sealer: Sealer, collective: number): PersonData {
  return {
    read: (key, name) => {
      const names = namesOf(sql, collective, key, name);
      return {
        names,
        unkeyed: unkeyedUnder(sql, collective, names),
        holding: sql
          .all(
            numberRow,
            'SELECT number AS n FROM jobs WHERE collective = ? AND holder_key = ? AND ended IS NULL ORDER BY number',
            collective,
            key,
          )
          .map(({ n }) => n),
        rows: heldRows(sql, sealer, collective, key),
      };
    },
    erase: (key, name) => {
      const names = namesOf(sql, collective, key, name);
      notesOf(sql, sealer, collective).eraseOfPerson(key);
      sql.secureErase('DELETE FROM counters WHERE collective = ? AND kind = ?', collective, noteCounter(key));
      sql.secureErase('DELETE FROM choices WHERE collective = ? AND person = ?', collective, key);
      sql.secureErase('DELETE FROM link_words WHERE collective = ? AND by = ?', collective, key);
      sql.secureErase('DELETE FROM photos WHERE collective = ? AND by_key = ?', collective, key);
      sql.secureErase('DELETE FROM learned_words WHERE collective = ? AND by_key = ?', collective, key);
      sql.secureErase('DELETE FROM cautions_shown WHERE collective = ? AND person = ?', collective, key);
      sql.secureErase('DELETE FROM shown_messages WHERE collective = ? AND person = ?', collective, key);
      sql.secureErase('DELETE FROM people WHERE collective = ? AND key = ?', collective, key);
      sql.secureErase('DELETE FROM homes WHERE collective = ? AND person = ?', collective, key);
      for (const [table, nameColumn, keyColumn] of IN_COLUMNS) {
        if (table === 'people') continue;
        sql.secureErase(
          `UPDATE ${table} SET ${nameColumn} = ?, ${keyColumn} = ${RANDOM_KEY} WHERE collective = ? AND ${keyColumn} = ?`,
          ERASED_NAME,
          collective,
          key,
        );
      }
      for (const [table, column, path, more] of IN_JSON) {
        sql.secureErase(
          `UPDATE ${table} SET ${column} =
             json_set(${column}, '${path}', json_object('key', ${RANDOM_KEY}, 'name', ?))${more}
           WHERE collective = ? AND ${column} ->> '${path}.key' = ?`,
          ERASED_NAME,
          collective,
          key,
        );
      }
      for (const one of names) forgetInPosts(sql, collective, one);
    },
  };
}
