import { describe, expect, it } from 'vitest';
import { fits } from '../../knowledge/features.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { defaultSettings } from '../../shared/collective/collective-settings.ts';
import {
  type DecisionProblem,
  decisionProblemOf,
  type Evidence,
  oddsOf,
  planFor,
} from '../../shared/diagnosis/decision-problem.ts';
import { plan } from '../../shared/diagnosis/plan.ts';
import type { Policy } from '../../shared/diagnosis/policy.ts';
import { economicsOf } from '../../shared/economics/economics.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import { fixedOrder } from '../oracles/fixed-order.ts';

const knowledge = loadKnowledge();
const families = [...knowledge.families.values()];
const family = knowledge.families.get('glued-front-home-sensor') ?? families[0];
if (!family) throw new Error('no family');
const economics = economicsOf({
  knowledge,
  family,
  settings: defaultSettings,
  sightings: [],
  parts: [],
  grade: 0,
  value: 180,
  now: new Date('2026-03-02T09:00:00Z'),
});
const question = (symptoms: string[], evidence: Evidence[] = []) => ({
  knowledge,
  family,
  symptoms,
  evidence,
  state: phoneStateOf(knowledge, symptoms),
  economics,
});
const must = (found: DecisionProblem | null): DecisionProblem => {
  if (!found) throw new Error('no case');
  return found;
};
const check = (id: string, outcome: string): Evidence => ({ kind: 'check', id, outcome });

describe('odds', () => {
  it('are Bayes’ rule worked out here again by plain multiplication', () => {
    const faults = [...knowledge.faults.values()].filter(
      (fault) => fits(family, fault) && fault.component in family.components,
    );
    const evidence = [check('charge-current', 'none'), check('test-cell', 'boots')];
    const weights = faults.map((fault) => {
      let weight = fault.weight;
      for (const feature of family.features) weight *= fault.times?.[feature] ?? 1;
      for (const symptom of ['dead', 'no-charge']) {
        const seen = knowledge.symptoms.get(symptom)?.seen;
        weight *= seen?.faults[fault.id] ?? seen?.otherwise ?? Number.NaN;
      }
      for (const [id, at] of [
        ['charge-current', 0],
        ['test-cell', 0],
      ] as const) {
        const given = knowledge.checks.get(id)?.given;
        weight *= (given?.faults[fault.id] ?? given?.otherwise)?.[at] ?? Number.NaN;
      }
      return weight;
    });
    const total = weights.reduce((sum, one) => sum + one, 0);
    const odds = new Map(
      oddsOf(question(['dead', 'no-charge'], evidence))?.map(({ fault, share }) => [fault.id, share]),
    );
    faults.forEach((fault, i) => {
      expect(odds.get(fault.id)).toBeCloseTo((weights[i] ?? 0) / total, 12);
    });
  });
  it('do not depend on the order of what was seen', () => {
    const evidence = [
      check('port-look', 'clean'),
      check('charge-current', 'none'),
      check('forced-restart', 'nothing'),
    ];
    const shares = (list: Evidence[]) =>
      oddsOf(question(['no-charge', 'dead'], list))?.map(({ fault, share }) => [fault.id, share.toFixed(12)]);
    expect(shares(evidence)).toEqual(shares([...evidence].reverse()));
  });
  it('count a remedy that failed as 1 - P(works | fault)', () => {
    const remedy = knowledge.remedies.get('clean-port');
    const before = oddsOf(question(['no-charge'])) ?? [];
    const after = new Map(
      oddsOf(question(['no-charge'], [{ kind: 'failed', id: 'clean-port' }]))?.map(({ fault, share }) => [
        fault.id,
        share,
      ]),
    );
    const weights = before.map(
      ({ fault, share }) => [fault.id, share * (1 - (remedy?.works[fault.id] ?? 0))] as const,
    );
    const total = weights.reduce((sum, [, weight]) => sum + weight, 0);
    expect(total).toBeLessThan(0.999);
    for (const [fault, weight] of weights) expect(after.get(fault)).toBeCloseTo(weight / total, 12);
  });
  it('add up to one for every symptom of every family', () => {
    for (const one of families) {
      for (const symptom of knowledge.symptoms.values()) {
        if (!fits(one, symptom)) continue;
        const odds = oddsOf({ ...question([symptom.id]), family: one });
        expect(odds?.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 9);
      }
    }
  });
});

