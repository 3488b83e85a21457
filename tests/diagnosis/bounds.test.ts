/** The bounds and the order of repair, worked out again from their definitions by plain code. */
import { expect, it } from 'vitest';
import { upperBound } from '../../shared/diagnosis/bounds.ts';
import { policyMeans } from '../../shared/diagnosis/leaves.ts';
import { plan } from '../../shared/diagnosis/plan.ts';
import type { Policy } from '../../shared/diagnosis/policy.ts';
import type { Problem } from '../../shared/diagnosis/problem.ts';
import { repairOrder } from '../../shared/diagnosis/repair-order.ts';
import { exactNet } from '../oracles/exact-net.ts';
import { knownFaultNet } from '../oracles/known-fault-net.ts';
import { randomProblem } from './random-problem.ts';

const sum = (list: readonly number[]) => list.reduce((a, b) => a + b, 0);
const problems = Array.from({ length: 240 }, (_, seed): Problem => {
  const size = { faults: 1 + (seed % 5), checks: seed % 4, remedies: (seed >> 2) % 6 };
  return { ...randomProblem(900_000 + seed, size), level: seed % 7 === 0 ? 1 : seed % 11 === 0 ? 2 : 0 };
});
/** As these, with remedies that are certain for what they mend. */
const certain = Array.from({ length: 60 }, (_, seed): Problem => {
  const size = { faults: 1 + (seed % 5), checks: seed % 3, remedies: 1 + ((seed >> 2) % 6) };
  const problem = randomProblem(910_000 + seed, size);
  const remedies = problem.remedies.map((one) => ({ ...one, works: one.works.map((p) => (p > 0 ? 1 : 0)) }));
  return { ...problem, remedies };
});
const climb = ({ access }: Problem, from: number, to: number) => sum(access.slice(from, Math.max(from, to)));
/** Net when the fault is known: the exact best of the same problem with this fault alone, at a level, without some remedies. */
function known(problem: Problem, f: number, level: number, without: readonly number[] = []): number {
  const net = exactNet({
    ...problem,
    level,
    checks: [],
    faults: problem.faults.slice(f, f + 1).map((fault) => ({ ...fault, prior: 1 })),
    remedies: problem.remedies
      .filter((_, r) => !without.includes(r))
      .map((remedy) => ({ ...remedy, works: remedy.works.slice(f, f + 1) })),
    stops: problem.stops.map((stop) => ({ ...stop, byFault: stop.byFault.slice(f, f + 1) })),
  });
  if (net === null) throw new Error('no limit was set');
  return net;
}

it('the net with the fault known is the mean of the best for each fault alone', () => {
  for (const problem of problems) {
    const wanted = sum(problem.faults.map(({ prior }, f) => prior * known(problem, f, problem.level)));
    expect(Math.abs(knownFaultNet(problem) - wanted)).toBeLessThan(1e-8);
  }
});

it('the upper bound is its formula: one step, then the fault known', () => {
  for (const problem of problems) {
    const { faults, remedies, checks, stops, level: start } = problem;
    const prior = faults.map((fault) => fault.prior);
    const at = (level: number) => sum(prior.map((p, f) => p * known(problem, f, level)));
    const bounds = stops.map(({ byFault }) => sum(byFault.map((worth, f) => worth * (prior[f] ?? 0))));
    for (const check of checks) {
      // A check with the same chances under every fault tells nothing and is left out.
      if (check.given.every((row) => row.every((chance, o) => chance === check.given[0]?.[o]))) continue;
      const level = Math.max(start, check.level);
      bounds.push(at(level) - check.cost - climb(problem, start, level));
    }
    remedies.forEach((remedy, r) => {
      if (!remedy.works.some((works) => works > 0)) return;
      const level = Math.max(start, remedy.level);
      const after = prior.map((p, f) => {
        const works = remedy.works[f] ?? 0;
        // A remedy that cannot mend the fault leaves it as it was.
        const rest = known(problem, f, level, works > 0 ? [r] : []);
        return p * (works * remedy.worth + (1 - works) * rest);
      });
      bounds.push(sum(after) - remedy.cost - climb(problem, start, level));
    });
    const wanted = Math.min(Math.max(...bounds), at(start));
    expect(Math.abs(upperBound(problem) - wanted)).toBeLessThan(1e-8);
  }
});

