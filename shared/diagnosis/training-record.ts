/** What a closed job teaches. */
import { type DecisionQuestion, type Evidence, oddsOf } from './decision-problem.ts';

/** A share of a job below this is not counted. */
const LEAST_SHARE = 0.005;

export interface TrainingQuestion
  extends Pick<DecisionQuestion, 'knowledge' | 'family' | 'symptoms' | 'evidence'> {
  weights?: ReadonlyMap<string, number>;
  /** The fault that it was; null when nobody knows. */
  fault: string | null;
  /** The remedy that mended it. */
  remedy: string | null;
}

const outcomeOf = (step: Evidence): { id: string; outcome: string } | null => {
  if (step.kind === 'check') return { id: step.id, outcome: step.outcome };
  if (step.kind === 'failed') return { id: step.id, outcome: 'failed' };
  return null;
};

/**
 * A job with a known fault counts as one of it. One without counts for each fault by its odds after all that was seen, so
 * that jobs that were stripped or passed on teach too: counting confirmed ones alone is verification bias (Begg &
 * Greenes 1983). Null when it teaches nothing: no fault known, and no check done that could tell one from another.
 */
export function trainingRecordOf({
  fault,
  remedy,
  evidence,
  ...question
}: TrainingQuestion): TrainingRecord | null {
  const seen = evidence.flatMap((step) => outcomeOf(step) ?? []);
  if (fault === null && seen.length === 0) return null;
  const odds = fault === null ? oddsOf({ ...question, evidence }) : null;
  const shares: (readonly [string, number])[] =
    fault !== null
      ? [[fault, 1]]
      : (odds ?? []).flatMap((one) => (one.share >= LEAST_SHARE ? [[one.fault.id, one.share] as const] : []));
  const total = shares.reduce((sum, [, share]) => sum + share, 0);
  if (total === 0) return null;
  const faults = shares.map(([id, share]) => [id, share / total] as const);
  const all = remedy === null ? seen : [...seen, { id: remedy, outcome: 'works' }];
  return {
    faults,
    outcomes: faults.flatMap(([id, share]) => all.map((step) => [step.id, id, step.outcome, share] as const)),
  };
}

/** What one job teaches. */
export interface TrainingRecord {
  faults: readonly (readonly [fault: string, n: number])[];
  outcomes: readonly (readonly [step: string, fault: string, outcome: string, n: number])[];
}
