/** What the store holds about one person by kind, as it is shown to them. */
import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import { choicePlace } from './choices.ts';
import { notesOf } from './notes.ts';
import { unseal } from './sealed.ts';
import type { Sql } from './sql.ts';

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
  'bench-readings',
  'traces',
  'trace-steps',
  'photos',
  'named',
] as const;
export type HeldKind = (typeof heldKinds)[number];

/** Each takes the collective and the person's key. */
const STATEMENTS: Readonly<Record<Exclude<HeldKind, 'notes' | 'jobs'>, string>> = {
  person: `SELECT p.key, p.name, p.seen,
               (SELECT 1 FROM homes h WHERE h.person = p.key AND h.collective = p.collective) AS home
             FROM people p WHERE p.collective = ? AND p.key = ?`,
  choices: `SELECT token, label, invoke, subject, made, used FROM choices
             WHERE collective = ? AND person = ? ORDER BY made`,
  'link-words': 'SELECT at AS given FROM link_words WHERE collective = ? AND by = ?',
  'learned-words':
    'SELECT phrase, meaning, taken, at FROM learned_words WHERE collective = ? AND by_key = ? ORDER BY at',
  'job-entries': `SELECT job, seq, entry, by, at, struck_by, struck_at, struck_why FROM job_entries
             WHERE collective = ? AND by_key = ? ORDER BY job, seq`,
  'phone-events': `SELECT subject, number, seq, event, by, at, withdrawn_by, withdrawn_at, withdrawn_why FROM phone_events
             WHERE collective = ? AND by_key = ? ORDER BY subject, number, seq`,
  'cautions-shown':
    'SELECT subject, number, caution, at FROM cautions_shown WHERE collective = ? AND person = ? ORDER BY at',
  'messages-shown': `SELECT DISTINCT platform, channel, message, at FROM shown_messages
             WHERE collective = ? AND person = ? ORDER BY at`,
  prices: `SELECT s.number, s.kind, m.name AS model, s.component, s.part_grade, s.grade, s.storage, s.price,
               s.currency, s.how, s.seen, s.note, s.by, s.at
             FROM sightings s JOIN models m ON m.id = s.model
             WHERE s.collective = ? AND s.by_key = ? ORDER BY s.number`,
  'swap-reports': `SELECT s.number, s.family, m.name AS model, s.component, s.grade, s.board, s.effect, s.saw, s.mended,
               s.job, s.by, s.at, s.aside_by, s.aside_at, s.aside_why
             FROM swaps s LEFT JOIN models m ON m.id = s.model
             WHERE s.collective = ? AND s.by_key = ? ORDER BY s.number`,
  'shelf-parts': `SELECT p.number, p.component, p.family, m.name AS model, p.grade, p.tested, p.price, p.currency, p.supplier,
               p.donor, p.place, p.due, p.state, p.job, p.by, p.at
             FROM shelf p LEFT JOIN models m ON m.id = p.model
             WHERE p.collective = ? AND p.by_key = ? ORDER BY p.number`,
  'shelf-moves':
    'SELECT part, seq, move, by, at FROM shelf_moves WHERE collective = ? AND by_key = ? ORDER BY part, seq',
  'bench-readings': `SELECT r.number, m.name AS model, r.kind, r.place, r.value, r.by, r.at
             FROM bench_readings r JOIN models m ON m.id = r.model
             WHERE r.collective = ? AND r.by_key = ? ORDER BY r.number`,
  traces: `SELECT t.number, m.name AS model, t.family, t.symptoms, t.started_by, t.at, t.state
             FROM traces t LEFT JOIN models m ON m.id = t.model
             WHERE t.collective = ? AND t.started_key = ? ORDER BY t.number`,
  'trace-steps': `SELECT trace, seq, kind, ref, outcome, reading, by, at, undone FROM trace_steps
             WHERE collective = ? AND by_key = ? ORDER BY trace, seq`,
  photos:
    'SELECT job, number, moment, at FROM photos WHERE collective = ? AND by_key = ? ORDER BY job, number',
  named: `WITH mine (place, person) AS (VALUES (?, ?))
       SELECT 'model named' AS what, name AS record, NULL AS seq, at
         FROM models, mine WHERE collective = place AND by_key = person
       UNION ALL SELECT 'model as it was', name, seq, at
         FROM model_versions, mine WHERE collective = place AND by_key = person
       UNION ALL SELECT 'entry struck out', 'job ' || job, seq, struck_at
         FROM job_entries, mine WHERE collective = place AND struck_key = person
       UNION ALL SELECT 'words removed', 'job ' || job, seq, wiped_at
         FROM job_entries, mine WHERE collective = place AND wiped_key = person
       UNION ALL SELECT 'words removed', record, seq, at
         FROM words_wiped, mine WHERE collective = place AND by_key = person
       UNION ALL SELECT 'words removed in chat', 'removal ' || number, NULL, at
         FROM removals, mine WHERE collective = place AND by_key = person
       UNION ALL SELECT 'place of the jobs chosen', platform, NULL, at
         FROM job_channels, mine WHERE collective = place AND by_key = person
       UNION ALL SELECT 'event withdrawn', subject || ' ' || number, seq, withdrawn_at
         FROM phone_events, mine WHERE collective = place AND withdrawn_key = person
       UNION ALL SELECT 'handed over', 'job ' || job, seq, at
         FROM job_entries, mine
         WHERE collective = place AND (entry ->> '$.from.key' = person OR entry ->> '$.to.key' = person)
       UNION ALL SELECT 'closed', 'job ' || number, NULL, ended_at
         FROM jobs, mine WHERE collective = place AND ending ->> '$.by.key' = person
       UNION ALL SELECT 'report set aside', 'swap report ' || number, NULL, aside_at
         FROM swaps, mine WHERE collective = place AND aside_key = person`,
};
const JOBS = `SELECT j.number, m.name AS model, j.family, j.came, j.price, j.currency, j.symptoms, j.imei_last,
               j.opened_by, j.at AS opened, j.holder, j.opened_key = ? AS opened_by_you, j.holder_key = ? AS held_by_you,
               j.ended, j.ended_at
             FROM jobs j LEFT JOIN models m ON m.id = j.model
             WHERE j.collective = ? AND (j.opened_key = ? OR j.holder_key = ?) ORDER BY j.number`;

