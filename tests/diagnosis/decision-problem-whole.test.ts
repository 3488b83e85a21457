/** A phone as a decision problem, put together again from the pack by plain code. */
import { describe, expect, it } from 'vitest';
import { fits } from '../../knowledge/features.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { accessLevels, type Family, type Hazard, pairingEffects } from '../../knowledge/schema.ts';
import { defaultSettings } from '../../shared/collective/collective-settings.ts';
import {
  type DecisionProblem,
  decisionProblemOf,
  type Evidence,
  keepsAfter,
  oddsOf,
} from '../../shared/diagnosis/decision-problem.ts';
import { economicsOf } from '../../shared/economics/economics.ts';
import { pairingOf } from '../../shared/pairing/pairing.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import { isCellFact, type PhoneState } from '../../shared/phone/state.ts';

const knowledge = loadKnowledge();
const families = [...knowledge.families.values()];
const sum = (list: readonly number[]) => list.reduce((a, b) => a + b, 0);
const moneyOf = (family: Family) =>
  economicsOf({
    knowledge,
    family,
    settings: { ...defaultSettings, hourlyRate: 30 },
    sightings: [],
    parts: [],
    grade: 0,
    value: 180,
    now: new Date('2026-03-02T09:00:00Z'),
  });
const made = (
  family: Family,
  symptoms: string[],
  evidence: Evidence[] = [],
  state: PhoneState = phoneStateOf(knowledge, symptoms),
): DecisionProblem => {
  const found = decisionProblemOf({
    knowledge,
    family,
    symptoms,
    evidence,
    state,
    economics: moneyOf(family),
  });
  if (!found) throw new Error('no case');
  return found;
};
const checked = (id: string, outcome: string): Evidence => ({ kind: 'check', id, outcome });
const SCENES: readonly (readonly [string[], Evidence[]])[] = [
  [['dead'], []],
  [['dead', 'no-charge'], [checked('charge-current', 'none')]],
  [['no-charge'], [{ kind: 'cannot', id: 'charge-current' }]],
  [['dead'], [checked('test-cell', 'boots')]],
  [['no-charge'], [{ kind: 'failed', id: 'clean-port' }]],
];

