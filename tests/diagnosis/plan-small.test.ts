/** The plan's claims on small problems, each against plain dynamic programming or worked out by hand. */
import { describe, expect, it } from 'vitest';
import { policyMeans } from '../../shared/diagnosis/leaves.ts';
import {
  defaultExpansions,
  gainOverStopping,
  type Plan,
  plan,
  valueOfInformation,
} from '../../shared/diagnosis/plan.ts';
import type { CheckSpec, Problem } from '../../shared/diagnosis/problem.ts';
import { exactNet } from '../oracles/exact-net.ts';
import { randomProblem, seeded } from './random-problem.ts';

const sum = (list: readonly number[]) => list.reduce((a, b) => a + b, 0);
const exact = (problem: Problem): number => {
  const net = exactNet(problem);
  if (net === null) throw new Error('no limit was set');
  return net;
};
const climb = ({ access, level }: Problem, to: number) => sum(access.slice(level, Math.max(level, to)));
/** The problem with these weights of the faults; those that cannot be are left out. */
function given(problem: Problem, weights: readonly number[]): Problem {
  const total = sum(weights);
  const keep = <T>(list: readonly T[]): T[] => list.filter((_, f) => (weights[f] ?? 0) > 0);
  return {
    ...problem,
    faults: keep(problem.faults.map((fault, f) => ({ ...fault, prior: (weights[f] ?? 0) / total }))),
    checks: problem.checks.map((check) => ({ ...check, given: keep(check.given) })),
    remedies: problem.remedies.map((remedy) => ({ ...remedy, works: keep(remedy.works) })),
    stops: problem.stops.map((stop) => ({ ...stop, byFault: keep(stop.byFault) })),
  };
}
/** What a first step brings with the very best plan after it. */
function after(problem: Problem, kind: string, id: string): number {
  const prior = problem.faults.map((fault) => fault.prior);
  const stop = problem.stops.find((one) => one.id === id);
  if (kind === 'stop' && stop) return sum(prior.map((p, f) => p * (stop.byFault[f] ?? 0)));
  const step = [...problem.checks, ...problem.remedies].find((one) => one.id === id);
  if (!step) throw new Error(id);
  const next = {
    ...problem,
    level: Math.max(problem.level, step.level),
    checks: problem.checks.filter((one) => one !== step),
    remedies: problem.remedies.filter((one) => one !== step),
  };
  const rest = (weights: number[]) => (sum(weights) > 0 ? sum(weights) * exact(given(next, weights)) : 0);
  const cost = step.cost + climb(problem, step.level);
  if ('given' in step)
    return sum(step.outcomes.map((_, o) => rest(prior.map((p, f) => p * (step.given[f]?.[o] ?? 0))))) - cost;
  return (
    step.worth * sum(prior.map((p, f) => p * (step.works[f] ?? 0))) +
    rest(prior.map((p, f) => p * (1 - (step.works[f] ?? 0)))) -
    cost
  );
}

/** As the random problems, but half of the chances are none or certain, and some numbers are the same. */
function plainProblem(seed: number, size: Parameters<typeof randomProblem>[1]): Problem {
  const problem = randomProblem(seed, size);
  const random = seeded(seed + 5);
  return {
    ...problem,
    level: seed % 5 === 0 ? 1 : 0,
    checks: problem.checks.map((check, c) => ({
      ...check,
      cost: Math.round(check.cost),
      given: check.given.map((row, f) => {
        if (random() < 0.35) return row;
        const only = (f + c) % row.length;
        return row.map((_, o) => (o === only ? 1 : 0));
      }),
    })),
    remedies: problem.remedies.map((remedy) => ({
      ...remedy,
      cost: Math.round(remedy.cost),
      works: remedy.works.map((works) => (works > 0.6 ? 1 : works)),
    })),
  };
}
const scenes = Array.from({ length: 90 }, (_, seed) => {
  const size = { faults: 2 + (seed % 4), checks: seed % 4, remedies: (seed >> 2) % 4 };
  return seed % 3 === 0 ? randomProblem(seed + 70_000, size) : plainProblem(seed + 70_000, size);
});

