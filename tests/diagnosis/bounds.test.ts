/** The bounds and the order of repair, worked out again from their definitions by plain code. */
import { expect, it } from 'vitest';
import { knownFaultNet, upperBound } from '../../shared/diagnosis/bounds.ts';
import { exactNet } from '../../shared/diagnosis/exact.ts';
import { policyMeans } from '../../shared/diagnosis/leaves.ts';
import type { Policy } from '../../shared/diagnosis/policy.ts';
import type { Problem } from '../../shared/diagnosis/problem.ts';
import { repairOrder } from '../../shared/diagnosis/repair-order.ts';
import { randomProblem } from './random-problem.ts';

const sum = (list: readonly number[]) => list.reduce((a, b) => a + b, 0);
const problems = Array.from({ length: 240 }, (_, seed): Problem => {
  const size = { faults: 1 + (seed % 5), checks: seed % 4, remedies: (seed >> 2) % 6 };
  return { ...randomProblem(900_000 + seed, size), level: seed % 7 === 0 ? 1 : seed % 11 === 0 ? 2 : 0 };
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
  for (const problem of problems) {
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
  }
  expect(apart).toBeGreaterThan(0);
  expect(shared).toBeGreaterThan(0);
});
