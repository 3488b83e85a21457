/** A phone as a decision problem, on packs of a few lines that can be worked through by hand. */
import { describe, expect, it } from 'vitest';
import { fits } from '../../knowledge/features.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import type { Check } from '../../knowledge/schema.ts';
import { defaultSettings } from '../../shared/collective/collective-settings.ts';
import {
  cellFaults,
  type DecisionProblem,
  decisionProblemOf,
  type Evidence,
  keepsAfter,
  oddsOf,
  packWeights,
  planFor,
} from '../../shared/diagnosis/decision-problem.ts';
import { type Economics, economicsOf } from '../../shared/economics/economics.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import { randomProblem } from './random-problem.ts';
import {
  checkOf,
  componentOf,
  familyOf,
  faultOf,
  pairingFor,
  remedyOf,
  smallPack,
  symptomOf,
} from './small-pack.ts';

const real = loadKnowledge();
const [realFamily] = real.families.values();
if (!realFamily) throw new Error('no family');
/** Half a unit of money a minute, ten for any part, 100 for the mended phone. */
const economics: Economics = {
  ...economicsOf({
    knowledge: real,
    family: realFamily,
    settings: defaultSettings,
    sightings: [],
    parts: [],
    grade: 0,
    value: 100,
    now: new Date('2026-03-02T09:00:00Z'),
  }),
  minute: 0.5,
  takings: 100,
  sellingCost: 0,
  partBase: 0,
  part: () => ({ low: 10, price: 10, high: 10, seen: 0, held: false }),
};
const opening = { minutes: 6, hazards: [], steps: ['open'], breaks: null, tools: [] };
const family = familyOf('plain', {
  features: ['thin', 'glued'],
  components: { port: null },
  open: opening,
  close: { minutes: 4, hazards: [], note: 'close' },
  board: { minutes: 5, hazards: [], steps: ['board'] },
});
const fault = (id: string, weight: number) => faultOf(id, weight, { component: 'port' });
const swap = remedyOf('swap', { x: 0.9 });
type Parts = Omit<Parameters<typeof smallPack>[0], 'families'>;
const made = (parts: Parts, symptoms: string[] = [], evidence: Evidence[] = [], one = family) => {
  const knowledge = smallPack({ families: [one], ...parts });
  const state = phoneStateOf(knowledge, symptoms);
  return decisionProblemOf({ knowledge, family: one, symptoms, evidence, state, economics });
};
const must = (found: DecisionProblem | null): DecisionProblem => {
  if (!found) throw new Error('no case');
  return found;
};

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
    expect(fits(family, wanted)).toBe(yes);
  });

  it('moves the weights of the faults by every feature it has, and leaves out what it cannot have', () => {
    const faults = [
      faultOf('x', 3, { component: 'port', times: { thin: 2, glued: 5, folding: 7 } }),
      faultOf('y', 4, { component: 'port', times: { folding: 7 } }),
      faultOf('z', 5, { component: 'screen' }),
      faultOf('w', 6, { component: 'port', with: ['folding'] }),
    ];
    const weights = packWeights(smallPack({ families: [family], faults }), family);
    expect(weights.map(({ fault: { id }, weight }) => [id, weight])).toEqual([
      ['x', 30],
      ['y', 4],
    ]);
  });
});

