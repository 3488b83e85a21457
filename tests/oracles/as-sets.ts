/**
 * A problem with exactly one hidden fault, put to the planner of several faults: published results are of that kind. The
 * hypotheses are each fault alone, and nothing wrong, which no belief is given to at first.
 */
import { planSets, type SetPlan, type SetPlanOptions } from '../../shared/diagnosis/sets/set-plan.ts';
import type { SetPolicy } from '../../shared/diagnosis/sets/set-policy.ts';
import type { SetProblem } from '../../shared/diagnosis/sets/set-problem.ts';
import type { Problem } from './one-fault/problem.ts';

export interface OneFaultPlan extends Pick<SetPlan, 'exact' | 'action' | 'expansions'> {
  problem: Problem;
  /** Net as the problem has it. */
  value: number;
  upper: number;
  alternatives: SetPlan['alternatives'];
  policy: SetPolicy;
}

/** Raised by so much, every end is worth something, and selling it broken, which brings nothing, is never better. */
const raiseOf = ({ remedies, stops }: Problem): number =>
  1 - Math.min(0, ...remedies.map(({ worth }) => worth), ...stops.flatMap(({ byFault }) => byFault));

function asSets(problem: Problem): SetProblem {
  const { faults, checks, remedies, access, level, stops } = problem;
  const raise = raiseOf(problem);
  const value = raise + Math.max(0, ...remedies.map(({ worth }) => worth));
  return {
    faults: faults.map(({ id }) => id),
    hypotheses: [
      { faults: [], weight: 0 },
      ...faults.map(({ prior }, f) => ({ faults: [f], weight: prior })),
    ],
    complaints: [{ id: 'broken', keeps: 0, chance: [0, ...faults.map(() => 1)] }],
    checks: checks.map(({ id, cost, level: at, outcomes, given }) => ({
      id,
      cost,
      level: at,
      outcomes,
      forms: [
        {
          needs: 1,
          not: 0,
          given: outcomes.map((_, o) => [o === 0 ? 1 : 0, ...given.map((row) => row[o] ?? 0)]),
        },
      ],
    })),
    remedies: remedies.map(({ id, cost, level: at, worth, works }) => ({
      id,
      cost,
      level: at,
      works,
      keeps: (worth + raise) / value,
      when: [{ needs: 1, not: 0 }],
    })),
    access,
    level,
    value,
    ends: stops.map(({ id, byFault }) => ({ id, value: [0, ...byFault.map((one) => one + raise)] })),
  };
}

/** The plan of the bot's own planner, in the problem's money. */
export function plan(problem: Problem, options: SetPlanOptions = {}): OneFaultPlan {
  const { value, upper, exact, action, expansions, alternatives, policy } = planSets(
    asSets(problem),
    options,
  );
  const raise = raiseOf(problem);
  return {
    problem,
    value: value - raise,
    upper: upper - raise,
    exact,
    action,
    expansions,
    alternatives: alternatives.map((one) => ({
      ...one,
      lower: one.lower - raise,
      expected: one.expected - raise,
      upper: one.upper - raise,
    })),
    policy,
  };
}

/** The first steps of a plan along the branch where nothing helps: ids of remedies. */
export function remediesInOrder({ problem, policy }: OneFaultPlan): string[] {
  const ids: string[] = [];
  for (let at: SetPolicy | undefined = policy; at?.kind === 'remedy'; at = at.branches.get(1))
    ids.push(problem.remedies[at.remedy]?.id ?? '');
  return ids;
}

/** What a check is worth more than the best plan without any: 0 where none pays. */
export const valueOfChecks = (found: OneFaultPlan): number =>
  found.value - plan({ ...found.problem, checks: [] }).value;

/** A plan in words: `K1 (low: RB, strip; ok: RC, strip)`, where what comes behind a remedy is for when it does not help. */
export function policyWords({ problem, policy }: OneFaultPlan): string {
  const words = (at: SetPolicy | null | undefined): string => {
    if (!at) return '-';
    if (at.kind === 'end') return at.end < 0 ? 'sell' : (problem.stops[at.end]?.id ?? '?');
    if (at.kind === 'remedy')
      return `${problem.remedies[at.remedy]?.id ?? '?'}, ${words(at.branches.get(1))}`;
    const check = problem.checks[at.check];
    const branches = at.branches.map((next, o) => `${check?.outcomes[o] ?? '?'}: ${words(next)}`);
    return `${check?.id ?? '?'} (${branches.join('; ')})`;
  };
  return words(policy);
}
