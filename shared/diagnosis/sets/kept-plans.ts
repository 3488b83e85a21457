/** The plan of a case: recent ones are kept, the same problem has the same plan. */

import { LRUCache } from 'lru-cache';
import type { SetCase } from './set-case.ts';
import { planSets, type SetPlan } from './set-plan.ts';
import type { SetProblem } from './set-problem.ts';

/** Some 0.8 MB each, with what their policies are written from. */
const KEPT_MOST = 60;
const kept = new LRUCache<string, SetPlan>({ max: KEPT_MOST });
/** The same again, by the problem itself: its key takes longer to write than many a plan to look up. */
const keptByProblem = new WeakMap<SetProblem, SetPlan>();

/**
 * Remedies weighed for one plan, so that a step of a trace takes much the same time whatever the size of the problem. A budget
 * many times as large was seen to add little, and the plan is made again after each answer anyway. Chosen by measurement.
 */
const STEPS = 1200;
const MOST_EXPANSIONS = 400;

/** The plan for a case. The same problem gives the same plan, so recent ones are kept. */
export function planOf({ problem }: Pick<SetCase, 'problem'>): SetPlan {
  const known = keptByProblem.get(problem);
  if (known) return known;
  const key = keyOf(problem);
  const found = kept.get(key) ?? planSets(problem, { expansions: MOST_EXPANSIONS, steps: STEPS });
  kept.set(key, found);
  keptByProblem.set(problem, found);
  return found;
}

/** Typed arrays as plain lists, so that equal problems have equal keys. */
const keyOf = (problem: SetProblem): string =>
  JSON.stringify(problem, (_, value: unknown) => (value instanceof Float64Array ? Array.from(value) : value));
