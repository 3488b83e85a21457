import { describe, expect, it } from 'vitest';
import { knownFaultNet, upperBound } from '../../shared/diagnosis/bounds.ts';
import { exactNet } from '../../shared/diagnosis/exact.ts';
import { fixedOrder } from '../../shared/diagnosis/fixed-order.ts';
import { leaves, policyMeans } from '../../shared/diagnosis/leaves.ts';
import { gainOverStopping, plan, valueOfInformation } from '../../shared/diagnosis/plan.ts';
import type { Policy } from '../../shared/diagnosis/policy.ts';
import { condition } from '../../shared/diagnosis/posterior.ts';
import type { Problem } from '../../shared/diagnosis/problem.ts';
import { repairOrder } from '../../shared/diagnosis/repair-order.ts';

/** Worth so high that every job is repaired: the expected cost of repair is then HIGH - net. */
const HIGH = 10_000;

function repairs(
  priors: readonly number[],
  remedies: Record<string, { cost: number; works: readonly number[] }>,
  checks: Problem['checks'] = [],
): Problem {
  return {
    faults: priors.map((prior, f) => ({ id: `f${f + 1}`, prior })),
    checks,
    remedies: Object.entries(remedies).map(([id, remedy]) => ({ id, level: 0, worth: HIGH, ...remedy })),
    access: [],
    level: 0,
    stops: [{ id: 'stop', byFault: priors.map(() => 0) }],
  };
}

const T6: Problem = {
  faults: [
    { id: 'battery', prior: 0.5 },
    { id: 'connector', prior: 0.3 },
    { id: 'board', prior: 0.2 },
  ],
  checks: [
    {
      id: 'K1',
      cost: 3,
      level: 0,
      outcomes: ['low', 'ok'],
      given: [
        [0.9, 0.1],
        [0.1, 0.9],
        [0.2, 0.8],
      ],
    },
    {
      id: 'K2',
      cost: 8,
      level: 0,
      outcomes: ['short', 'clean'],
      given: [
        [0.05, 0.95],
        [0.1, 0.9],
        [0.8, 0.2],
      ],
    },
  ],
  remedies: [
    { id: 'RB', cost: 25, level: 0, worth: 200, works: [1, 0, 0] },
    { id: 'RC', cost: 35, level: 0, worth: 200, works: [0, 0.9, 0] },
    { id: 'RL', cost: 90, level: 0, worth: 200, works: [0, 0, 0.6] },
  ],
  access: [],
  level: 0,
  stops: [
    { id: 'strip', byFault: [70, 60, 30] },
    { id: 'pass', byFault: [0, 0, 0] },
  ],
};

const chanceOf = (problem: Problem, likelihood: readonly number[]): number =>
  problem.faults.reduce((sum, fault, f) => sum + fault.prior * (likelihood[f] ?? 0), 0);

/** The problem after a piece of evidence; faults that it rules out are left out. */
function given(problem: Problem, likelihood: readonly number[]): Problem {
  const belief = condition(
    problem.faults.map((fault) => fault.prior),
    likelihood,
  );
  const live = <T>(list: readonly T[]): T[] => list.filter((_, f) => (belief?.[f] ?? 0) > 0);
  return {
    ...problem,
    faults: live(problem.faults.map((fault, f) => ({ ...fault, prior: belief?.[f] ?? 0 }))),
    checks: problem.checks.map((check) => ({ ...check, given: live(check.given) })),
    remedies: problem.remedies.map((remedy) => ({ ...remedy, works: live(remedy.works) })),
    stops: problem.stops.map((stop) => ({ ...stop, byFault: live(stop.byFault) })),
  };
}

/**
 * Net of always doing what is best when at most one more check may be done: the best single check if it beats
 * repairing in order, else the first remedy of that order; and, where allowed, checks again after a failure.
 */