describe('for every family', () => {
  it.each(families.map((family) => [family.id, family] as const))('%s', (_, family) => {
    const economics = moneyOf(family);
    for (const [symptoms, evidence] of SCENES) {
      const found = made(family, [...symptoms], [...evidence]);
      const { problem, odds } = found;
      expect(sum(odds.map(({ share }) => share))).toBeCloseTo(1, 9);
      const shares = odds.map(({ share }) => share);
      expect(shares).toEqual([...shares].sort((a, b) => b - a));
      if (found.state.danger !== 'none') continue;
      const live = odds.filter(({ share }) => share >= 0.005);
      const kept = sum(live.map(({ share }) => share));
      expect(found.leftOut).toBeCloseTo(1 - kept, 9);
      expect(problem.faults.map(({ id }) => id)).toEqual(live.map(({ fault }) => fault.id));
      problem.faults.forEach(({ prior }, f) => {
        expect(prior).toBeCloseTo((live[f]?.share ?? 0) / kept, 12);
      });
      const done = evidence.map((step) => step.id);
      const remedies = [...knowledge.remedies.values()].filter(
        (one) =>
          fits(family, one) &&
          !done.includes(one.id) &&
          one.parts.every(({ component }) => component in family.components) &&
          live.some(({ fault }) => (one.works[fault.id] ?? 0) > 0),
      );
      expect(problem.remedies.map(({ id }) => id)).toEqual(remedies.map(({ id }) => id));
      remedies.forEach((one, r) => {
        const parts =
          sum(one.parts.map(({ component, grade }) => economics.part(component, grade).price)) +
          one.consumables * economics.partBase;
        expect(found.parts.remedies[r]).toBeCloseTo(parts, 9);
        expect(found.minutes.remedies[r]).toBe(one.minutes);
        expect(problem.remedies[r]?.cost).toBeCloseTo(one.minutes * 0.5 + parts, 9);
        expect(problem.remedies[r]?.level).toBe(accessLevels.indexOf(one.access));
        expect(problem.remedies[r]?.worth).toBeCloseTo(
          economics.takings * keepsAfter(knowledge, family, one),
          9,
        );
        expect(problem.remedies[r]?.works).toEqual(live.map(({ fault }) => one.works[fault.id] ?? 0));
      });
      for (const [c, spec] of problem.checks.entries()) {
        const check = knowledge.checks.get(spec.id);
        if (!check) throw new Error(spec.id);
        expect(fits(family, check)).toBe(true);
        expect(done).not.toContain(spec.id);
        expect(check.when?.not?.some((symptom) => symptoms.includes(symptom)) ?? false).toBe(false);
        if (symptoms.includes('dead')) expect(check.when?.power ?? ['dead']).toContain('dead');
        expect(spec).toMatchObject({ cost: check.minutes * 0.5, level: accessLevels.indexOf(check.access) });
        expect(spec.outcomes).toEqual(check.outcomes.map(({ id }) => id));
        expect(spec.given).toEqual(
          live.map(({ fault }) => check.given.faults[fault.id] ?? check.given.otherwise),
        );
        expect(found.minutes.checks[c]).toBe(check.minutes);
      }
      expect(problem.checks.length).toBeGreaterThan(0);
      expect(problem.checks.length).toBeLessThanOrEqual(14);
      // Getting in and closing again is paid with the first step that needs it, with a new seal where opening breaks one.
      const seal =
        family.open.breaks && 'gasket' in family.components ? economics.part('gasket', 'original').price : 0;
      const minutes = [family.open.minutes + family.close.minutes, family.board.minutes];
      expect(found.minutes.access).toEqual(minutes);
      expect(found.parts.access).toEqual([seal, 0]);
      expect(problem.access[0]).toBeCloseTo((minutes[0] ?? 0) * 0.5 + seal, 9);
      expect(problem.access[1]).toBeCloseTo((minutes[1] ?? 0) * 0.5, 9);
      const level = Math.max(
        0,
        ...evidence.flatMap((step) =>
          step.kind === 'check' || step.kind === 'failed'
            ? [
                accessLevels.indexOf(
                  (knowledge.checks.get(step.id) ?? knowledge.remedies.get(step.id))?.access ?? 'closed',
                ),
              ]
            : [],
        ),
      );
      expect(problem.level).toBe(level);
      // Stripped: what is not tied to its board, two in five find a use; the faulty component fetches nothing.
      const worths = Object.keys(family.components).flatMap((id) => {
        const tied = pairingOf(knowledge, family, id).statements.some(
          (one) => one.travels || one.effect === 'lost',
        );
        const component = knowledge.components.get(id);
        return tied || !component
          ? []
          : [{ id, worth: component.salvage * economics.part(id, 'original').price * 0.4 }];
      });
      const stripMinutes = sum(minutes.slice(level)) - (level ? 0 : family.close.minutes) + 2 * worths.length;
      expect(found.stripMinutes).toBe(stripMinutes);
      const [strip, pass] = problem.stops;
      expect([strip?.id, pass?.id, problem.stops.length]).toEqual(['strip', 'pass', 2]);
      expect(pass?.byFault.every((worth) => worth === 0)).toBe(true);
      const left = live.map(({ fault }) => {
        const sound = sum(worths.filter(({ id }) => id !== fault.component).map(({ worth }) => worth));
        return sound * 0.95 - stripMinutes * 0.5;
      });
      left.forEach((worth, f) => {
        expect(strip?.byFault[f]).toBeCloseTo(worth, 9);
      });
      expect(found.stripValue).toBeCloseTo(
        sum(left.map((worth, f) => worth * (problem.faults[f]?.prior ?? 0))),
        9,
      );
    }
  });
});

