/** What a closed job teaches. */
import type { Fault, Remedy } from '../../knowledge/schema.ts';
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
 * A job with a known fault counts as one of it. One without counts for each fault by its odds after all that was seen, times
 * P(the remedy works | fault) where one has mended it: that a remedy worked does not tell which of its faults it was. Jobs
 * that were stripped or passed on teach so too: counting confirmed ones alone is verification bias (Begg & Greenes 1983).
 * The odds of a guess are to be the pack's own: odds that guesses have moved drift away with them. Null when it teaches nothing: no fault known, and no check done that could tell one from another.
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
      : guesses(odds ?? [], remedy === null ? undefined : question.knowledge.remedies.get(remedy));
  const total = shares.reduce((sum, [, share]) => sum + share, 0);
  if (total === 0) return null;
  const faults = shares.map(([id, share]) => [id, share / total] as const);
  const all = remedy === null ? seen : [...seen, { id: remedy, outcome: 'works' }];
  return {
    faults,
    outcomes: faults.flatMap(([id, share]) => all.map((step) => [step.id, id, step.outcome, share] as const)),
  };
}

/** Shares of the faults that it may have been, of those that the remedy can mend where one has. */
function guesses(
  odds: readonly { fault: Fault; share: number }[],
  remedy: Remedy | undefined,
): (readonly [string, number])[] {
  const mended = odds.map(({ fault, share }) => [fault.id, share * (remedy?.works[fault.id] ?? 0)] as const);
  const total = mended.reduce((sum, [, share]) => sum + share, 0);
  const shares =
    total > 0
      ? mended.map(([id, share]) => [id, share / total] as const)
      : odds.map(({ fault, share }) => [fault.id, share] as const);
  return shares.filter(([, share]) => share >= LEAST_SHARE);
}

/** What one job teaches. */
export interface TrainingRecord {
  faults: readonly (readonly [fault: string, n: number])[];
  outcomes: readonly (readonly [step: string, fault: string, outcome: string, n: number])[];
}