/** Remedies by worth - cost / P(works), sorted again after each failure, up to the best point to give up. */
function byIndex({ faults, remedies, stops, access, level: start }: Problem, withAccess: boolean) {
  let w = faults.map((fault) => fault.prior);
  const stop = () => Math.max(...stops.map(({ byFault }) => sum(byFault.map((v, f) => v * (w[f] ?? 0)))));
  const left = new Set(remedies.keys());
  let [net, level] = [0, start];
  let best = { net: stop(), done: 0 };
  const order: number[] = [];
  for (;;) {
    const mass = sum(w);
    const ranked = [...left].flatMap((r) => {
      const remedy = remedies[r];
      const chance = sum(w.map((one, f) => one * (remedy?.works[f] ?? 0)));
      if (!remedy || chance <= 1e-13 || mass <= 1e-13) return [];
      const cost = remedy.cost + (withAccess ? sum(access.slice(level, Math.max(level, remedy.level))) : 0);
      return [{ r, remedy, chance, index: remedy.worth - (cost * mass) / chance }];
    });
    const first = ranked.sort((a, b) => b.index - a.index || a.r - b.r)[0];
    if (!first) return { ...best, order };
    const { r, remedy, chance } = first;
    net +=
      remedy.worth * chance - mass * (remedy.cost + sum(access.slice(level, Math.max(level, remedy.level))));
    level = Math.max(level, remedy.level);
    w = w.map((one, f) => one * (1 - (remedy.works[f] ?? 0)));
    left.delete(r);
    order.push(r);
    if (net + stop() > best.net + 1e-12) best = { net: net + stop(), done: order.length };
  }
}

it('the order of repair is the better of the two indices, with and without access', () => {
  let [apart, shared] = [0, 0];
  for (const problem of [...problems, ...certain]) {
    const [one, other] = [byIndex(problem, true), byIndex(problem, false)];
    const found = repairOrder(problem);
    const best = other.net > one.net + 1e-12 ? other : one;
    expect(Math.abs(found.net - best.net)).toBeLessThan(1e-8);
    expect(found.remedies).toEqual(best.order.slice(0, best.done).map((r) => problem.remedies[r]?.id));
    if (best === other) shared += 1;
    if (one.net !== other.net) apart += 1;
    // It can be followed: played out, the remedies in that order and then the best stop leave just this.
    const policies = problem.stops.map((_, s) =>
      best.order
        .slice(0, best.done)
        .reduceRight<Policy>((failed, remedy) => ({ kind: 'remedy', remedy, failed }), {
          kind: 'stop',
          stop: s,
        }),
    );
    expect(Math.max(...policies.map((policy) => policyMeans(problem, policy).net))).toBeCloseTo(found.net, 8);
    expect(policyMeans(problem, found.policy).net).toBeCloseTo(found.net, 8);
  }
  expect(apart).toBeGreaterThan(0);
  expect(shared).toBeGreaterThan(0);
});

/** The problem after a step: without it, as deep as it needs, with these weights of the faults scaled to 1. */
function rest(problem: Problem, step: { id: string; level: number }, weights: readonly number[]): Problem {
  const total = sum(weights);
  return {
    ...problem,
    level: Math.max(problem.level, step.level),
    faults: problem.faults.map((fault, f) => ({ ...fault, prior: (weights[f] ?? 0) / total })),
    checks: problem.checks.filter(({ id }) => id !== step.id),
    remedies: problem.remedies.filter(({ id }) => id !== step.id),
  };
}

it('after one look, each first step has the bounds of what it leads to', () => {
  for (const problem of problems) {
    const prior = problem.faults.map((fault) => fault.prior);
    const found = plan(problem, { expansions: 1 });
    const bounds = found.alternatives.map(({ action: { kind, id }, lower, upper }) => {
      if (kind === 'stop') return lower;
      let [low, high, first] = [0, 0, 0];
      const add = (step: { id: string; level: number }, weights: readonly number[]) => {
        const [total, next] = [sum(weights), rest(problem, step, weights)];
        low += total * repairOrder(next).net;
        high += total * Math.max(repairOrder(next).net, upperBound(next));
      };
      const check = problem.checks.find((one) => one.id === id);
      const r = problem.remedies.findIndex((one) => one.id === id);
      const remedy = problem.remedies[r];
      if (kind === 'check' && check) {
        const level = Math.max(problem.level, check.level);
        const base = -check.cost - climb(problem, problem.level, level);
        check.outcomes.forEach((_, o) => {
          add(
            check,
            prior.map((p, f) => p * (check.given[f]?.[o] ?? 0)),
          );
        });
        first = base + sum(prior.map((p, f) => p * known(problem, f, level)));
        low += base;
        high += base;
      } else if (kind === 'remedy' && remedy) {
        const level = Math.max(problem.level, remedy.level);
        const base =
          remedy.worth * sum(prior.map((p, f) => p * (remedy.works[f] ?? 0))) -
          remedy.cost -
          climb(problem, problem.level, level);
        const weights = prior.map((p, f) => p * (1 - (remedy.works[f] ?? 0)));
        add(remedy, weights);
        // A remedy that cannot mend the fault is not used up for it: the bound is no lower for that.
        first = base + sum(weights.map((w, f) => w * known(problem, f, level, remedy.works[f] ? [r] : [])));
        low += base;
        high += base;
      }
      expect(Math.abs(lower - low)).toBeLessThan(1e-8);
      const bound = Math.max(low, Math.min(high, first));
      expect(Math.abs(upper - Math.min(bound, found.upper))).toBeLessThan(1e-8);
      return bound;
    });
    // And the whole: the best of these, or the repair order, within the bound from before.
    const repair = repairOrder(problem).net;
    const whole = Math.min(Math.max(repair, ...bounds), Math.max(repair, upperBound(problem)));
    expect(Math.abs(found.upper - Math.max(found.value, whole))).toBeLessThan(1e-8);
  }
});