describe('what a remedy leaves of the worth', () => {
  it('is its own share, times what the pairing of each fitted component takes', () => {
    // A swap that loses a function, works less well, or nags, leaves less; one that does nothing leaves all.
    let lowered = 0;
    for (const family of families)
      for (const one of knowledge.remedies.values()) {
        const statements = one.parts.flatMap(
          ({ component }) => pairingOf(knowledge, family, component).statements,
        );
        const keeps = keepsAfter(knowledge, family, one);
        const free = statements.every(({ effect }) => effect === 'free');
        if (free) expect(keeps).toBeCloseTo(one.keeps, 12);
        else {
          lowered += 1;
          expect(keeps).toBeLessThanOrEqual(one.keeps + 1e-12);
          expect(keeps).toBeGreaterThan(0);
        }
      }
    expect(lowered).toBeGreaterThan(10);
    expect(pairingEffects.length).toBeGreaterThan(3);
  });
});

describe('a cell that may be dangerous', () => {
  const [family] = families.filter(({ id }) => id === 'glued-front-home-sensor');
  if (!family) throw new Error('no family');
  const hazardsOf = ({ problem }: DecisionProblem): Hazard[] =>
    [...problem.checks, ...problem.remedies].flatMap(
      ({ id }) => (knowledge.checks.get(id) ?? knowledge.remedies.get(id))?.hazards ?? [],
    );

  it('bars steps with its hazards, at once and after it was set apart', () => {
    for (const danger of ['suspect', 'isolated', 'handed-over'] as const) {
      const symptoms = ['swollen', 'dead'];
      const found = made(family, symptoms, [], { ...phoneStateOf(knowledge, symptoms), danger });
      expect(found.state.danger).toBe(danger);
      expect(found.problem.checks).toEqual([]);
      expect(hazardsOf(found).every((hazard) => hazard === 'unsafe-cell')).toBe(true);
      // It cannot be opened, so nothing inside is reached and it is not stripped.
      expect(found.problem.remedies.every(({ level }) => level === 0)).toBe(true);
      expect(found.problem.stops.map(({ id }) => id)).toEqual(['pass']);
    }
    const sound = made(family, ['no-charge']);
    expect(sound.state.danger).toBe('none');
    expect(hazardsOf(sound)).toContain('charges');
  });

  it('is one by any isolating symptom, whatever else is seen, and by a fifth of the belief in the faults of such a cell', () => {
    const isolating = [...knowledge.symptoms.values()].filter(({ means }) => means.some(isCellFact));
    expect(isolating.length).toBeGreaterThan(0);
    const unsafe = new Set(
      isolating.flatMap(({ seen }) =>
        Object.entries(seen.faults).flatMap(([fault, chance]) => (chance >= 0.5 ? [fault] : [])),
      ),
    );
    const cellOf = (symptoms: string[]) =>
      decisionProblemOf({
        knowledge,
        family,
        symptoms,
        evidence: [],
        state: phoneStateOf(knowledge, symptoms),
        economics: moneyOf(family),
      })?.state.danger;
    for (const { id, means } of knowledge.symptoms.values()) {
      for (const sign of isolating) {
        expect(['suspect', undefined], `${id} and ${sign.id}`).toContain(cellOf([id, sign.id]));
        expect(['suspect', undefined], `${sign.id} and ${id}`).toContain(cellOf([sign.id, id]));
      }
      if (means.some(isCellFact)) continue;
      const odds = oddsOf({ knowledge, family, symptoms: [id], evidence: [] }) ?? [];
      const suspect = sum(odds.flatMap(({ fault, share }) => (unsafe.has(fault.id) ? [share] : [])));
      expect(cellOf([id]), id).toBe(suspect >= 0.2 ? 'suspect' : 'none');
    }
  });

  it('an answer that the check does not have, and what the pack does not know, change nothing', () => {
    const odds = (evidence: Evidence[], symptoms = ['dead']) =>
      oddsOf({ knowledge, family, symptoms, evidence });
    const plain = odds([]);
    for (const none of [
      [checked('charge-current', 'purple')],
      [checked('no-such-check', 'none')],
      [{ kind: 'failed', id: 'no-such-remedy' }],
      [{ kind: 'cannot', id: 'charge-current' }],
    ] satisfies Evidence[][])
      expect(odds(none)).toEqual(plain);
    expect(odds([], ['dead', 'no-such-symptom'])).toEqual(plain);
  });
});
