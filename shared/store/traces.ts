import { z } from 'zod';
import type { Actor } from '../people/actor.ts';
import { jsonColumn, type Sql, timeColumn } from './sql.ts';

const stepKinds = [
  'check',
  'remedy',
  'cannot',
  'shown',
  'denied',
  'good',
  'reached',
  'damage',
  'words',
  'confirm',
  'stop',
  'end',
] as const;

/** One thing said in a trace. Steps are only ever added; one taken back is marked `undone`. */
interface TraceStep {
  /** From 1 within its trace. */
  seq: number;
  kind: (typeof stepKinds)[number];
  /**
   * Id of the check or remedy; of the symptoms that are shown or denied, of the components that are known to be good, with
   * commas; the component that is damaged; the access level that was reached; or what was confirmed. Of `words` nothing.
   */
  ref: string;
  /** Of a check its outcome; of a remedy `works` (all is gone), `partly` or `failed` (no change). */
  outcome: string | null;
  /** As it was typed; of a remedy that mended part of it the ids that are gone, with commas; what was said. */
  reading: string | null;
  by: Actor;
  at: Date;
  undone: boolean;
}

export interface TraceRecord {
  /** Counted from 1 in each collective. */
  number: number;
  /** Id of a family of the pack. */
  family: string;
  model: number | null;
  /** Ids of symptoms. */
  symptoms: string[];
  startedBy: Actor;
  at: Date;
  state: 'open' | 'ended';
  /** Goes up by one at every change. */
  revision: number;
  steps: TraceStep[];
}

const traceColumns = 'number, family, model, symptoms, started_by, started_key, at, state, revision';
const traceRow = z
  .object({
    number: z.number().int(),
    family: z.string(),
    model: z.number().int().nullable(),
    symptoms: jsonColumn(z.array(z.string())),
    started_by: z.string(),
    started_key: z.string().nullable(),
    at: timeColumn,
    state: z.enum(['open', 'ended']),
    revision: z.number().int(),
  })
  .transform(({ started_by: name, started_key: key, ...rest }) => ({ ...rest, startedBy: { key, name } }));
const stepColumns = 'seq, kind, ref, outcome, reading, by, by_key, at, undone';
const stepRow = z
  .object({
    seq: z.number().int(),
    kind: z.enum(stepKinds),
    ref: z.string(),
    outcome: z.string().nullable(),
    reading: z.string().nullable(),
    by: z.string(),
    by_key: z.string().nullable(),
    at: timeColumn,
    undone: z.number().transform((flag) => flag === 1),
  })
  .transform(({ by: name, by_key: key, ...rest }) => ({ ...rest, by: { key, name } }));

export interface Traces {
  start(trace: Pick<TraceRecord, 'family' | 'model' | 'symptoms' | 'startedBy' | 'at'>): TraceRecord;
  get(number: number): TraceRecord | null;
  /** Newest first. */
  listOpen(): TraceRecord[];
  /** These three throw when the trace is not open. */
  add(number: number, step: Omit<TraceStep, 'seq' | 'undone'>): TraceRecord;
  /** Takes the last step back that is not taken back yet; throws when there is none. */
  undoLast(number: number): TraceRecord;
  end(number: number): TraceRecord;
  /** Leaves nothing in the file of the words that these steps kept; also where the trace has ended. */
  wipe(number: number, seqs: readonly number[]): void;
}

function findingTraces(sql: Sql, collective: number): Pick<Traces, 'get' | 'listOpen'> {
  const withSteps = (trace: z.infer<typeof traceRow>): TraceRecord => ({
    ...trace,
    steps: sql.all(
      stepRow,
      `SELECT ${stepColumns} FROM trace_steps WHERE collective = ? AND trace = ? ORDER BY seq`,
      collective,
      trace.number,
    ),
  });
  return {
    get: (number) => {
      const trace = sql.one(
        traceRow,
        `SELECT ${traceColumns} FROM traces WHERE collective = ? AND number = ?`,
        collective,
        number,
      );
      return trace && withSteps(trace);
    },
    listOpen: () =>
      sql
        .all(
          traceRow,
          `SELECT ${traceColumns} FROM traces WHERE collective = ? AND state = 'open' ORDER BY number DESC`,
          collective,
        )
        .map(withSteps),
  };
}

function wipeSteps(sql: Sql, collective: number, trace: number, seqs: readonly number[]): void {
  sql.run('UPDATE traces SET revision = revision + 1 WHERE collective = ? AND number = ?', collective, trace);
  for (const seq of seqs)
    sql.secureErase(
      `UPDATE trace_steps SET reading = NULL
       WHERE collective = ? AND trace = ? AND seq = ? AND kind = 'words'`,
      collective,
      trace,
      seq,
    );
}

export function tracesOf(sql: Sql, collective: number): Traces {
  const found = findingTraces(sql, collective);
  const must = (number: number): TraceRecord => {
    const trace = found.get(number);
    if (!trace) throw new Error(`there is no trace ${number}`);
    return trace;
  };
  const change = (number: number, state: TraceRecord['state'] = 'open'): void => {
    const changed = sql.run(
      `UPDATE traces SET revision = revision + 1, state = ?
       WHERE collective = ? AND number = ? AND state = 'open'`,
      state,
      collective,
      number,
    );
    if (!changed) throw new Error(`trace ${number} is not open`);
  };
  return {
    ...found,
    start: ({ family, model, symptoms, startedBy, at }) => {
      const number = sql.nextNumber(collective, 'trace');
      sql.run(
        `INSERT INTO traces (collective, ${traceColumns}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, 'open', 1)`,
        collective,
        number,
        family,
        model,
        JSON.stringify(symptoms),
        startedBy.name,
        startedBy.key,
        at.toISOString(),
      );
      return must(number);
    },
    add: (number, { kind, ref, outcome, reading, by, at }) => {
      change(number);
      sql.run(
        `INSERT INTO trace_steps (collective, trace, ${stepColumns})
         SELECT ?, ?, 1 + coalesce(max(seq), 0), ?, ?, ?, ?, ?, ?, ?, 0
         FROM trace_steps WHERE collective = ? AND trace = ?`,
        collective,
        number,
        kind,
        ref,
        outcome,
        reading,
        by.name,
        by.key,
        at.toISOString(),
        collective,
        number,
      );
      return must(number);
    },
    undoLast: (number) => {
      change(number);
      const undone = sql.run(
        `UPDATE trace_steps SET undone = 1 WHERE collective = ? AND trace = ? AND seq =
           (SELECT max(seq) FROM trace_steps WHERE collective = ? AND trace = ? AND undone = 0)`,
        collective,
        number,
        collective,
        number,
      );
      if (!undone) throw new Error(`trace ${number} has no step to take back`);
      return must(number);
    },
    end: (number) => {
      change(number, 'ended');
      return must(number);
    },
    wipe: (number, seqs) => wipeSteps(sql, collective, number, seqs),
  };
}