describe('a phone that draws 0.00 A, boots on a test cell and then charges', () => {
  const shows: Readonly<Record<string, string>> = {
    'charge-current': 'none',
    'test-cell': 'boots',
    'charge-with-test-cell': 'normal',
  };
  const bench = must(decisionProblemOf(question(['dead', 'no-charge'])));
  // The same three checks for the plan and for the fixed orders.
  const specs = Object.keys(shows).flatMap((id) => {
    const one = knowledge.checks.get(id);
    return one
      ? [
          {
            id,
            cost: one.minutes * economics.minute,
            level: ['closed', 'open', 'board'].indexOf(one.access),
            outcomes: one.outcomes.map((outcome) => outcome.id),
            given: bench.problem.faults.map((fault) => one.given.faults[fault.id] ?? one.given.otherwise),
          },
        ]
      : [];
  });
  const problem = { ...bench.problem, checks: specs };
  /** TestBot minutes of the checks until the policy takes up a remedy that mends the cell, and what it took up before. */
  const path = (policy: Policy) => {
    let minutes = 0;
    let level = 0;
    const tried: string[] = [];
    let at = policy;
    for (;;) {
      const step =
        at.kind === 'check'
          ? problem.checks[at.check]
          : at.kind === 'remedy'
            ? problem.remedies[at.remedy]
            : undefined;
      if (!step) return { minutes, tried };
      for (; level < step.level; level += 1) minutes += bench.minutes.access[level] ?? 0;
      if (at.kind === 'remedy') {
        tried.push(step.id);
        if ((knowledge.remedies.get(step.id)?.works['battery-open'] ?? 0) > 0.5) return { minutes, tried };
        minutes += knowledge.remedies.get(step.id)?.minutes ?? 0;
        at = at.failed;
      } else if (at.kind === 'check') {
        minutes += knowledge.checks.get(step.id)?.minutes ?? 0;
        const next: Policy | null | undefined =
          at.branches[
            knowledge.checks.get(step.id)?.outcomes.findIndex(({ id }) => id === shows[step.id]) ?? -1
          ];
        if (!next) return { minutes, tried };
        at = next;
      }
    }
  };
  const permutations = (list: string[]): string[][] =>
    list.length < 2
      ? [list]
      : list.flatMap((one) =>
          permutations(list.filter((other) => other !== one)).map((rest) => [one, ...rest]),
        );

  it('comes to the cell in no more bench minutes than the best fixed order of the same checks', () => {
    const planned = path(plan(problem).policy);
    const fixed = permutations(Object.keys(shows)).map((order) => path(fixedOrder(problem, order).policy));
    expect(fixed).toHaveLength(6);
    expect(planned.minutes).toBeLessThanOrEqual(Math.min(...fixed.map(({ minutes }) => minutes)));
    expect(planned.tried.at(-1)).toMatch(/cell/);
  });
  it('never takes up board work on the way', () => {
    for (const id of path(plan(problem).policy).tried)
      expect(knowledge.remedies.get(id)?.access).not.toBe('board');
  });
});

describe('a case', () => {
  it('plans within its limit, and its limit is that of all the checks', () => {
    for (const symptom of ['dead', 'no-charge', 'black-screen', 'drains-fast', 'no-touch']) {
      const bench = must(decisionProblemOf(question([symptom])));
      const found = planFor(bench);
      expect(found.value).toBeLessThanOrEqual(bench.limit + 1e-9);
      expect(found.value).toBeGreaterThanOrEqual(Math.max(0, bench.stripValue) - 1e-9);
      expect(bench.problem.checks.length).toBeLessThanOrEqual(14);
    }
  });
  it('prices a paired component at nothing when the phone is stripped', () => {
    const paired = must(decisionProblemOf(question(['dead'])));
    const without = { ...knowledge, pairing: [] };
    const unpaired = must(decisionProblemOf({ ...question(['dead']), knowledge: without }));
    expect(unpaired.stripValue).toBeGreaterThan(paired.stripValue);
  });
});
