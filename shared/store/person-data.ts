/**
 * What the store holds about one person, and its erasure. Most records know a person by their key. Traces, model names and
 * what was struck out carry a name only, so they are found by the names that the person has gone by.
 */
import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import { choicePlace } from './choices.ts';
import { noteCounter, notesOf } from './notes.ts';
import { unseal } from './sealed.ts';
import { numberRow, type Sql } from './sql.ts';

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
  'jobs',
  'job-entries',
  'phone-events',
  'cautions-shown',
  'prices',
  'swap-reports',
  'traces',
  'trace-steps',
  'named',
] as const;
export type HeldKind = (typeof heldKinds)[number];
/** Kinds whose records carry a name and no key. */
export const byNameOnly: readonly HeldKind[] = ['traces', 'trace-steps', 'named'];

export interface Held {
  /** The names that the person has gone by here. */
  names: string[];
  /** Those of the names that somebody else goes by too: what carries them may be somebody else's. */
  shared: string[];
  rows: Readonly<Record<HeldKind, HeldRow[]>>;
  /** Open jobs that the person holds. */
  holding: number[];
}

export interface PersonData {
  read(key: string, name: string): Held;
  /**
   * Erases notes, choices, link words, the person's own row and their home. In what the collective keeps, the name becomes
   * {@link ERASED_NAME} and the key a random one, another in each record. Records that carry a name only are left as they are
   * under a name that somebody else goes by too; says how many those are. What weekly posts said of them is forgotten, so that
   * they are put right where that is still done.
   */
  erase(key: string, name: string): { left: number };
}

/** Names by key, wherever both are kept. */
const KEYED = [
  ['people', 'name', 'key'],
  ['jobs', 'opened_by', 'opened_key'],
  ['jobs', 'holder', 'holder_key'],
  ['job_entries', 'by', 'by_key'],
  ['phone_events', 'by', 'by_key'],
  ['sightings', 'by', 'by_key'],
  ['swaps', 'by', 'by_key'],
] as const;
/** Columns that hold a name and no key. */
const NAMED = [
  ['traces', 'started_by'],
  ['trace_steps', 'by'],
  ['models', 'by'],
  ['job_entries', 'struck_by'],
  ['phone_events', 'withdrawn_by'],
  ['swaps', 'aside_by'],
] as const;
/** Names within JSON. A change of a closed job counts as one, so that a weekly post that names it is put right. */
const NAMED_IN_JSON = [
  ['jobs', 'ending', '$.by', ', revision = revision + 1'],
  ['job_entries', 'entry', '$.from', ''],
  ['job_entries', 'entry', '$.to', ''],
] as const;

const nameRow = z.object({ name: z.string() });
const RANDOM_KEY = "'left:' || lower(hex(randomblob(12)))";
const anyOf = '(SELECT value FROM json_each(?))';

