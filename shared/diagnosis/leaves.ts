import type { Plan } from './plan.ts';
import { bestStop, type Policy } from './policy.ts';
import type { Problem, Tally } from './problem.ts';

/** One way a job can end. */
export interface Leaf {
  /** Chance of ending so; over all leaves they sum to 1. */
  readonly chance: number;
  /** Money spent by then. */
  readonly cost: number;
  /** Mean of the tally spent by then (minutes, say); 0 without a tally. */
  readonly spent: number;
  readonly end:
    | { readonly kind: 'restored'; readonly remedy: string; readonly worth: number }
    /** value: mean over `faultShare` of the stop's value by fault. */
    | { readonly kind: 'stop'; readonly stop: string; readonly value: number };
  /** Chance of each fault given this end; sums to 1. */
  readonly faultShare: Float64Array;
}

/**
 * The exact distribution of how a plan ends. Ends with the same cost (to 1e-9) and the same remedy or stop are
 * one leaf; since `faultShare` is kept nothing about the money is lost. The sum of chance * (worth or value -
 * cost) is the plan's `value`: ECR = sum over leaves P(leaf) cost(leaf) (Heckerman, Breese & Rommelse 1995),
 * for a net.
 */
export function leaves(plan: Plan, tally?: Tally): Leaf[] {
  return policyLeaves(plan.problem, plan.policy, tally);
}

/** The same for any policy. A stop in the policy is taken as it stands, even where another stop is worth more. */
export function policyLeaves(problem: Problem, policy: Policy, tally?: Tally): Leaf[] {
  const found = new Map<string, Ending>();
  const add = (kind: 'restored' | 'stop', at: number, cost: number, spent: number, w: Float64Array): void => {
    let chance = 0;
    for (let f = 0; f < w.length; f++) chance += w[f] ?? 0;
    if (!(chance > 0)) return;
    const key = `${kind} ${at} ${Math.round(cost * 1e9)}`;
    const have = found.get(key);
    if (have === undefined) {
      found.set(key, { kind, at, cost, chance, spent: spent * chance, w: w.slice() });
      return;
    }
    have.chance += chance;
    have.spent += spent * chance;
    for (let f = 0; f < w.length; f++) have.w[f] = (have.w[f] ?? 0) + (w[f] ?? 0);
  };
  const { access } = problem;
  const walk = (at: Policy, w: Float64Array, level: number, cost: number, spent: number): void => {
    if (at.kind === 'stop') {
      add('stop', at.stop, cost, spent, w);
      return;
    }
    const step = at.kind === 'check' ? problem.checks[at.check] : problem.remedies[at.remedy];
    if (step === undefined) throw new RangeError('the policy names a step that the problem does not have');
    let paid = cost + step.cost;
    let used = spent;
    if (tally !== undefined)
      used += (at.kind === 'check' ? tally.checks[at.check] : tally.remedies[at.remedy]) ?? 0;
    for (let k = level; k < step.level; k++) {
      paid += access[k] ?? 0;
      used += tally?.access[k] ?? 0;
    }
    const reached = Math.max(level, step.level);
    if (at.kind === 'remedy') {
      const works = problem.remedies[at.remedy]?.works ?? [];
      add(
        'restored',
        at.remedy,
        paid,
        used,
        w.map((weight, f) => weight * (works[f] ?? 0)),
      );
      const left = w.map((weight, f) => weight * (1 - (works[f] ?? 0)));
      if (left.some((weight) => weight > 0)) walk(at.failed, left, reached, paid, used);
      return;
    }
    const given = problem.checks[at.check]?.given ?? [];
    at.branches.forEach((branch, o) => {
      const left = w.map((weight, f) => weight * (given[f]?.[o] ?? 0));
      if (!left.some((weight) => weight > 0)) return;
      walk(branch ?? { kind: 'stop', stop: bestStop(problem, left).stop }, left, reached, paid, used);
    });
  };
  walk(
    policy,
    Float64Array.from(problem.faults, (fault) => fault.prior),
    problem.level,
    0,
    0,
  );
  return [...found.values()].map((ending) => finish(problem, ending));
}

/** Expected net of a policy, and the mean cost and tally that it takes. */
export function policyMeans(
  problem: Problem,
  policy: Policy,
  tally?: Tally,
): { net: number; cost: number; spent: number } {
  const means = { net: 0, cost: 0, spent: 0 };
  for (const leaf of policyLeaves(problem, policy, tally)) {
    const worth = leaf.end.kind === 'restored' ? leaf.end.worth : leaf.end.value;
    means.net += leaf.chance * (worth - leaf.cost);
    means.cost += leaf.chance * leaf.cost;
    means.spent += leaf.chance * leaf.spent;
  }
  return means;
}

interface Ending {
  kind: 'restored' | 'stop';
  at: number;
  cost: number;
  chance: number;
  spent: number;
  w: Float64Array;
}

function finish(problem: Problem, ending: Ending): Leaf {
  const { chance, cost, at } = ending;
  const faultShare = ending.w.map((weight) => weight / chance);
  const spent = ending.spent / chance;
  if (ending.kind === 'restored') {
    const remedy = problem.remedies[at];
    return {
      chance,
      cost,
      spent,
      end: { kind: 'restored', remedy: remedy?.id ?? '', worth: remedy?.worth ?? 0 },
      faultShare,
    };
  }
  const stop = problem.stops[at];
  const value = stop?.byFault.reduce((sum, worth, f) => sum + worth * (faultShare[f] ?? 0), 0) ?? 0;
  return { chance, cost, spent, end: { kind: 'stop', stop: stop?.id ?? '', value }, faultShare };
}