function myopic(problem: Problem, checksAfterRepair: boolean): number {
  const repair = repairOrder(problem);
  const first = plan(problem, { expansions: 1 }).alternatives.find((one) => one.action.kind === 'check');
  const check = problem.checks.find((one) => one.id === first?.action.id);
  if (first !== undefined && check !== undefined && first.lower > repair.net + 1e-9)
    return check.outcomes.reduce((sum, _, o) => {
      const likelihood = check.given.map((row) => row[o] ?? 0);
      const checks = problem.checks.filter((one) => one !== check);
      return (
        sum +
        chanceOf(problem, likelihood) * myopic(given({ ...problem, checks }, likelihood), checksAfterRepair)
      );
    }, -check.cost);
  const remedy = problem.remedies.find((one) => one.id === repair.remedies[0]);
  if (remedy === undefined || !checksAfterRepair) return repair.net;
  const fails = remedy.works.map((works) => 1 - works);
  const missed = chanceOf(problem, fails);
  const remedies = problem.remedies.filter((one) => one !== remedy);
  const rest = missed > 0 ? missed * myopic(given({ ...problem, remedies }, fails), true) : 0;
  return (1 - missed) * remedy.worth - remedy.cost + rest;
}

describe('T1: Heckerman, Breese & Rommelse 1995 (CACM 38(3)), figure 1, for roll-back', () => {
  // The figure's chances do not cohere as one belief; each branch is rolled back with its own numbers: c1 10, c2 20.
  const branch = (firstMends: number): Problem =>
    repairs([firstMends, 1 - firstMends], {
      c1: { cost: 10, works: [1, 0] },
      c2: { cost: 20, works: [0, 1] },
    });

  it('observing first: 17 and 28 by branch, 19.2 in all', () => {
    const observed: Problem = {
      ...branch(0.8 * 0.9 + 0.2 * 0.3),
      checks: [
        {
          id: 'observe',
          cost: 5,
          level: 0,
          outcomes: ['true', 'false'],
          given: [
            [0.72 / 0.78, 0.06 / 0.78],
            [0.08 / 0.22, 0.14 / 0.22],
          ],
        },
      ],
    };
    const found = plan(observed).alternatives.find((one) => one.action.id === 'observe');
    expect(HIGH - (found?.lower ?? 0)).toBeCloseTo(19.2, 9);
    expect(HIGH - (found?.upper ?? 0)).toBeCloseTo(19.2, 9);
    expect(5 + HIGH - plan(branch(0.9)).value).toBeCloseTo(17, 9);
    expect(5 + HIGH - plan(branch(0.3)).value).toBeCloseTo(28, 9);
    expect(plan(branch(0.3)).action).toEqual({ kind: 'remedy', id: 'c2' });
  });

  it('without observing: 20 with c1 first, 29.5 with c2 first', () => {
    const c1First: Policy = {
      kind: 'remedy',
      remedy: 0,
      failed: { kind: 'remedy', remedy: 1, failed: { kind: 'stop', stop: 0 } },
    };
    const c2First: Policy = {
      kind: 'remedy',
      remedy: 1,
      failed: { kind: 'remedy', remedy: 0, failed: { kind: 'stop', stop: 0 } },
    };
    expect(policyMeans(branch(0.5), c1First).cost).toBeCloseTo(20, 9);
    expect(policyMeans(branch(0.95), c2First).cost).toBeCloseTo(29.5, 9);
  });
});

it('T2: Jensen et al. 2001 (AI EDAM 15, SACSO), figure 1: greedy 1.50, optimum A3 A1 1.45', () => {
  const problem = repairs([0.2, 0.25, 0.4, 0.15], {
    A1: { cost: 1, works: [1, 1, 0, 0] },
    A2: { cost: 1, works: [0, 1, 1, 0] },
    A3: { cost: 1, works: [0, 0, 1, 1] },
  });
  const greedy = repairOrder(problem);
  expect(HIGH - greedy.net).toBeCloseTo(1.5, 9);
  expect(greedy.remedies).toEqual(['A2', 'A1', 'A3']);
  const best = plan(problem);
  expect(best.exact).toBe(true);
  expect(HIGH - best.value).toBeCloseTo(1.45, 9);
  expect(best.action).toEqual({ kind: 'remedy', id: 'A3' });
});