export function personDataOf(sql: Sql, sealer: Sealer, collective: number): PersonData {
  const rows = (statement: string, ...values: (string | number)[]): HeldRow[] =>
    sql.all(rowSchema, statement, ...values);

  const namesOf = (key: string, name: string): { names: string[]; shared: string[] } => {
    const named = (mine: boolean): string[] =>
      sql
        .all(
          nameRow,
          KEYED.map(
            ([table, nameColumn, keyColumn]) =>
              `SELECT ${nameColumn} AS name FROM ${table} WHERE collective = ? AND ${keyColumn} ${mine ? '=' : '<>'} ?`,
          ).join(' UNION '),
          ...KEYED.flatMap(() => [collective, key]),
        )
        .map((row) => row.name);
    const names = [...new Set([name, ...named(true)])].filter((one) => one !== ERASED_NAME);
    const others = new Set(named(false));
    return { names, shared: names.filter((one) => others.has(one)) };
  };

  const namedRecords = (names: string): HeldRow[] =>
    rows(
      `WITH mine (place) AS (VALUES (?)), name (value) AS (SELECT value FROM json_each(?))
       SELECT 'model named' AS what, name AS record, NULL AS seq, at
         FROM models, mine WHERE collective = place AND by IN name
       UNION ALL SELECT 'entry struck out', 'job ' || job, seq, struck_at
         FROM job_entries, mine WHERE collective = place AND struck_by IN name
       UNION ALL SELECT 'event withdrawn', subject || ' ' || number, seq, withdrawn_at
         FROM phone_events, mine WHERE collective = place AND withdrawn_by IN name
       UNION ALL SELECT 'handed over', 'job ' || job, seq, at
         FROM job_entries, mine WHERE collective = place AND (entry ->> '$.from' IN name OR entry ->> '$.to' IN name)
       UNION ALL SELECT 'closed', 'job ' || number, NULL, ended_at
         FROM jobs, mine WHERE collective = place AND ending ->> '$.by' IN name
       UNION ALL SELECT 'report set aside', 'swap report ' || number, NULL, aside_at
         FROM swaps, mine WHERE collective = place AND aside_by IN name`,
      collective,
      names,
    );

  return {
    read: (key, name) => {
      const { names, shared } = namesOf(key, name);
      const asJson = JSON.stringify(names);
      return {
        names,
        shared,
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
          traces: rows(
            `SELECT t.number, m.name AS model, t.family, t.symptoms, t.started_by, t.at, t.state
             FROM traces t LEFT JOIN models m ON m.id = t.model
             WHERE t.collective = ? AND t.started_by IN ${anyOf} ORDER BY t.number`,
            collective,
            asJson,
          ),
          'trace-steps': rows(
            `SELECT trace, seq, kind, ref, outcome, reading, by, at, undone FROM trace_steps
             WHERE collective = ? AND by IN ${anyOf} ORDER BY trace, seq`,
            collective,
            asJson,
          ),
          named: namedRecords(asJson),
        },
      };
    },
    erase: (key, name) => {
      const { names, shared } = namesOf(key, name);
      const own = JSON.stringify(names.filter((one) => !shared.includes(one)));
      notesOf(sql, sealer, collective).eraseOfPerson(key);
      sql.secureErase('DELETE FROM counters WHERE collective = ? AND kind = ?', collective, noteCounter(key));
      sql.secureErase('DELETE FROM choices WHERE collective = ? AND person = ?', collective, key);
      sql.secureErase('DELETE FROM link_words WHERE collective = ? AND by = ?', collective, key);
      sql.secureErase('DELETE FROM cautions_shown WHERE collective = ? AND person = ?', collective, key);
      sql.secureErase('DELETE FROM people WHERE collective = ? AND key = ?', collective, key);
      sql.secureErase('DELETE FROM homes WHERE collective = ? AND person = ?', collective, key);
      for (const [table, nameColumn, keyColumn] of KEYED) {
        if (table === 'people') continue;
        sql.secureErase(
          `UPDATE ${table} SET ${nameColumn} = ?, ${keyColumn} = ${RANDOM_KEY} WHERE collective = ? AND ${keyColumn} = ?`,
          ERASED_NAME,
          collective,
          key,
        );
      }
      for (const [table, column] of NAMED) {
        sql.secureErase(
          `UPDATE ${table} SET ${column} = ? WHERE collective = ? AND ${column} IN ${anyOf}`,
          ERASED_NAME,
          collective,
          own,
        );
      }
      for (const [table, column, path, more] of NAMED_IN_JSON) {
        sql.secureErase(
          `UPDATE ${table} SET ${column} = json_set(${column}, '${path}', ?)${more}
           WHERE collective = ? AND ${column} ->> '${path}' IN ${anyOf}`,
          ERASED_NAME,
          collective,
          own,
        );
      }
      // The clock puts a post right whose words are gone, while it is one that is still put right.
      for (const one of names)
        sql.secureErase(
          "UPDATE week_posts SET said = '' WHERE collective = ? AND instr(said, ?) > 0",
          collective,
          JSON.stringify(one).slice(1, -1),
        );
      const left = [
        ...NAMED.map(
          ([table, column]) =>
            `SELECT count(*) AS n FROM ${table} WHERE collective = ? AND ${column} IN ${anyOf}`,
        ),
        ...NAMED_IN_JSON.map(
          ([table, column, path]) =>
            `SELECT count(*) AS n FROM ${table} WHERE collective = ? AND ${column} ->> '${path}' IN ${anyOf}`,
        ),
      ].reduce(
        (total, statement) =>
          total + (sql.one(numberRow, statement, collective, JSON.stringify(shared))?.n ?? 0),
        0,
      );
      return { left };
    },
  };
}