describe('small problems', () => {
  it('every first step is shown with bounds that hold for it, whatever the budget', () => {
    for (const problem of scenes) {
      for (const options of [{ expansions: 1 }, { expansions: 3 }, { expansions: 4000 }]) {
        const found = plan(problem, options);
        const telling = problem.checks.filter(
          (check) => !check.given.every((row) => row.every((p, o) => p === check.given[0]?.[o])),
        );
        const able = problem.remedies.filter((remedy) => remedy.works.some((works) => works > 0));
        expect(found.alternatives.map(({ action: { kind, id } }) => `${kind} ${id}`).sort()).toEqual(
          [
            ...problem.stops.map(({ id }) => `stop ${id}`),
            ...telling.map(({ id }) => `check ${id}`),
            ...able.map(({ id }) => `remedy ${id}`),
          ].sort(),
        );
        for (const { action, lower, upper } of found.alternatives) {
          const best = after(problem, action.kind, action.id);
          expect(lower).toBeLessThanOrEqual(best + 1e-7);
          // No first step is said to bring more than the whole plan may.
          expect(upper).toBeGreaterThanOrEqual(Math.min(best, found.upper) - 1e-7);
          expect(upper).toBeLessThanOrEqual(found.upper + 1e-9);
        }
      }
    }
  });

  it('the policy brings what the plan says, in the mean over all its ways', () => {
    for (const problem of scenes)
      for (const expansions of [1, 2, 5, 4000]) {
        const found = plan(problem, { expansions });
        expect(Math.abs(policyMeans(problem, found.policy).net - found.value)).toBeLessThan(1e-8);
        expect(found.gap).toBe(found.upper - found.value);
        expect(found.expansions).toBeLessThanOrEqual(expansions);
        expect(found.alternatives[0]?.lower).toBeCloseTo(found.value, 7);
        if (expansions === 4000) {
          expect(found.exact).toBe(true);
          expect(Math.abs(found.value - exact(problem))).toBeLessThan(1e-6);
        }
      }
  });

  it('alternatives stand best first, and the chosen one before its equals', () => {
    for (const problem of scenes) {
      const { alternatives, action } = plan(problem);
      expect(alternatives[0]?.action).toEqual(action);
      const lower = alternatives.map((one) => one.lower);
      lower.slice(1).forEach((one, i) => {
        expect(one).toBeLessThanOrEqual((lower[i] ?? Number.NaN) + 1e-6);
      });
    }
  });
});

