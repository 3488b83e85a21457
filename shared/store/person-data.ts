/**
 * What the store holds about one person, and its erasure, by their key. A few records from before keys were kept everywhere
 * carry a name alone that several people went by: whose they are cannot be told, so they are left as they are.
 */
import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import { choicePlace } from './choices.ts';
import { noteCounter, notesOf } from './notes.ts';
import { unseal } from './sealed.ts';
import { numberRow, type Sql } from './sql.ts';
import { forgetInPosts } from './wiped-words.ts';

/** What stands in place of the name of one who left. */
export const ERASED_NAME = 'someone who left';

const cell = z.union([z.string(), z.number(), z.null()]);
const rowSchema = z.record(z.string(), cell);
export type HeldRow = z.infer<typeof rowSchema>;

export const heldKinds = [
  'person',
  'notes',
  'choices',
  'link-words',
  'learned-words',
  'jobs',
  'job-entries',
  'phone-events',
  'cautions-shown',
  'messages-shown',
  'prices',
  'swap-reports',
  'shelf-parts',
  'shelf-moves',
  'photos',
  'bench-readings',
  'traces',
  'trace-steps',
  'named',
] as const;
export type HeldKind = (typeof heldKinds)[number];
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

export function personDataOf(sql: Sql, sealer: Sealer, collective: number): PersonData {
  const rows = (statement: string, ...values: (string | number)[]): HeldRow[] =>
    sql.all(rowSchema, statement, ...values);

  const namesOf = (key: string, name: string): string[] => {
    const found = sql.all(
      nameRow,
      ACTORS.map(
        ([table, nameOf, keyOf]) =>
          `SELECT ${nameOf} AS name FROM ${table} WHERE collective = ? AND ${keyOf} = ?`,
      ).join(' UNION '),
      ...ACTORS.flatMap(() => [collective, key]),
    );
    return [...new Set([name, ...found.map((row) => row.name)])].filter((one) => one !== ERASED_NAME);
  };

  /** Records without a key that carry one of the names. */
  const unkeyedUnder = (names: readonly string[]): Held['unkeyed'] => {
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
  };

  const namedRecords = (key: string): HeldRow[] =>
    rows(
      `WITH mine (place, person) AS (VALUES (?, ?))
       SELECT 'model named' AS what, name AS record, NULL AS seq, at
         FROM models, mine WHERE collective = place AND by_key = person
       UNION ALL SELECT 'model as it was', name, seq, at
         FROM model_versions, mine WHERE collective = place AND by_key = person
       UNION ALL SELECT 'entry struck out', 'job ' || job, seq, struck_at
         FROM job_entries, mine WHERE collective = place AND struck_key = person
       UNION ALL SELECT 'words removed', 'job ' || job, seq, wiped_at
         FROM job_entries, mine WHERE collective = place AND wiped_key = person
       UNION ALL SELECT 'words removed in chat', 'removal ' || number, NULL, at
         FROM removals, mine WHERE collective = place AND by_key = person
       UNION ALL SELECT 'event withdrawn', subject || ' ' || number, seq, withdrawn_at
         FROM phone_events, mine WHERE collective = place AND withdrawn_key = person
       UNION ALL SELECT 'handed over', 'job ' || job, seq, at
         FROM job_entries, mine
         WHERE collective = place AND (entry ->> '$.from.key' = person OR entry ->> '$.to.key' = person)
       UNION ALL SELECT 'closed', 'job ' || number, NULL, ended_at
         FROM jobs, mine WHERE collective = place AND ending ->> '$.by.key' = person
       UNION ALL SELECT 'report set aside', 'swap report ' || number, NULL, aside_at
         FROM swaps, mine WHERE collective = place AND aside_key = person`,
      collective,
      key,
    );

  return {
    read: (key, name) => {
      const names = namesOf(key, name);
      return {
        names,
        unkeyed: unkeyedUnder(names),
        holding: sql
          .all(
            numberRow,
            'SELECT number AS n FROM jobs WHERE collective = ? AND holder_key = ? AND ended IS NULL ORDER BY number',
            collective,
            key,
          )
          .map(({ n }) => n),
        rows: {
          person: rows(
            `SELECT p.key, p.name, p.seen,
               (SELECT 1 FROM homes h WHERE h.person = p.key AND h.collective = p.collective) AS home
             FROM people p WHERE p.collective = ? AND p.key = ?`,
            collective,
            key,
          ),
          notes: notesOf(sql, sealer, collective)
            .list(key)
            .map(({ number, job, at, edited, text }) => ({
              number,
              job,
              at: at.toISOString(),
              edited: edited?.toISOString() ?? null,
              text,
            })),
          choices: rows(
            `SELECT token, label, invoke, subject, made, used FROM choices
             WHERE collective = ? AND person = ? ORDER BY made`,
            collective,
            key,
          ).map(({ token, invoke, ...rest }) => ({
            ...rest,
            invoke: unseal(sealer, choicePlace(String(token)), String(invoke)),
          })),
          'link-words': rows(
            'SELECT at AS given FROM link_words WHERE collective = ? AND by = ?',
            collective,
            key,
          ),
          'learned-words': rows(
            'SELECT phrase, meaning, taken, at FROM learned_words WHERE collective = ? AND by_key = ? ORDER BY at',
            collective,
            key,
          ),
          jobs: rows(
            `SELECT j.number, m.name AS model, j.family, j.came, j.price, j.currency, j.symptoms, j.imei_last,
               j.opened_by, j.at AS opened, j.holder, j.opened_key = ? AS opened_by_you, j.holder_key = ? AS held_by_you,
               j.ended, j.ended_at
             FROM jobs j LEFT JOIN models m ON m.id = j.model
             WHERE j.collective = ? AND (j.opened_key = ? OR j.holder_key = ?) ORDER BY j.number`,
            key,
            key,
            collective,
            key,
            key,
          ),
          'job-entries': rows(
            `SELECT job, seq, entry, by, at, struck_by, struck_at, struck_why FROM job_entries
             WHERE collective = ? AND by_key = ? ORDER BY job, seq`,
            collective,
            key,
          ),
          'phone-events': rows(
            `SELECT subject, number, seq, event, by, at, withdrawn_by, withdrawn_at, withdrawn_why FROM phone_events
             WHERE collective = ? AND by_key = ? ORDER BY subject, number, seq`,
            collective,
            key,
          ),
          'cautions-shown': rows(
            'SELECT subject, number, caution, at FROM cautions_shown WHERE collective = ? AND person = ? ORDER BY at',
            collective,
            key,
          ),
          'messages-shown': rows(
            `SELECT DISTINCT platform, channel, message, at FROM shown_messages
             WHERE collective = ? AND person = ? ORDER BY at`,
            collective,
            key,
          ),
          prices: rows(
            `SELECT s.number, s.kind, m.name AS model, s.component, s.part_grade, s.grade, s.storage, s.price,
               s.currency, s.how, s.seen, s.note, s.by, s.at
             FROM sightings s JOIN models m ON m.id = s.model
             WHERE s.collective = ? AND s.by_key = ? ORDER BY s.number`,
            collective,
            key,
          ),
          'swap-reports': rows(
            `SELECT s.number, s.family, m.name AS model, s.component, s.grade, s.board, s.effect, s.saw, s.mended,
               s.job, s.by, s.at, s.aside_by, s.aside_at, s.aside_why
             FROM swaps s LEFT JOIN models m ON m.id = s.model
             WHERE s.collective = ? AND s.by_key = ? ORDER BY s.number`,
            collective,
            key,
          ),
          'shelf-parts': rows(
            `SELECT p.number, p.component, p.family, m.name AS model, p.grade, p.tested, p.price, p.currency, p.supplier,
               p.donor, p.place, p.due, p.state, p.job, p.by, p.at
             FROM shelf p LEFT JOIN models m ON m.id = p.model
             WHERE p.collective = ? AND p.by_key = ? ORDER BY p.number`,
            collective,
            key,
          ),
          'shelf-moves': rows(
            'SELECT part, seq, move, by, at FROM shelf_moves WHERE collective = ? AND by_key = ? ORDER BY part, seq',
            collective,
            key,
          ),
          'bench-readings': rows(
            `SELECT r.number, m.name AS model, r.kind, r.place, r.value, r.by, r.at
             FROM bench_readings r JOIN models m ON m.id = r.model
             WHERE r.collective = ? AND r.by_key = ? ORDER BY r.number`,
            collective,
            key,
          ),
          traces: rows(
            `SELECT t.number, m.name AS model, t.family, t.symptoms, t.started_by, t.at, t.state
             FROM traces t LEFT JOIN models m ON m.id = t.model
             WHERE t.collective = ? AND t.started_key = ? ORDER BY t.number`,
            collective,
            key,
          ),
          photos: rows(
            'SELECT job, number, moment, at FROM photos WHERE collective = ? AND by_key = ? ORDER BY job, number',
            collective,
            key,
          ),
          'trace-steps': rows(
            `SELECT trace, seq, kind, ref, outcome, reading, by, at, undone FROM trace_steps
             WHERE collective = ? AND by_key = ? ORDER BY trace, seq`,
            collective,
            key,
          ),
          named: namedRecords(key),
        },
      };
    },
    erase: (key, name) => {
      const names = namesOf(key, name);
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