describe('T3: Jensen & Nielsen, exercise (answer derived)', () => {
  const all = {
    A1: { cost: 1, works: [1, 0, 0] },
    A2: { cost: 2, works: [0, 0.95, 0] },
    A3: { cost: 25, works: [0.99, 0.99, 0] },
    A4: { cost: 500, works: [1, 1, 1] },
  };
  const priors = [0.8, 0.15, 0.05];

  it('A1 A2 A3 A4 costs 27.875 and is the best order; the next best costs 29.3325', () => {
    const problem = repairs(priors, all);
    const best = plan(problem);
    expect(best.exact).toBe(true);
    expect(HIGH - best.value).toBeCloseTo(27.875, 9);
    const order: string[] = [];
    for (let at = best.policy; at.kind === 'remedy'; at = at.failed)
      order.push(problem.remedies[at.remedy]?.id ?? '');
    expect(order).toEqual(['A1', 'A2', 'A3', 'A4']);
    const permute = (rest: readonly number[]): number[][] =>
      rest.length === 0
        ? [[]]
        : rest.flatMap((r) => permute(rest.filter((x) => x !== r)).map((p) => [r, ...p]));
    const costs = permute([0, 1, 2, 3]).map((orderOf) => {
      const policy = orderOf.reduceRight<Policy>((failed, remedy) => ({ kind: 'remedy', remedy, failed }), {
        kind: 'stop',
        stop: 0,
      });
      return policyMeans(problem, policy).cost;
    });
    costs.sort((a, b) => a - b);
    expect(costs[0]).toBeCloseTo(27.875, 9);
    expect(costs[1]).toBeCloseTo(29.3325, 9);
  });

  it('30.15 without A3', () => {
    const { A1, A2, A4 } = all;
    expect(HIGH - plan(repairs(priors, { A1, A2, A4 })).value).toBeCloseTo(30.15, 9);
  });
});

it('T4: Lin 2014, figure 2: A1, question, A2 or A3 costs 2; without the question 1.75 (derived)', () => {
  const problem = repairs(
    [0.5, 0.25, 0.25],
    {
      A1: { cost: 1, works: [1, 0, 0] },
      A2: { cost: 1, works: [0, 1, 0] },
      A3: { cost: 1, works: [0, 0, 1] },
    },
    [
      {
        id: 'Q',
        cost: 1,
        level: 0,
        outcomes: ['second', 'third'],
        given: [
          [0.5, 0.5],
          [1, 0],
          [0, 1],
        ],
      },
    ],
  );
  const stop: Policy = { kind: 'stop', stop: 0 };
  const asking: Policy = {
    kind: 'remedy',
    remedy: 0,
    failed: {
      kind: 'check',
      check: 0,
      branches: [
        { kind: 'remedy', remedy: 1, failed: stop },
        { kind: 'remedy', remedy: 2, failed: stop },
      ],
    },
  };
  expect(policyMeans(problem, asking).cost).toBeCloseTo(2, 9);
  const best = plan(problem);
  expect(best.exact).toBe(true);
  expect(HIGH - best.value).toBeCloseTo(1.75, 9);
  expect(valueOfInformation(best)).toBe(0);
});

it('T5 (derived): calling for help by efficiency costs 100, repairing both 90', () => {
  const problem = repairs([0.5, 0.5], {
    first: { cost: 60, works: [1, 0] },
    second: { cost: 60, works: [0, 1] },
    help: { cost: 100, works: [1, 1] },
  });
  expect(HIGH - repairOrder(problem).net).toBeCloseTo(100, 9);
  expect(HIGH - plan(problem).value).toBeCloseTo(90, 9);
});

