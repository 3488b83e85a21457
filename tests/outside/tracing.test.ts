import bayes, { type INetwork } from 'bayesjs';
import fc from 'fast-check';
import { expect } from 'vitest';
import { traceData } from '../../commands/trace/trace-data.ts';
import type { Check } from '../../knowledge/schema.ts';
import { beliefOf } from '../../shared/diagnosis/sets/bench-belief.ts';
import { randomProblem, seeded } from '../diagnosis/random-problem.ts';
import { plan, policyWords, remediesInOrder, valueOfChecks } from '../oracles/as-sets.ts';
import { exactNet } from '../oracles/exact-net.ts';
import type { Problem } from '../oracles/one-fault/problem.ts';
import { testBot } from '../test-bot.ts';
import { outside } from './check.ts';

const planning = 'shared/diagnosis/sets/set-plan.ts';

/** Worth so high that every job is repaired: the expected cost of repair is then HIGH - net. */
const HIGH = 10_000;
const THOROUGH = { expansions: 5_000 };
const cost = (problem: Problem): number => HIGH - plan(problem, THOROUGH).value;

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
const permutations = (rest: readonly number[]): number[][] =>
  rest.length === 0
    ? [[]]
    : rest.flatMap((r) => permutations(rest.filter((x) => x !== r)).map((p) => [r, ...p]));

// T1. The figure's chances do not cohere as one belief, so each branch is rolled back with its own numbers: c1 10, c2 20.
const heckerman = { source: 'heckerman-1995', at: 'figure 1' } as const;
const branch = (firstMends: number): Problem =>
  repairs([firstMends, 1 - firstMends], { c1: { cost: 10, works: [1, 0] }, c2: { cost: 20, works: [0, 1] } });

outside(
  { id: 'trace-01', what: 'Observing first, then repairing', value: '19.2', ...heckerman, where: planning },
  () => {
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
    expect(HIGH - (found?.upper ?? 0)).toBeLessThanOrEqual(19.2 + 1e-9);
  },
);
for (const [id, what, firstMends, value, first] of [
  ['trace-02', 'Branch observed true', 0.9, 17, 'c1'],
  ['trace-03', 'Branch observed false', 0.3, 28, 'c2'],
] as const) {
  outside({ id, what, value: String(value), ...heckerman, where: planning }, () => {
    expect(5 + cost(branch(firstMends))).toBeCloseTo(value, 9);
    expect(plan(branch(firstMends)).action).toEqual({ kind: 'remedy', id: first });
  });
}
for (const [id, what, firstMends, first, value] of [
  ['trace-04', 'Without observing, c1 first', 0.5, 'c1', 20],
  ['trace-05', 'Without observing, c2 first', 0.95, 'c2', 29.5],
] as const) {
  outside({ id, what, value: String(value), ...heckerman, where: planning }, () => {
    const found = plan(branch(firstMends)).alternatives.find((one) => one.action.id === first);
    expect(HIGH - (found?.lower ?? 0)).toBeCloseTo(value, 9);
  });
}

// T2.
const sacso = () =>
  repairs([0.2, 0.25, 0.4, 0.15], {
    A1: { cost: 1, works: [1, 1, 0, 0] },
    A2: { cost: 1, works: [0, 1, 1, 0] },
    A3: { cost: 1, works: [0, 0, 1, 1] },
  });
outside(
  {
    id: 'trace-07',
    what: 'The optimum: A3, A1',
    value: '1.45',
    source: 'sacso-2001',
    at: 'figure 1',
    where: planning,
  },
  () => {
    const best = plan(sacso());
    expect(best.exact).toBe(true);
    expect(HIGH - best.value).toBeCloseTo(1.45, 9);
    expect(remediesInOrder(best).slice(0, 2)).toEqual(['A3', 'A1']);
  },
);