const notesHeld = (sql: Sql, sealer: Sealer, collective: number, key: string): HeldRow[] =>
  notesOf(sql, sealer, collective)
    .list(key)
    .map(({ number, job, at, edited, text }) => ({
      number,
      job,
      at: at.toISOString(),
      edited: edited?.toISOString() ?? null,
      text,
    }));

export function heldRows(
  sql: Sql,
  sealer: Sealer,
  collective: number,
  key: string,
): Readonly<Record<HeldKind, HeldRow[]>> {
  const rows = (kind: keyof typeof STATEMENTS) => sql.all(rowSchema, STATEMENTS[kind], collective, key);
  return {
    person: rows('person'),
    notes: notesHeld(sql, sealer, collective, key),
    choices: rows('choices').map(({ token, invoke, ...rest }) => ({
      ...rest,
      invoke: unseal(sealer, choicePlace(String(token)), String(invoke)),
    })),
    'link-words': rows('link-words'),
    'learned-words': rows('learned-words'),
    jobs: sql.all(rowSchema, JOBS, key, key, collective, key, key),
    'job-entries': rows('job-entries'),
    'phone-events': rows('phone-events'),
    'cautions-shown': rows('cautions-shown'),
    'messages-shown': rows('messages-shown'),
    prices: rows('prices'),
    'swap-reports': rows('swap-reports'),
    'shelf-parts': rows('shelf-parts'),
    'shelf-moves': rows('shelf-moves'),
    'bench-readings': rows('bench-readings'),
    traces: rows('traces'),
    'trace-steps': rows('trace-steps'),
    photos: rows('photos'),
    named: rows('named'),
  };
}