describe('T6 (derived): restore, strip or pass', () => {
  const best = plan(T6);
  const oneStep = (id: string) =>
    plan(T6, { expansions: 1 }).alternatives.find((one) => one.action.id === id);

  it('optimum 123.203 with K1 first, proved, and by plain dynamic programming', () => {
    expect(best.value).toBeCloseTo(123.203, 6);
    expect(best.exact).toBe(true);
    expect(best.action).toEqual({ kind: 'check', id: 'K1' });
    expect(exactNet(T6)).toBeCloseTo(123.203, 6);
    expect(exactNet(T6, false)).toBeCloseTo(123.203, 6);
  });

  it('the policy: low, RB, K2 (RL or RC), strip; ok, RC, K2 (RL or RB), strip', () => {
    const strip: Policy = { kind: 'stop', stop: 0 };
    const then = (remedy: number): Policy => ({ kind: 'remedy', remedy, failed: strip });
    expect(best.policy).toEqual({
      kind: 'check',
      check: 0,
      branches: [
        { kind: 'remedy', remedy: 0, failed: { kind: 'check', check: 1, branches: [then(2), then(1)] } },
        { kind: 'remedy', remedy: 1, failed: { kind: 'check', check: 1, branches: [then(2), then(0)] } },
      ],
    });
    const ends = leaves(best);
    expect(ends.reduce((sum, leaf) => sum + leaf.chance, 0)).toBeCloseTo(1, 12);
  });

  it('one-step values K1 120.835 and K2 116.295; no checks 119.3, RB first; fault known 141.2', () => {
    expect(oneStep('K1')?.lower).toBeCloseTo(120.835, 6);
    expect(oneStep('K2')?.lower).toBeCloseTo(116.295, 6);
    const order = repairOrder(T6);
    expect(order.net).toBeCloseTo(119.3, 9);
    expect(order.remedies[0]).toBe('RB');
    expect(knownFaultNet(T6)).toBeCloseTo(141.2, 9);
    expect(upperBound(T6)).toBeLessThanOrEqual(141.2);
  });

  it('a checklist of both checks every time: the same as conditioning by hand and then repairing', () => {
    const minutes = { checks: [4, 10], remedies: [0, 0, 0], access: [] };
    const list = fixedOrder(T6, ['K1', 'K2'], minutes);
    let net = -11;
    for (const first of [0, 1])
      for (const second of [0, 1]) {
        const both = T6.faults.map(
          (_, f) => (T6.checks[0]?.given[f]?.[first] ?? 0) * (T6.checks[1]?.given[f]?.[second] ?? 0),
        );
        net += chanceOf(T6, both) * (exactNet({ ...given(T6, both), checks: [] }) ?? Number.NaN);
      }
    expect(list.net).toBeCloseTo(net, 9);
    expect(list.spent).toBeCloseTo(14, 9);
    expect(policyMeans(T6, best.policy, minutes).spent).toBeLessThan(14);
    // Leaving the list as soon as one fault is sure enough spends less than all of it.
    expect(fixedOrder(T6, ['K1', 'K2'], minutes, 0.8).spent).toBeLessThan(14);
  });

  it('one step ahead and again after each answer (myopic): 122.3015; checks only before repairs: 122.1105', () => {
    expect(myopic(T6, true)).toBeCloseTo(122.3015, 6);
    expect(myopic(T6, false)).toBeCloseTo(122.1105, 6);
  });

  it('says what each first step gains over stopping now', () => {
    // Stopping at once: .5*70 + .3*60 + .2*30 = 59.
    expect(gainOverStopping(best)[0]).toEqual({
      action: { kind: 'check', id: 'K1' },
      gain: expect.closeTo(64.203, 6),
    });
    const other = best.alternatives.find((one) => one.action.kind !== 'check');
    expect(valueOfInformation(best)).toBeCloseTo(123.203 - (other?.lower ?? 0), 9);
    expect(valueOfInformation(best)).toBeGreaterThan(0);
  });
});