describe('many outcomes and many checks', () => {
  /** A check that sets one fault apart from the others. */
  const apart = (id: string, which: number, of: number, cost: number): CheckSpec => ({
    id,
    cost,
    level: 0,
    outcomes: ['is', 'not'],
    given: Array.from({ length: of }, (_, f) => (f === which ? [1, 0] : [0, 1])),
  });
  const remedies = (of: number) =>
    Array.from({ length: of }, (_, r) => ({
      id: `r${r}`,
      cost: 60,
      level: 0,
      worth: 100,
      works: Array.from({ length: of }, (_, f) => (f === r ? 1 : 0)),
    }));
  const faults = (of: number) => Array.from({ length: of }, (_, f) => ({ id: `f${f}`, prior: 1 / of }));
  const stops = (of: number) => [{ id: 'pass', byFault: Array.from({ length: of }, () => 0) }];

  it('seven cheap checks, each for one of eight faults, are asked one after the other', () => {
    const problem: Problem = {
      faults: faults(8),
      checks: Array.from({ length: 7 }, (_, c) => apart(`c${c}`, c, 8, 1)),
      remedies: remedies(8),
      access: [],
      level: 0,
      stops: stops(8),
    };
    // 40 for each fault. Asked in any order: 1 with 8 faults left, 2 with 7, ... and all 7 for the last two.
    const asked = (1 + 2 + 3 + 4 + 5 + 6 + 7 + 7) / 8;
    const found = plan(problem, { expansions: 20_000 });
    expect(found.value).toBeCloseTo(40 - asked, 9);
    expect(found.exact).toBe(true);
    expect(policyMeans(problem, found.policy).net).toBeCloseTo(found.value, 9);
  });

  it.each([7, 8, 9, 12])('a check with %d outcomes tells each fault by its own', (n) => {
    const naming: CheckSpec = {
      id: 'naming',
      cost: 3,
      level: 0,
      outcomes: Array.from({ length: n }, (_, o) => `o${o}`),
      given: Array.from({ length: n }, (_, f) => Array.from({ length: n }, (_, o) => (o === f ? 1 : 0))),
    };
    const problem: Problem = {
      faults: faults(n),
      checks: [apart('c0', 0, n, 2.9), naming, apart('c1', 1, n, 2.9)],
      remedies: remedies(n),
      access: [],
      level: 0,
      stops: stops(n),
    };
    const found = plan(problem);
    expect(found.action).toEqual({ kind: 'check', id: 'naming' });
    expect(found.value).toBeCloseTo(37, 9);
    expect(valueOfInformation(found)).toBeGreaterThan(0);
    expect(policyMeans(problem, found.policy).net).toBeCloseTo(37, 9);
    if (found.policy.kind !== 'check') throw new Error('no check');
    expect(found.policy.branches).toHaveLength(n);
    found.policy.branches.forEach((branch, f) => {
      expect(branch).toMatchObject({ kind: 'remedy', remedy: f });
    });
  });

  it('what was answered is kept apart: many-valued checks in a row agree with plain dynamic programming', () => {
    for (let seed = 0; seed < 12; seed++) {
      const random = seeded(seed + 900);
      const n = 4;
      const wide = (id: string, outcomes: number): CheckSpec => ({
        id,
        cost: 0.5 + random(),
        level: 0,
        outcomes: Array.from({ length: outcomes }, (_, o) => `o${o}`),
        given: Array.from({ length: n }, () => {
          const row = Array.from({ length: outcomes }, () => random() ** 4);
          const total = sum(row);
          return row.map((p) => p / total);
        }),
      });
      const sizes = seed % 2 === 0 ? [2, 3, 2, 2, 2, 3] : [2, 8, 3];
      const problem: Problem = {
        faults: faults(n),
        checks: sizes.map((size, c) => wide(`c${c}`, size)),
        remedies: remedies(n).slice(0, 3),
        access: [],
        level: 0,
        stops: stops(n),
      };
      const found = plan(problem, { expansions: 3000 });
      const best = exact(problem);
      expect(found.value).toBeLessThanOrEqual(best + 1e-7);
      expect(found.upper).toBeGreaterThanOrEqual(best - 1e-7);
      expect(found.value).toBeGreaterThan(best - 0.3);
      expect(Math.abs(policyMeans(problem, found.policy).net - found.value)).toBeLessThan(1e-8);
    }
  });
});