describe('odds', () => {
  const parts = {
    faults: [fault('y', 1), fault('x', 1), fault('z', 2)],
    remedies: [remedyOf('swap', { x: 0.9, z: 0.5 })],
    checks: [checkOf('look', { otherwise: [0, 1], faults: { x: [1, 0] } })],
    symptoms: [symptomOf('dark', { otherwise: 0, faults: {} })],
  };
  const odds = (symptoms: string[], evidence: Evidence[]) =>
    oddsOf({ knowledge: smallPack({ families: [family], ...parts }), family, symptoms, evidence })?.map(
      ({ fault: { id }, share }) => [id, share],
    );

  it('stand likeliest first, equals in the order of their ids', () => {
    expect(odds([], [])).toEqual([
      ['z', 0.5],
      ['x', 0.25],
      ['y', 0.25],
    ]);
    const many = ['e', 'b', 'd', 'a', 'c'].map((id) => fault(id, 1));
    const knowledge = smallPack({ families: [family], faults: many });
    expect(oddsOf({ knowledge, family, symptoms: [], evidence: [] })?.map((one) => one.fault.id)).toEqual([
      'a',
      'b',
      'c',
      'd',
      'e',
    ]);
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

  it('there are none, and no case, when no fault can show what was seen', () => {
    expect(odds(['dark'], [])).toBeUndefined();
    expect(made(parts, ['dark'])).toBeNull();
    const both: Evidence[] = [
      { kind: 'check', id: 'look', outcome: 'o1' },
      { kind: 'check', id: 'look', outcome: 'o2' },
    ];
    expect(odds([], both)).toBeUndefined();
    expect(made(parts, [], both)).toBeNull();
  });
});

describe('a cell that may be dangerous', () => {
  const symptoms = [
    symptomOf('bulge', { otherwise: 0.1, faults: { x: 0.5, y: 0.49, v: 0.9 } }, { means: ['swollen'] }),
    symptomOf('warm', { otherwise: 0.1, faults: { z: 0.9 } }),
  ];
  const cell = (
    weights: readonly (readonly [string, number])[],
    seen: string[] = [],
    evidence: Evidence[] = [],
  ) =>
    must(made({ faults: weights.map(([id, weight]) => fault(id, weight)), symptoms }, seen, evidence)).state
      .danger;

  it('is known by the faults that an isolating symptom is seen with half of the time or more', () => {
    const knowledge = smallPack({ families: [family], faults: [], symptoms });
    expect([...cellFaults(knowledge)].sort()).toEqual(['v', 'x']);
  });

  it('is suspected from a fifth of the belief in these, together', () => {
    expect(
      cell([
        ['x', 1],
        ['z', 4],
      ]),
    ).toBe('suspect');
    expect(
      cell([
        ['x', 0.99],
        ['z', 4],
      ]),
    ).toBe('none');
    expect(
      cell([
        ['x', 1],
        ['v', 1],
        ['z', 8],
      ]),
    ).toBe('suspect');
    expect(
      cell([
        ['y', 5],
        ['z', 4],
      ]),
    ).toBe('none');
  });

  it('stays so until it was said to be set apart, whatever else was done', () => {
    const look: Evidence = { kind: 'check', id: 'look', outcome: 'o1' };
    expect(
      cell(
        [
          ['x', 1],
          ['z', 4],
        ],
        [],
        [look],
      ),
    ).toBe('suspect');
    expect(
      cell(
        [
          ['x', 1],
          ['z', 40],
        ],
        ['bulge', 'warm'],
      ),
    ).toBe('suspect');
    expect(
      cell(
        [
          ['x', 1],
          ['z', 40],
        ],
        ['not-in-the-pack'],
      ),
    ).toBe('none');
  });
});

describe('faults that are planned for', () => {
  it('are those with a two-hundredth of the belief or more', () => {
    const faults = [fault('x', 199), fault('y', 1)];
    expect(must(made({ faults })).problem.faults.map(({ id }) => id)).toEqual(['x', 'y']);
    const fewer = must(made({ faults: [fault('x', 199.1), fault('y', 1)] }));
    expect(fewer.problem.faults).toEqual([{ id: 'x', prior: 1 }]);
    expect(fewer.leftOut).toBeCloseTo(1 / 200.1, 12);
  });
});

describe('how far the phone is open', () => {
  const rows = { otherwise: [0.5, 0.5], faults: { x: [0.9, 0.1] } };
  const parts = {
    faults: [fault('x', 1), fault('y', 1)],
    checks: [checkOf('inside', rows, { access: 'open' }), checkOf('under', rows, { access: 'board' })],
    remedies: [remedyOf('swap', { x: 0.5 }, { access: 'open' })],
  };
  const level = (...evidence: Evidence[]) => must(made(parts, [], evidence)).problem.level;

  it('follows from the checks that were answered and the remedies that failed, not from what could not be done', () => {
    expect(level()).toBe(0);
    expect(level({ kind: 'check', id: 'inside', outcome: 'o1' })).toBe(1);
    expect(level({ kind: 'failed', id: 'swap' })).toBe(1);
    expect(level({ kind: 'cannot', id: 'under' })).toBe(0);
    expect(level({ kind: 'failed', id: 'swap' }, { kind: 'check', id: 'under', outcome: 'o1' })).toBe(2);
    expect(level({ kind: 'check', id: 'not-in-the-pack', outcome: 'o1' })).toBe(0);
  });

  it('a step is not proposed twice', () => {
    const after = must(
      made(
        parts,
        [],
        [
          { kind: 'cannot', id: 'under' },
          { kind: 'failed', id: 'swap' },
        ],
      ),
    );
    expect(after.problem.checks.map(({ id }) => id)).toEqual(['inside']);
    expect(after.problem.remedies).toEqual([]);
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
        smallPack({ families: [family], faults: [], pairing: [pairingFor('port', effect, { likely })] }),
        family,
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
    const knowledge = smallPack({ families: [family], faults: [], pairing });
    expect(keepsAfter(knowledge, family, remedyOf('fit', {}, { parts }))).toBeCloseTo(0.8 * 0.95 * 0.97, 12);
  });
});

describe('stripping', () => {
  const whole = { ...family, components: { port: null, screen: null, lens: null, frame: null } };
  const parts = {
    faults: [fault('x', 3), faultOf('s', 1, { component: 'screen' })],
    // Nothing is known of what a frame fetches.
    components: [componentOf('port', 0.5), componentOf('screen', 1), componentOf('lens', 0.9)],
    pairing: [pairingFor('lens', 'notice', { travels: true })],
  };

  it('fetches two in five of what is sound, known and not tied to its board, less the time', () => {
    const found = must(made(parts, [], [], whole));
    // Ten for a part: 5 and 10, of which .4; two of them out in 2 minutes each, after 6 to open and 5 to the board.
    expect(found.stripMinutes).toBe(6 + 5 + 4);
    expect(found.problem.stops.map(({ id }) => id)).toEqual(['strip', 'pass']);
    const [strip] = found.problem.stops;
    expect(strip?.byFault[0]).toBeCloseTo(4 - 7.5, 12);
    expect(strip?.byFault[1]).toBeCloseTo(2 - 7.5, 12);
    expect(found.stripValue).toBeCloseTo(0.75 * -3.5 + 0.25 * -5.5, 12);
  });

  it('a lost function ties a component, a notice alone does not', () => {
    const minutes = (pairing: Parts['pairing']) =>
      must(made({ ...parts, ...(pairing ? { pairing } : {}) }, [], [], whole)).stripMinutes;
    expect(minutes([])).toBe(11 + 6);
    expect(minutes([pairingFor('lens', 'notice'), pairingFor('port', 'reduced')])).toBe(11 + 6);
    expect(minutes([pairingFor('lens', 'lost'), pairingFor('port', 'free', { travels: true })])).toBe(11 + 2);
  });
});

describe('the order of the checks', () => {
  const sure: Check['given'] = { otherwise: [0, 1], faults: { x: [1, 0] } };
  const faults = [fault('x', 1), fault('y', 1)];
  const order = (checks: readonly Check[], evidence: Evidence[] = [], of = faults) =>
    must(made({ faults: of, checks, remedies: [swap] }, [], evidence)).problem.checks.map(({ id }) => id);

  it('is by what they tell for their cost: time, a minute more, and three tenths of the opening', () => {
    // Both tell all. Closed, 4 minutes: 2 and .5. Open, 1 minute: .5, .5 and .3 of 10 minutes, 1.5. Equal, so by id.
    const inside = (minutes: number, id = 'b') => checkOf(id, sure, { minutes, access: 'open' });
    const outside = checkOf('c', sure, { minutes: 4 });
    expect(order([outside, inside(1)])).toEqual(['b', 'c']);
    expect(order([inside(1, 'd'), outside])).toEqual(['c', 'd']);
    expect(order([outside, inside(1, 'd')])).toEqual(['c', 'd']);
    expect(order([outside, inside(0.9, 'd')])).toEqual(['d', 'c']);
    expect(order([inside(1.1), outside])).toEqual(['c', 'b']);
    // To the board it is 5 minutes more, .3 of 15 in all: 2.25 and .5, a little more than 4 minutes outside.
    const under = checkOf('a', sure, { minutes: 0, access: 'board' });
    expect(order([under, outside])).toEqual(['c', 'a']);
    expect(order([under, checkOf('c', sure, { minutes: 4.6 })])).toEqual(['a', 'c']);
    // Once it is open that is paid.
    const open = checkOf('seen', { otherwise: [0.5, 0.5], faults: {} }, { access: 'open' });
    expect(order([outside, inside(3.9, 'd'), open], [{ kind: 'check', id: 'seen', outcome: 'o1' }])).toEqual([
      'd',
      'c',
    ]);
  });

  it('is by the bits that they tell of the fault: what they leave in doubt is taken off', () => {
    // Three to one. A check that tells all tells H(.25) = .8113 bits. One that says o1 for x, and either for y:
    // H(.125) - .25 x 1 = .5436 - .25 = .2936 bits in one minute, as much a minute as all in 4.526 minutes.
    const vague = checkOf('vague', { otherwise: [0.5, 0.5], faults: { x: [1, 0] } }, { minutes: 1 });
    const clear = (minutes: number) => checkOf('clear', sure, { minutes });
    const uneven = [fault('x', 3), fault('y', 1)];
    expect(order([vague, clear(4.5)], [], uneven)).toEqual(['clear', 'vague']);
    expect(order([clear(4.55), vague], [], uneven)).toEqual(['vague', 'clear']);
  });

  it('leaves out a check that tells nothing, and those after the fourteenth, and says so', () => {
    const nothing = checkOf('nothing', { otherwise: [0.3, 0.7], faults: {} });
    const many = (n: number) =>
      Array.from({ length: n }, (_, i) =>
        checkOf(`c${String.fromCharCode(97 + i)}`, sure, { minutes: n - i }),
      );
    expect(order([nothing, ...many(2)])).toEqual(['cb', 'ca']);
    const bench = (n: number) => must(made({ faults, checks: [nothing, ...many(n)], remedies: [swap] }));
    expect(bench(13).uncut).toBe(true);
    expect(bench(14).uncut).toBe(true);
    expect(bench(15).uncut).toBe(false);
    expect(bench(14).problem.checks).toHaveLength(14);
    const cut = bench(16);
    expect(cut.problem.checks.map(({ id }) => id)).toEqual(
      [...'ponmlkjihgfedc'].map((letter) => `c${letter}`),
    );
    expect(cut.minutes.checks).toEqual(cut.problem.checks.map((_, i) => i + 1));
    expect(cut.parts.checks).toEqual(cut.problem.checks.map(() => 0));
  });

  it('the limit counts the checks that were cut, too', () => {
    const base = must(made({ faults, checks: [], remedies: [swap] }));
    const cheap = must(made({ faults, checks: [checkOf('c', sure, { minutes: 0 })], remedies: [swap] }));
    // The fault known for nothing: half of the jobs are worth .9 x 100 less 5 for the time, the others are passed on.
    expect(cheap.limit).toBeCloseTo(0.5 * (90 - 5), 9);
    expect(base.limit).toBeCloseTo(0.5 * 90 - 5, 9);
  });
});

describe('the plan for a case', () => {
  const bench = must(made({ faults: [fault('x', 1), fault('y', 1)], checks: [], remedies: [swap] }));
  const withProblem = (problem: DecisionProblem['problem']): DecisionProblem => ({ ...bench, problem });

  it('spends fewer steps on a larger problem: 2600 over size^1.25, from 7 to 150', () => {
    // Each is too hard to be settled in so few: the whole budget is spent.
    for (const [faults, checks, remedies, steps] of [
      [14, 9, 9, 34],
      [20, 8, 12, 26],
      [60, 30, 30, 7],
      [60, 60, 60, 7],
    ] as const) {
      const found = planFor(withProblem(randomProblem(7, { faults, checks, remedies })));
      expect(found.exact).toBe(false);
      expect(found.expansions).toBe(steps);
    }
  });

  it('is kept for the same problem, and the three hundred last ones are', () => {
    const tiny = (cost: number) => {
      const [remedy] = bench.problem.remedies;
      if (!remedy) throw new Error('no remedy');
      return withProblem({ ...bench.problem, remedies: [{ ...remedy, cost }] });
    };
    const first = planFor(tiny(1));
    expect(planFor(tiny(1))).toBe(first);
    expect(planFor(tiny(2))).not.toEqual(first);
    for (let n = 1; n < 299; n++) planFor(tiny(100 + n));
    expect(planFor(tiny(1))).toBe(first);
    for (let n = 0; n < 300; n++) planFor(tiny(1000 + n));
    expect(planFor(tiny(1))).not.toBe(first);
    expect(planFor(tiny(1))).toEqual(first);
  });
});
