/** What the pack says of a family: its faults and their weights, odds after what was seen, and what a remedy leaves. */
import { describe, expect, it } from 'vitest';
import { fits } from '../../knowledge/features.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { pairingEffects } from '../../knowledge/schema.ts';
import { cellFaults, keepsAfter, packWeights } from '../../shared/diagnosis/family-facts.ts';
import { pairingOf } from '../../shared/pairing/pairing.ts';
import { type Evidence, oddsOf } from '../oracles/one-fault/one-fault-case.ts';
import { checkOf, familyOf, faultOf, pairingFor, remedyOf, smallPack, symptomOf } from './small-pack.ts';

const knowledge = loadKnowledge();
const families = [...knowledge.families.values()];
const family = knowledge.families.get('glued-front-home-sensor') ?? families[0];
if (!family) throw new Error('no family');
const question = (symptoms: string[], evidence: Evidence[] = []) => ({
  knowledge,
  family,
  symptoms,
  evidence,
});
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
        ['charge-current', 3],
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

const plainFamily = familyOf('plain', {
  features: ['thin', 'glued'],
  components: { port: null },
});
const fault = (id: string, weight: number) => faultOf(id, weight, { component: 'port' });

describe('what a family has', () => {
  it.each([
    [{}, true],
    [{ with: ['thin', 'glued'] }, true],
    [{ with: ['thin', 'folding'] }, false],
    [{ without: ['folding'] }, true],
    [{ without: ['folding', 'glued'] }, false],
    [{ with: ['thin'], without: ['glued'] }, false],
    [{ with: ['folding'], without: ['wide'] }, false],
  ])('%j', (wanted, yes) => {
    expect(fits(plainFamily, wanted)).toBe(yes);
  });

  it('moves the weights of the faults by every feature it has, and leaves out what it cannot have', () => {
    const faults = [
      faultOf('x', 3, { component: 'port', times: { thin: 2, glued: 5, folding: 7 } }),
      faultOf('y', 4, { component: 'port', times: { folding: 7 } }),
      faultOf('z', 5, { component: 'screen' }),
      faultOf('w', 6, { component: 'port', with: ['folding'] }),
    ];
    const weights = packWeights(smallPack({ families: [plainFamily], faults }), plainFamily);
    expect(weights.map(({ fault: { id }, weight }) => [id, weight])).toEqual([
      ['x', 30],
      ['y', 4],
    ]);
  });
});

describe('odds on a small pack', () => {
  const parts = {
    faults: [fault('y', 1), fault('x', 1), fault('z', 2)],
    remedies: [remedyOf('swap', { x: 0.9, z: 0.5 })],
    checks: [checkOf('look', { otherwise: [0, 1], faults: { x: [1, 0] } })],
    symptoms: [symptomOf('dark', { otherwise: 0, faults: {} })],
  };
  const odds = (symptoms: string[], evidence: Evidence[]) =>
    oddsOf({
      knowledge: smallPack({ families: [plainFamily], ...parts }),
      family: plainFamily,
      symptoms,
      evidence,
    })?.map(({ fault: { id }, share }) => [id, share]);

  it('stand likeliest first, equals in the order of their ids', () => {
    expect(odds([], [])).toEqual([
      ['z', 0.5],
      ['x', 0.25],
      ['y', 0.25],
    ]);
    const many = ['e', 'b', 'd', 'a', 'c'].map((id) => fault(id, 1));
    const knowledge = smallPack({ families: [plainFamily], faults: many });
    expect(
      oddsOf({ knowledge, family: plainFamily, symptoms: [], evidence: [] })?.map((one) => one.fault.id),
    ).toEqual(['a', 'b', 'c', 'd', 'e']);
  });

  it('a remedy that could not be tried says nothing of the fault; one that failed does', () => {
    expect(odds([], [{ kind: 'cannot', id: 'swap' }])).toEqual(odds([], []));
    // x .25 x .1, y .25, z .5 x .5: .025, .25 and .25.
    expect(odds([], [{ kind: 'failed', id: 'swap' }])).toEqual([
      ['y', expect.closeTo(0.25 / 0.525, 12)],
      ['z', expect.closeTo(0.25 / 0.525, 12)],
      ['x', expect.closeTo(0.025 / 0.525, 12)],
    ]);
  });

  it('there are none when no fault can show what was seen', () => {
    expect(odds(['dark'], [])).toBeUndefined();
    const both: Evidence[] = [
      { kind: 'check', id: 'look', outcome: 'o1' },
      { kind: 'check', id: 'look', outcome: 'o2' },
    ];
    expect(odds([], both)).toBeUndefined();
  });
});

describe('what a swap leaves of the worth', () => {
  it.each([
    ['free', 1],
    ['notice', 0.97],
    ['calibrate', 0.97],
    ['reduced', 0.9],
    ['lost', 0.8],
  ] as const)('%s: %d of it when it is sure to show', (effect, left) => {
    const fit = remedyOf('fit', { x: 0.9 }, { keeps: 0.9, parts: [{ component: 'port', grade: 'used' }] });
    const keeps = (likely: number) =>
      keepsAfter(
        smallPack({ families: [plainFamily], faults: [], pairing: [pairingFor('port', effect, { likely })] }),
        plainFamily,
        fit,
      );
    expect(keeps(1)).toBeCloseTo(0.9 * left, 12);
    expect(keeps(0.5)).toBeCloseTo(0.9 * (1 - (1 - left) / 2), 12);
    expect(keeps(0)).toBe(0.9);
  });

  it('every fitted component and every statement takes its share', () => {
    const parts = ['port', 'screen', 'lens'].map((component) => ({ component, grade: 'used' as const }));
    const pairing = [
      pairingFor('port', 'lost'),
      pairingFor('port', 'reduced', { likely: 0.5 }),
      pairingFor('screen', 'notice'),
    ];
    const knowledge = smallPack({ families: [plainFamily], faults: [], pairing });
    expect(keepsAfter(knowledge, plainFamily, remedyOf('fit', {}, { parts }))).toBeCloseTo(
      0.8 * 0.95 * 0.97,
      12,
    );
  });
});

describe('faults that make a cell dangerous', () => {
  it('are those that an isolating symptom is seen with half of the time or more', () => {
    const symptoms = [
      symptomOf('bulge', { otherwise: 0.1, faults: { x: 0.5, y: 0.49, v: 0.9 } }, { means: ['swollen'] }),
      symptomOf('warm', { otherwise: 0.1, faults: { z: 0.9 } }),
    ];
    const knowledge = smallPack({ families: [plainFamily], faults: [], symptoms });
    expect([...cellFaults(knowledge)].sort()).toEqual(['v', 'x']);
  });
});