describe('by hand', () => {
  /** Even odds; one check tells all; each remedy mends its fault for certain. */
  const problem: Problem = {
    faults: [
      { id: 'a', prior: 0.5 },
      { id: 'b', prior: 0.5 },
    ],
    checks: [
      {
        id: 'ask',
        cost: 4,
        level: 1,
        outcomes: ['a', 'b'],
        given: [
          [1, 0],
          [0, 1],
        ],
      },
    ],
    remedies: [
      { id: 'fit-a', cost: 20, level: 1, worth: 100, works: [1, 0] },
      { id: 'fit-b', cost: 30, level: 2, worth: 100, works: [0, 1] },
    ],
    access: [6, 10],
    level: 0,
    stops: [
      { id: 'strip', byFault: [10, 30] },
      { id: 'pass', byFault: [0, 0] },
    ],
  };
  // Ask: -6 - 4, then 80 for a, and 100 - 30 - 10 = 60 for b: 70 in the mean, 60 in all.
  // Fit a at once: -6 - 20, 100 in half of the jobs, then b for 60 in the others: 50 + 30 - 26 = 54.
  // Fit b at once: -16 - 30, then a for 80: 50 + 40 - 46 = 44. Strip: 20.
  it('bounds, gains and what it is worth to know', () => {
    const found = plan(problem);
    // One look settles it: what asking leads to is certain.
    expect(found).toMatchObject({ exact: true, expansions: 1, action: { kind: 'check', id: 'ask' } });
    expect(
      found.alternatives.map(({ action: { id }, lower }) => [id, Math.round(lower * 1e9) / 1e9]),
    ).toEqual([
      ['ask', 60],
      ['fit-a', 54],
      ['fit-b', 44],
      ['strip', 20],
      ['pass', 0],
    ]);
    expect(valueOfInformation(found)).toBeCloseTo(6, 9);
    expect(
      gainOverStopping(found).map(({ action: { id }, gain }) => [id, Math.round(gain * 1e9) / 1e9]),
    ).toEqual([
      ['ask', 40],
      ['fit-a', 34],
      ['fit-b', 24],
      ['strip', 0],
      ['pass', -20],
    ]);
    expect(found.policy).toEqual({
      kind: 'check',
      check: 0,
      branches: [
        { kind: 'remedy', remedy: 0, failed: { kind: 'stop', stop: 0 } },
        { kind: 'remedy', remedy: 1, failed: { kind: 'stop', stop: 0 } },
      ],
    });
  });

  it('a check that costs just what it gains is not proposed; a cent less and it is', () => {
    const asking = (cost: number) =>
      plan({ ...problem, checks: problem.checks.map((check) => ({ ...check, cost })) });
    // At 10 asking brings 54, as fitting a does.
    const equal = asking(10);
    expect(equal.action).toEqual({ kind: 'remedy', id: 'fit-a' });
    expect(equal.alternatives[0]?.action).toEqual(equal.action);
    expect(valueOfInformation(equal)).toBe(0);
    expect(asking(9.99).action).toEqual({ kind: 'check', id: 'ask' });
    expect(valueOfInformation(asking(9.99))).toBeCloseTo(0.01, 9);
    expect(asking(10.01).action).toEqual({ kind: 'remedy', id: 'fit-a' });
  });

  it('nor is one that only makes up for stopping at once, and an outcome that cannot come has no way on', () => {
    // One after the other: 50 - 90, and 50 - 45 more. Asked, either brings 10: stopping is as good as asking for 10.
    const asking = (cost: number) =>
      plan({
        ...problem,
        level: 2,
        checks: problem.checks.map((one) => ({
          ...one,
          cost,
          outcomes: ['never', 'a', 'b'],
          given: [
            [0, 1, 0],
            [0, 0, 1],
          ],
        })),
        remedies: problem.remedies.map((one) => ({ ...one, cost: 90 })),
        stops: [{ id: 'pass', byFault: [0, 0] }],
      });
    expect(asking(10)).toMatchObject({
      value: 0,
      action: { kind: 'stop', id: 'pass' },
      policy: { kind: 'stop' },
    });
    const found = asking(9);
    expect(found).toMatchObject({ value: 1, action: { kind: 'check', id: 'ask' } });
    expect(found.policy).toMatchObject({ branches: [null, { remedy: 0 }, { remedy: 1 }] });
  });

  it('a check that gives some outcome alike under every fault can tell by the others', () => {
    const half = [
      [0.5, 0.5, 0],
      [0.5, 0, 0.5],
    ];
    const found = plan({
      ...problem,
      checks: problem.checks.map((one) => ({ ...one, cost: 1, outcomes: ['none', 'a', 'b'], given: half })),
    });
    // Half of the time it tells, for 70; else a is fitted first, 50 - 20, and then b in half of the jobs, 30: 60.
    expect(found.action).toEqual({ kind: 'check', id: 'ask' });
    expect(found.value).toBeCloseTo(-7 + 0.5 * 70 + 0.5 * (50 + 30 - 20), 9);
  });

  it('with nothing to gain it stops in the best way', () => {
    const dear = plan({
      ...problem,
      checks: problem.checks.map((check) => ({ ...check, cost: 500 })),
      remedies: problem.remedies.map((remedy) => ({ ...remedy, cost: 500 })),
    });
    expect(dear).toMatchObject({ value: 20, exact: true, action: { kind: 'stop', id: 'strip' } });
    expect(dear.policy).toEqual({ kind: 'stop', stop: 0 });
    expect(valueOfInformation(dear)).toBe(0);
    const none = plan({ ...problem, checks: [], remedies: [] });
    expect(none).toMatchObject({
      value: 20,
      upper: 20,
      gap: 0,
      exact: true,
      action: { kind: 'stop', id: 'strip' },
    });
  });

  it('a check with nothing else to compare with has no worth of its own', () => {
    const found = plan(problem);
    const only: Plan = {
      ...found,
      alternatives: found.alternatives.filter(({ action }) => action.kind === 'check'),
    };
    expect(valueOfInformation(only)).toBe(0);
  });
});

