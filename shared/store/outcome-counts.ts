import { LRUCache } from 'lru-cache';
import { z } from 'zod';
import type { OutcomeCounts } from '../diagnosis/learned-model.ts';
import type { TrainingRecord } from '../diagnosis/training-record.ts';
import { numberRow, type Sql } from './sql.ts';

export interface OutcomeCountStore {
  read(): OutcomeCounts;
  /** Adds what a closed job taught (`sign` 1), or takes it back (-1). */
  record(family: string, taught: TrainingRecord, confirmed: boolean, sign: 1 | -1): void;
}

const faultRow = z.object({ family: z.string(), fault: z.string(), n: z.number() });
const outcomeRow = z.object({ step: z.string(), fault: z.string(), outcome: z.string(), n: z.number() });
const familyRow = z.object({
  family: z.string(),
  closed: z.number().int(),
  confirmed: z.number().int(),
});

type LastRead = LRUCache<number, { revision: number; lessons: OutcomeCounts }>;
/**
 * The counts of the collectives that asked last, with the revision they were read at: they change at the end of a job only.
 * What was learnt from them is kept as long as they are.
 */
const lastRead = new WeakMap<Sql, LastRead>();
const MOST_COLLECTIVES = 100;

const inner = <K, V>(map: Map<string, Map<K, V>>, key: string): Map<K, V> => {
  const found = map.get(key) ?? new Map<K, V>();
  map.set(key, found);
  return found;
};

function countsInFile(sql: Sql, collective: number): OutcomeCounts {
  const faults = new Map<string, Map<string, number>>();
  for (const { family, fault, n } of sql.all(
    faultRow,
    'SELECT family, fault, n FROM fault_counts WHERE collective = ?',
    collective,
  ))
    inner(faults, family).set(fault, n);
  const outcomes = new Map<string, Map<string, Map<string, number>>>();
  for (const { step, fault, outcome, n } of sql.all(
    outcomeRow,
    'SELECT step, fault, outcome, n FROM outcome_counts WHERE collective = ?',
    collective,
  ))
    inner(inner(outcomes, step), fault).set(outcome, n);
  const jobs = sql.all(
    familyRow,
    'SELECT family, closed, confirmed FROM family_jobs WHERE collective = ?',
    collective,
  );
  return { faults, outcomes, jobs: new Map(jobs.map(({ family, ...rest }) => [family, rest])) };
}

/** Adds what was taught, or takes it back: `sign` is 1 or -1. No count goes below 0. */
function addCounts(
  sql: Sql,
  collective: number,
  family: string,
  { faults, outcomes }: TrainingRecord,
  confirmed: boolean,
  sign: 1 | -1,
): void {
  for (const [fault, n] of faults) {
    sql.run(
      `INSERT INTO fault_counts (collective, family, fault, n) VALUES (?, ?, ?, ?)
           ON CONFLICT DO UPDATE SET n = max(0, n + excluded.n)`,
      collective,
      family,
      fault,
      sign * n,
    );
  }
  for (const [step, fault, outcome, n] of outcomes) {
    sql.run(
      `INSERT INTO outcome_counts (collective, step, fault, outcome, n) VALUES (?, ?, ?, ?, ?)
           ON CONFLICT DO UPDATE SET n = max(0, n + excluded.n)`,
      collective,
      step,
      fault,
      outcome,
      sign * n,
    );
  }
  sql.run(
    `INSERT INTO family_jobs (collective, family, closed, confirmed) VALUES (?, ?, ?, ?)
         ON CONFLICT DO UPDATE SET closed = max(0, closed + excluded.closed),
           confirmed = max(0, confirmed + excluded.confirmed)`,
    collective,
    family,
    sign,
    confirmed ? sign : 0,
  );
}

export function outcomeCountsOf(sql: Sql, collective: number): OutcomeCountStore {
  /** Something was taught in this very transaction, which may yet be rolled back: nothing is kept then. */
  let changed = false;
  const revision = (): number =>
    sql.one(
      numberRow,
      `SELECT coalesce((SELECT last FROM counters WHERE collective = ? AND kind = 'lesson'), 0) AS n`,
      collective,
    )?.n ?? 0;
  return {
    read: () => {
      if (changed) return countsInFile(sql, collective);
      const kept: LastRead = lastRead.get(sql) ?? new LRUCache({ max: MOST_COLLECTIVES });
      lastRead.set(sql, kept);
      const now = revision();
      const before = kept.get(collective);
      if (before?.revision === now) return before.lessons;
      const lessons = countsInFile(sql, collective);
      kept.set(collective, { revision: now, lessons });
      return lessons;
    },
    record: (family, taught, confirmed, sign) => {
      changed = true;
      sql.nextNumber(collective, 'lesson');
      addCounts(sql, collective, family, taught, confirmed, sign);
    },
  };
}