// T3.
const exercise = {
  A1: { cost: 1, works: [1, 0, 0] },
  A2: { cost: 2, works: [0, 0.95, 0] },
  A3: { cost: 25, works: [0.99, 0.99, 0] },
  A4: { cost: 500, works: [1, 1, 1] },
};
const priors = [0.8, 0.15, 0.05];
const jensen = { source: 'jensen-nielsen', at: 'the answer is derived' } as const;
outside(
  { id: 'trace-08', what: 'Best order A1, A2, A3, A4', value: '27.875', ...jensen, where: planning },
  () => {
    const problem = repairs(priors, exercise);
    const best = plan(problem);
    expect(best.exact).toBe(true);
    expect(HIGH - best.value).toBeCloseTo(27.875, 9);
    expect(remediesInOrder(best)).toEqual(['A1', 'A2', 'A3', 'A4']);
  },
);
outside({ id: 'trace-10', what: 'Without A3', value: '30.15', ...jensen, where: planning }, () => {
  const { A1, A2, A4 } = exercise;
  expect(cost(repairs(priors, { A1, A2, A4 }))).toBeCloseTo(30.15, 9);
});

// T4.
const lin = repairs(
  [0.5, 0.25, 0.25],
  { A1: { cost: 1, works: [1, 0, 0] }, A2: { cost: 1, works: [0, 1, 0] }, A3: { cost: 1, works: [0, 0, 1] } },
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
outside(
  {
    id: 'trace-12',
    what: 'The optimum leaves the question out',
    value: '1.75',
    source: 'lin-2014',
    at: 'figure 2',
    known: 'computed',
    where: planning,
  },
  () => {
    const best = plan(lin);
    expect(best.exact).toBe(true);
    expect(HIGH - best.value).toBeCloseTo(1.75, 9);
    expect(valueOfChecks(best)).toBeCloseTo(0, 9);
  },
);

// T5.
const help = repairs([0.5, 0.5], {
  first: { cost: 60, works: [1, 0] },
  second: { cost: 60, works: [0, 1] },
  help: { cost: 100, works: [1, 1] },
});
const calling = {
  source: 'heckerman-1995',
  at: 'calling for help; the figures are derived',
  known: 'computed',
} as const;
outside(
  { id: 'trace-14', what: 'The optimum repairs both', value: '90', ...calling, where: planning },
  () => {
    expect(cost(help)).toBeCloseTo(90, 9);
    expect(plan(help, THOROUGH).exact).toBe(true);
  },
);

// T6: restore, strip or pass.
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
const t6 = { source: 'heckerman-1995', at: 'the model; the figures are derived', known: 'computed' } as const;

outside(
  {
    id: 'trace-15',
    what: 'Restore, strip or pass: the optimum, proved, and by two programs',
    value: '123.203',
    ...t6,
    where: planning,
  },
  () => {
    const best = plan(T6, THOROUGH);
    expect(best.value).toBeCloseTo(123.203, 6);
    expect(best.exact).toBe(true);
    expect(best.action).toEqual({ kind: 'check', id: 'K1' });
    expect(exactNet(T6)).toBeCloseTo(123.203, 6);
    expect(exactNet(T6, false)).toBeCloseTo(123.203, 6);
    expect(bruteForce(T6)).toBeCloseTo(123.203, 6);
  },
);
outside(
  {
    id: 'trace-16',
    what: 'Its policy: low, RB, K2 (RL or RC), strip; ok, RC, K2 (RL or RB), strip',
    value: 'step by step',
    ...t6,
    where: planning,
  },
  () => {
    expect(policyWords(plan(T6, THOROUGH))).toBe(
      'K1 (low: RB, K2 (short: RL, strip; clean: RC, strip); ok: RC, K2 (short: RL, strip; clean: RB, strip))',
    );
  },
);
outside(
  {
    id: 'trace-23',
    what: 'Gain over stopping at once, 123.203 - 59',
    value: '64.203',
    ...t6,
    where: planning,
  },
  () => {
    const stop = plan(T6, THOROUGH).alternatives.find((one) => one.action.id === 'strip');
    expect(plan(T6, THOROUGH).value - (stop?.lower ?? 59)).toBeCloseTo(64.203, 6);
    expect(plan({ ...T6, checks: [], remedies: [] }).value).toBeCloseTo(59, 9);
  },
);
outside(
  {
    id: 'trace-24',
    what: 'The bound above all: the fault known',
    value: 'at most 141.2',
    ...t6,
    where: planning,
  },
  () => {
    const { upper, value } = plan(T6, { expansions: 1 });
    expect(upper).toBeLessThanOrEqual(141.2 + 1e-9);
    expect(upper).toBeGreaterThanOrEqual(123.203 - 1e-9);
    expect(value).toBeLessThanOrEqual(123.203 + 1e-9);
    expect(valueOfChecks(plan(T6, THOROUGH))).toBeGreaterThan(0);
  },
);

outside(
  {
    id: 'trace-26',
    what: 'One fault, each remedy for its own, constant costs, no checks: sorting by P/C is optimal, ECR = Σ C (1 - Σ p)',
    value: 'equal on 300 instances',
    source: 'heckerman-1995',
    at: 'efficiency; ECR',
    where: planning,
  },
  () => {
    const size = fc.integer({ min: 1, max: 6 });
    const instance = size.chain((n) =>
      fc.record({
        weights: fc.array(fc.double({ min: 0.02, max: 1, noNaN: true }), { minLength: n, maxLength: n }),
        costs: fc.array(fc.integer({ min: 1, max: 90 }), { minLength: n, maxLength: n }),
      }),
    );
    fc.assert(
      fc.property(instance, ({ weights, costs }) => {
        const total = weights.reduce((sum, one) => sum + one, 0);
        const p = weights.map((one) => one / total);
        const problem = repairs(
          p,
          Object.fromEntries(
            costs.map((c, i) => [`A${i}`, { cost: c, works: p.map((_, f) => Number(f === i)) }]),
          ),
        );
        const sorted = costs
          .map((_, i) => i)
          .sort((a, b) => (p[b] ?? 0) / (costs[b] ?? 1) - (p[a] ?? 0) / (costs[a] ?? 1));
        let left = 1;
        let expected = 0;
        for (const i of sorted) {
          expected += (costs[i] ?? 0) * left;
          left -= p[i] ?? 0;
        }
        expect(cost(problem)).toBeCloseTo(expected, 6);
      }),
      { numRuns: 300 },
    );
  },
);

/**
 * Every policy, one after the other, by plain recursion over weights: no table, no bound, no code of the planner. Faults
 * keep their joint weight with what was seen, so nothing is ever normalised.
 */
function bruteForce({ faults, checks, remedies, access, level, stops }: Problem): number {
  const climb = (from: number, to: number) =>
    access.slice(from, Math.max(from, to)).reduce((sum, c) => sum + c, 0);
  const net = (
    w: readonly number[],
    left: readonly number[],
    todo: readonly number[],
    at: number,
  ): number => {
    const mass = w.reduce((sum, one) => sum + one, 0);
    if (mass === 0) return 0;
    let best = Math.max(
      ...stops.map(({ byFault }) => byFault.reduce((sum, v, f) => sum + v * (w[f] ?? 0), 0)),
    );
    for (const r of left) {
      const remedy = remedies[r];
      if (!remedy) continue;
      const mended = w.reduce((sum, one, f) => sum + one * (remedy.works[f] ?? 0), 0);
      const after = w.map((one, f) => one * (1 - (remedy.works[f] ?? 0)));
      const rest = net(
        after,
        left.filter((other) => other !== r),
        todo,
        Math.max(at, remedy.level),
      );
      best = Math.max(best, mended * remedy.worth - mass * (remedy.cost + climb(at, remedy.level)) + rest);
    }
    for (const c of todo) {
      const check = checks[c];
      if (!check) continue;
      const others = todo.filter((other) => other !== c);
      const rest = check.outcomes.reduce(
        (sum, _, o) =>
          sum +
          net(
            w.map((one, f) => one * (check.given[f]?.[o] ?? 0)),
            left,
            others,
            Math.max(at, check.level),
          ),
        0,
      );
      best = Math.max(best, rest - mass * (check.cost + climb(at, check.level)));
    }
    return best;
  };
  return net(
    faults.map(({ prior }) => prior),
    remedies.map((_, r) => r),
    checks.map((_, c) => c),
    level,
  );
}

const INSTANCES = 3_000;
outside(
  {
    id: 'trace-27',
    what: `The planner against every policy, one by one, on ${INSTANCES} random small instances: never above, its limit never below`,
    value: 'value ≤ optimum ≤ limit',
    source: 'heckerman-1995',
    at: 'roll-back of the decision tree',
    known: 'computed',
    where: planning,
  },
  () => {
    let proved = 0;
    for (let seed = 0; seed < INSTANCES; seed += 1) {
      const size = { faults: 1 + (seed % 4), checks: (seed >> 2) % 3, remedies: (seed >> 1) % 4 };
      const problem = randomProblem(100_000 + seed, size);
      const best = bruteForce(problem);
      const found = plan(problem, { expansions: 1 + (seed % 40) });
      expect(found.value).toBeLessThanOrEqual(best + 1e-8);
      expect(found.upper).toBeGreaterThanOrEqual(best - 1e-8);
      if (found.exact) {
        expect(Math.abs(found.value - best)).toBeLessThan(1e-7);
        proved += 1;
      }
    }
    expect(proved).toBeGreaterThan(INSTANCES / 2);
  },
);
outside(
  {
    id: 'trace-28',
    what: 'Where it has room it proves the optimum',
    value: 'equal on 400 instances',
    source: 'heckerman-1995',
    at: 'roll-back of the decision tree',
    known: 'computed',
    where: planning,
  },
  () => {
    for (let seed = 0; seed < 400; seed += 1) {
      const problem = randomProblem(500_000 + seed, {
        faults: 1 + (seed % 4),
        checks: seed % 3,
        remedies: 1 + (seed % 3),
      });
      const found = plan(problem, { expansions: 5_000 });
      expect(found.exact).toBe(true);
      expect(Math.abs(found.value - bruteForce(problem))).toBeLessThan(1e-7);
      expect(Math.abs((exactNet(problem) ?? Number.NaN) - found.value)).toBeLessThan(1e-7);
    }
  },
);

/** A dead phone, answered in an order; its odds by fault. */
function oddsAfter(answers: readonly (readonly [step: string, says: string])[]): Map<string, number> {
  const one = testBot();
  let reply = one.say('/trace "dead, no charge" model:glued-front-home-sensor');
  for (const [step, says] of answers) reply = one.say(`/trace answer "${says}" step:${step}`);
  return new Map(traceData.parse(reply.data).odds.map(({ fault, chance }) => [fault, chance]));
}
const SHOWN = { 'charge-current': 'none', 'port-look': 'clean', 'forced-restart': 'nothing' } as const;
/** The same with one fault held possible: the belief that a reply rests on, as it is where no second fault can be. */
function singleFaultOdds(): Map<string, number> {
  const { knowledge } = testBot().context();
  const family = knowledge.families.get('glued-front-home-sensor');
  if (!family) throw new Error('no family');
  const belief = beliefOf({
    knowledge,
    family,
    events: [
      { kind: 'shown', id: 'dead' },
      { kind: 'shown', id: 'no-charge' },
      ...Object.entries(SHOWN).map(([id, outcome]) => ({ kind: 'check' as const, id, outcome })),
    ],
    most: 1,
  });
  return new Map((belief?.odds ?? []).map(({ fault, share }) => [fault.id, share]));
}
/** A check's row of a phone that is dead. */
function deadRow(check: Check | undefined, fault: string): readonly number[] {
  const given = check?.given;
  return (
    given?.dead?.faults?.[fault] ?? given?.faults[fault] ?? given?.dead?.otherwise ?? given?.otherwise ?? []
  );
}
const answers = [
  ['charge-current', '0.00 A'],
  ['port-look', 'clean'],
  ['forced-restart', 'nothing'],
] as const;
outside(
  {
    id: 'trace-34',
    what: 'Independent evidence in any order',
    value: 'the same odds',
    source: 'heckerman-1995',
    at: "Bayes' rule",
    known: 'computed',
    where: '/trace',
  },
  () => {
    const first = oddsAfter(answers);
    expect(first.size).toBeGreaterThan(10);
    for (const order of permutations([0, 1, 2]).slice(1)) {
      const other = oddsAfter(order.flatMap((i) => answers.slice(i, i + 1)));
      for (const [fault, chance] of first) expect(other.get(fault)).toBeCloseTo(chance, 12);
    }
  },
);
outside(
  {
    id: 'trace-35',
    what: 'The belief behind a reply with one fault held possible, by enumerating the pack’s rows',
    value: 'equal to 10 decimals',
    source: 'heckerman-1995',
    at: "Bayes' rule",
    known: 'computed',
    where: '/trace',
  },
  () => {
    const { knowledge } = testBot().context();
    const family = knowledge.families.get('glued-front-home-sensor');
    if (!family) throw new Error('no family');
    const got = singleFaultOdds();
    const shown = SHOWN;
    const weights = [...got.keys()].map((id) => {
      const fault = knowledge.faults.get(id);
      let weight = fault?.weight ?? 0;
      for (const feature of family.features) weight *= fault?.times?.[feature] ?? 1;
      for (const symptom of ['dead', 'no-charge']) {
        const seen = knowledge.symptoms.get(symptom)?.seen;
        weight *= seen?.faults[id] ?? seen?.otherwise ?? 0;
      }
      for (const [name, outcome] of Object.entries(shown)) {
        const check = knowledge.checks.get(name);
        const at = check?.outcomes.findIndex((one) => one.id === outcome) ?? -1;
        weight *= deadRow(check, id)[at] ?? 0;
      }
      return [id, weight] as const;
    });
    const total = weights.reduce((sum, [, weight]) => sum + weight, 0);
    for (const [id, weight] of weights) expect(got.get(id)).toBeCloseTo(weight / total, 10);
  },
);

/** A belief network for the independent library: one hidden fault, and what it makes likely to be seen. */
function networkOf(
  faults: readonly { id: string; weight: number }[],
  seen: readonly { id: string; states: readonly string[]; row: (fault: string) => readonly number[] }[],
): INetwork {
  const total = faults.reduce((sum, { weight }) => sum + weight, 0);
  const chances = (states: readonly string[], row: readonly number[]) =>
    Object.fromEntries(states.map((state, at) => [state, row[at] ?? 0]));
  const ids = faults.map(({ id }) => id);
  const network: INetwork = {
    fault: {
      id: 'fault',
      states: ids,
      parents: [],
      cpt: chances(
        ids,
        faults.map(({ weight }) => weight / total),
      ),
    },
  };
  for (const { id, states, row } of seen)
    network[id] = {
      id,
      states: [...states],
      parents: ['fault'],
      // biome-ignore lint/suspicious/noThenProperty: the library's own word for the row of a table.
      cpt: ids.map((fault) => ({ when: { fault }, then: chances(states, row(fault)) })),
    };
  return network;
}
outside(
  {
    id: 'trace-42',
    what: 'The belief behind a reply with one fault held possible, by the same library: the pack as a belief network',
    value: 'equal to 9 decimals',
    source: 'bayesjs',
    where: '/trace',
  },
  () => {
    const { knowledge } = testBot().context();
    const family = knowledge.families.get('glued-front-home-sensor');
    const got = singleFaultOdds();
    const shown = SHOWN;
    const network = networkOf(
      [...got.keys()].map((id) => {
        const fault = knowledge.faults.get(id);
        const times = (family?.features ?? []).map((feature) => fault?.times?.[feature] ?? 1);
        return { id, weight: times.reduce((product, one) => product * one, fault?.weight ?? 0) };
      }),
      [
        ...['dead', 'no-charge'].map((id) => {
          const seen = knowledge.symptoms.get(id)?.seen;
          return {
            id,
            states: ['seen', 'not'],
            row: (fault: string) => {
              const chance = seen?.faults[fault] ?? seen?.otherwise ?? 0;
              return [chance, 1 - chance];
            },
          };
        }),
        ...Object.keys(shown).map((id) => {
          const check = knowledge.checks.get(id);
          return {
            id,
            states: check?.outcomes.map((one) => one.id) ?? [],
            row: (fault: string) => deadRow(check, fault),
          };
        }),
      ],
    );
    const evidence = { dead: 'seen', 'no-charge': 'seen', ...shown };
    for (const [id, chance] of got)
      expect(chance).toBeCloseTo(bayes.inferences.junctionTree.infer(network, { fault: id }, evidence), 9);
  },
);

/** Small enough to be searched through. */
const small = fc
  .record({
    seed: fc.integer({ min: 0, max: 1_000_000 }),
    faults: fc.integer({ min: 1, max: 5 }),
    checks: fc.integer({ min: 0, max: 3 }),
    remedies: fc.integer({ min: 0, max: 4 }),
  })
  .map(({ seed, ...size }) => randomProblem(seed, size));
const near = (a: number, b: number): void => {
  expect(Math.abs(a - b)).toBeLessThan(1e-6);
};
const invariant = {
  source: 'heckerman-1995',
  at: 'follows from the model',
  known: 'computed',
  where: planning,
} as const;

outside(
  {
    id: 'trace-36',
    what: 'Faults, checks, remedies and stops named and listed otherwise',
    value: 'the same net',
    ...invariant,
  },
  () => {
    fc.assert(
      fc.property(small, fc.integer({ min: 0, max: 999 }), (problem, seed) => {
        const random = seeded(seed);
        const shuffle = <T>(list: readonly T[]): number[] =>
          list
            .map((_, i) => ({ i, at: random() }))
            .sort((a, b) => a.at - b.at)
            .map((one) => one.i);
        const take = <T>(list: readonly T[], order: readonly number[]): T[] =>
          order.flatMap((i) => list.slice(i, i + 1));
        const faults = shuffle(problem.faults);
        const relabelled: Problem = {
          ...problem,
          faults: take(problem.faults, faults).map((fault, i) => ({ ...fault, id: `other-${i}` })),
          checks: take(problem.checks, shuffle(problem.checks)).map((check) => ({
            ...check,
            given: take(check.given, faults),
          })),
          remedies: take(problem.remedies, shuffle(problem.remedies)).map((remedy) => ({
            ...remedy,
            works: take(remedy.works, faults),
          })),
          stops: take(problem.stops, shuffle(problem.stops)).map((stop) => ({
            ...stop,
            byFault: take(stop.byFault, faults),
          })),
        };
        near(plan(relabelled, THOROUGH).value, plan(problem, THOROUGH).value);
      }),
      { numRuns: 150 },
    );
  },
);
outside(
  {
    id: 'trace-37',
    what: 'A check that cannot tell the faults apart, even a free one',
    value: 'changes nothing',
    ...invariant,
  },
  () => {
    fc.assert(
      fc.property(small, (problem) => {
        const idle = {
          id: 'idle',
          cost: 0,
          level: 0,
          outcomes: ['a', 'b'],
          given: problem.faults.map(() => [0.25, 0.75]),
        };
        const after = plan({ ...problem, checks: [idle, ...problem.checks] }, THOROUGH);
        near(after.value, plan(problem, THOROUGH).value);
        expect(after.action.id).not.toBe('idle');
      }),
      { numRuns: 150 },
    );
  },
);
outside(
  {
    id: 'trace-38',
    what: 'A remedy that never works, however much it would be worth',
    value: 'never chosen',
    ...invariant,
  },
  () => {
    fc.assert(
      fc.property(small, (problem) => {
        const idle = { id: 'idle', cost: 0, level: 0, worth: 1_000, works: problem.faults.map(() => 0) };
        const after = plan({ ...problem, remedies: [idle, ...problem.remedies] }, THOROUGH);
        near(after.value, plan(problem, THOROUGH).value);
        expect(after.action.id).not.toBe('idle');
      }),
      { numRuns: 150 },
    );
  },
);
outside(
  {
    id: 'trace-39',
    what: 'More information never has a negative value, and a dearer check is worth no more',
    value: '≥ 0',
    source: 'howard-1966',
    where: planning,
  },
  () => {
    fc.assert(
      fc.property(small, fc.integer({ min: 0, max: 999 }), (problem, seed) => {
        const random = seeded(seed);
        const rows = problem.faults.map(() => {
          const a = random();
          return [a, 1 - a];
        });
        const withCheck = (price: number): Problem => ({
          ...problem,
          checks: [
            ...problem.checks,
            { id: 'extra', cost: price, level: 0, outcomes: ['a', 'b'], given: rows },
          ],
        });
        const none = plan(problem, THOROUGH).value;
        const free = plan(withCheck(0), THOROUGH).value;
        const priced = plan(withCheck(5), THOROUGH).value;
        expect(free).toBeGreaterThanOrEqual(none - 1e-6);
        expect(priced).toBeGreaterThanOrEqual(none - 1e-6);
        expect(free).toBeGreaterThanOrEqual(priced - 1e-6);
        // Nor is any worth more than one that tells the fault.
        const telling = {
          id: 'telling',
          cost: 0,
          level: 0,
          outcomes: problem.faults.map(({ id }) => id),
          given: problem.faults.map((_, f) => problem.faults.map((__, o) => Number(f === o))),
        };
        const known = plan({ ...problem, checks: [telling, ...problem.checks] }, THOROUGH).value;
        expect(free).toBeLessThanOrEqual(known + 1e-6);
      }),
      { numRuns: 150 },
    );
  },
);
outside(
  {
    id: 'trace-40',
    what: 'Two checks can pay together where neither pays alone: the fault is told by both answers (exclusive or)',
    value: '38 with both, 15 with one',
    source: 'heckerman-1995',
    at: 'derived',
    known: 'computed',
    where: planning,
  },
  () => {
    const rows = (told: readonly number[]) => told.map((a) => (a === 0 ? [1, 0] : [0, 1]));
    const problem: Problem = {
      faults: ['00', '01', '10', '11'].map((id) => ({ id, prior: 0.25 })),
      checks: [
        { id: 'first', cost: 1, level: 0, outcomes: ['0', '1'], given: rows([0, 0, 1, 1]) },
        { id: 'second', cost: 1, level: 0, outcomes: ['0', '1'], given: rows([0, 1, 0, 1]) },
      ],
      remedies: [
        { id: 'same', cost: 50, level: 0, worth: 90, works: [1, 0, 0, 1] },
        { id: 'differ', cost: 50, level: 0, worth: 90, works: [0, 1, 1, 0] },
      ],
      access: [],
      level: 0,
      stops: [{ id: 'stop', byFault: [0, 0, 0, 0] }],
    };
    const alone = plan({ ...problem, checks: problem.checks.slice(0, 1) });
    // One remedy, then the other: -50 + .5 · 90 + .5 · (-50 + 90).
    expect(alone.action.kind).toBe('remedy');
    expect(alone.value).toBeCloseTo(15, 9);
    const both = plan(problem);
    expect(both.exact).toBe(true);
    expect(both.action.kind).toBe('check');
    expect(both.value).toBeCloseTo(90 - 50 - 2, 9);
  },
);