it('equal remedies stand in the order of the problem', () => {
  const remedy = (id: string) => ({ id, cost: 1, level: 0, worth: 100, works: [0.5] });
  const problem: Problem = {
    faults: [{ id: 'x', prior: 1 }],
    checks: [],
    remedies: ['c', 'a', 'd', 'b'].map(remedy),
    access: [],
    level: 0,
    stops: [{ id: 'pass', byFault: [0] }],
  };
  const found = repairOrder(problem);
  expect(found.remedies).toEqual(['c', 'a', 'd', 'b']);
  // 15 in 16 are mended; the second is tried in a half of the jobs, the third in a quarter, the last in an eighth.
  expect(found.net).toBeCloseTo((100 * 15) / 16 - (1 + 1 / 2 + 1 / 4 + 1 / 8), 12);
});

it('does not give up on what the opening has already paid for', () => {
  const problem: Problem = {
    faults: [
      { id: 'a', prior: 0.5 },
      { id: 'b', prior: 0.5 },
    ],
    checks: [],
    remedies: [
      { id: 'fit-a', cost: 0, level: 1, worth: 100, works: [1, 0] },
      { id: 'fit-b', cost: 0, level: 1, worth: 100, works: [0, 1] },
    ],
    access: [90],
    level: 0,
    stops: [
      { id: 'pass', byFault: [0, 0] },
      { id: 'strip', byFault: [-5, -5] },
    ],
  };
  // 50 - 90 after the first, and 50 more: neither pays for the opening alone.
  expect(repairOrder(problem)).toMatchObject({ net: 10, remedies: ['fit-a', 'fit-b'] });
  expect(repairOrder({ ...problem, access: [101] })).toMatchObject({ net: 0, remedies: [] });
  expect(repairOrder({ ...problem, access: [101] }).policy).toEqual({ kind: 'stop', stop: 0 });
});

it('ends in the best stop for what is left, and not later than pays', () => {
  const problem: Problem = {
    faults: [
      { id: 'a', prior: 0.75 },
      { id: 'b', prior: 0.25 },
    ],
    checks: [],
    remedies: [
      { id: 'fit-a', cost: 10, level: 0, worth: 100, works: [1, 0] },
      { id: 'never', cost: 0, level: 0, worth: 500, works: [0, 0] },
    ],
    access: [],
    level: 0,
    stops: [
      { id: 'sell-a', byFault: [40, 0] },
      { id: 'sell-b', byFault: [0, 20] },
    ],
  };
  // At once the first stop is worth 30, the other 5; after the remedy only b is left.
  const found = repairOrder(problem);
  expect(found.net).toBeCloseTo(75 - 10 + 5, 12);
  expect(found.policy).toEqual({ kind: 'remedy', remedy: 0, failed: { kind: 'stop', stop: 1 } });
  // Mended in half of the jobs only, more of a is left than of b: 37.5 - 10, and .375 x 40.
  const half = {
    ...problem,
    remedies: problem.remedies.map((one) => ({ ...one, works: [one.cost / 20, 0] })),
  };
  expect(repairOrder(half).net).toBeCloseTo(42.5, 12);
  expect(repairOrder(half).policy).toMatchObject({ remedy: 0, failed: { kind: 'stop', stop: 0 } });
  // A remedy that never works is not there at all.
  expect(plan(problem).alternatives.map(({ action }) => action.id)).toEqual(['fit-a', 'sell-a', 'sell-b']);
  // One that brings just what it costs is not tried: 75 + 5 - 50 is the 30 of stopping at once.
  const even = { ...problem, remedies: problem.remedies.map((one) => ({ ...one, cost: 50 })) };
  expect(repairOrder(even)).toEqual({ net: 30, remedies: [], policy: { kind: 'stop', stop: 0 } });
});

it('more remedies for one fault than are counted as failed leave the bound a bound', () => {
  const problem: Problem = {
    faults: [{ id: 'x', prior: 1 }],
    checks: [],
    remedies: Array.from({ length: 13 }, (_, r) => ({
      id: `r${r}`,
      cost: 1,
      level: r % 2,
      worth: 50 + r,
      works: [0.3],
    })),
    access: [4],
    level: 0,
    stops: [{ id: 'pass', byFault: [0] }],
  };
  const best = exactNet(problem) ?? Number.NaN;
  expect(knownFaultNet(problem)).toBeCloseTo(best, 9);
  for (const expansions of [1, 8, 60]) {
    const found = plan(problem, { expansions });
    expect(found.upper).toBeGreaterThanOrEqual(best - 1e-9);
    expect(found.value).toBeLessThanOrEqual(best + 1e-9);
  }
});