describe('the budget', () => {
  const hard = randomProblem(7, { faults: 14, checks: 9, remedies: 9 });

  it('is 1700 over the size when none is named, from 25 to 200, and is kept to', () => {
    const sized = (faults: number, checks: number, remedies: number) =>
      defaultExpansions(randomProblem(1, { faults, checks, remedies }));
    expect([sized(2, 1, 1), sized(8, 4, 8), sized(20, 10, 4), sized(60, 20, 20)]).toEqual([200, 85, 50, 25]);
    const found = plan(hard);
    expect([found.exact, found.expansions]).toEqual([false, 53]);
    expect(plan(hard, { expansions: 20 }).expansions).toBe(20);
  });

  it('more of it never makes the bounds worse', () => {
    let before = plan(hard, { expansions: 1 });
    for (const expansions of [2, 4, 8, 16, 32, 64, 128]) {
      const found = plan(hard, { expansions });
      expect(found.value).toBeGreaterThanOrEqual(before.value - 1e-9);
      expect(found.upper).toBeLessThanOrEqual(before.upper + 1e-9);
      before = found;
    }
    const first = plan(hard, { expansions: 1 });
    expect(before.gap).toBeLessThan(first.gap * 0.75);
  });

  it('is not spent beyond the gap that was asked for', () => {
    const whole = plan(hard, { expansions: 400 });
    const early = plan(hard, { expansions: 400, epsilon: whole.gap * 2 });
    expect(early.gap).toBeLessThanOrEqual(whole.gap * 2);
    expect(early.expansions).toBeLessThan(400);
    expect(early.exact).toBe(false);
    expect(plan(hard, { expansions: 400, epsilon: 1e6 }).expansions).toBe(1);
    // A gap asked for that is finer than rounding is no reason to go on for ever.
    expect(plan(randomProblem(2, { faults: 3, checks: 1, remedies: 2 }), { epsilon: 1e-300 }).exact).toBe(
      true,
    );
  });

  it('an option out of its range is refused', () => {
    for (const expansions of [0, 0.5, -1, Number.NaN])
      expect(() => plan(hard, { expansions })).toThrow(`expansions must be at least 1, not ${expansions}`);
    for (const epsilon of [-1e-9, Number.NaN])
      expect(() => plan(hard, { epsilon })).toThrow(`epsilon must be at least 0, not ${epsilon}`);
  });
});
