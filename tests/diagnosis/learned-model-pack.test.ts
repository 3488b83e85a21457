/** What closed jobs do to a pack, worked out by hand on a pack of a few lines. */
import { describe, expect, it } from 'vitest';
import {
  chooseStrength,
  familyWeights,
  learnOutcomes,
  trustInRows,
  withSlip,
} from '../../shared/diagnosis/bayes.ts';
import type { OutcomeCounts } from '../../shared/diagnosis/learned-model.ts';
import { learnedModelOf, PACK_STRENGTH } from '../../shared/diagnosis/learned-model.ts';
import { checkOf, familyOf, faultOf, remedyOf, smallPack } from './small-pack.ts';

type Counts = Readonly<Record<string, number>>;
const mapOf = (counts: Counts) => new Map(Object.entries(counts));
const lessonsOf = ({
  faults = {},
  outcomes = {},
  jobs = {},
}: {
  faults?: Readonly<Record<string, Counts>>;
  outcomes?: Readonly<Record<string, Readonly<Record<string, Counts>>>>;
  jobs?: Counts;
}): OutcomeCounts => ({
  faults: new Map(Object.entries(faults).map(([family, counts]) => [family, mapOf(counts)])),
  outcomes: new Map(
    Object.entries(outcomes).map(([step, byFault]) => [
      step,
      new Map(Object.entries(byFault).map(([fault, counts]) => [fault, mapOf(counts)])),
    ]),
  ),
  jobs: new Map(Object.entries(jobs).map(([family, closed]) => [family, { closed, confirmed: 0 }])),
});

const port = { port: null };
const [plain, twin] = [familyOf('plain', { components: port }), familyOf('twin', { components: port })];
const rich = familyOf('rich', { components: { ...port, screen: null } });
const x = faultOf('x', 3, { component: 'port' });
const y = faultOf('y', 1, { component: 'port' });
const z = faultOf('z', 4, { component: 'screen' });
const faults = [x, y, z];
const look = checkOf('look', { otherwise: [0.5, 0.5], faults: { x: [0.9, 0.1] } });
const feel = checkOf('feel', { otherwise: [0.3, 0.7], faults: { y: [0.6, 0.4] } });
const mend = remedyOf('mend', { x: 0.8, z: 0.5 });
const pack = smallPack({ families: [plain, twin, rich], faults, checks: [look, feel], remedies: [mend] });

describe('nothing learnt', () => {
  it('is the pack itself, without weights', () => {
    const learnt = learnedModelOf(pack, lessonsOf({}));
    expect(learnt.knowledge).toBe(pack);
    expect(learnt.weights(plain)).toBeUndefined();
    expect(learnt.jobs(plain)).toEqual({ family: 0, all: 0 });
  });

  it('is worked out once for the same lessons and pack, and again for others', () => {
    const lessons = lessonsOf({ jobs: { plain: 1 } });
    const learnt = learnedModelOf(pack, lessons);
    expect(learnedModelOf(pack, lessons)).toBe(learnt);
    const other = { ...pack };
    expect(learnedModelOf(other, lessons).knowledge).toBe(other);
    expect(learnedModelOf(pack, lessons)).toBe(learnt);
    expect(learnedModelOf(pack, lessonsOf({ jobs: { plain: 2 } })).jobs(plain).all).toBe(2);
    expect(learnt.weights(plain)).toBe(learnt.weights(plain));
  });
});

describe('jobs', () => {
  it('are counted for the family and for all', () => {
    const { jobs } = learnedModelOf(pack, lessonsOf({ jobs: { plain: 3, rich: 4 } }));
    expect([plain, twin, rich].map((family) => jobs(family))).toEqual([
      { family: 3, all: 7 },
      { family: 0, all: 7 },
      { family: 4, all: 7 },
    ]);
  });
});

describe('weights', () => {
  it('are those of the pack, moved by the jobs of the other families and then by the own', () => {
    const two = smallPack({ families: [plain, twin], faults });
    const { weights } = learnedModelOf(
      two,
      lessonsOf({ jobs: { plain: 4, twin: 10 }, faults: { plain: { x: 4 }, twin: { y: 10 } } }),
    );
    // The pack says 3 to 1 and weighs 20 jobs. Plain: (15 + 0) / 30 from the twin, then 20 such jobs and 4 of its own.
    expect(PACK_STRENGTH).toBe(20);
    expect([...(weights(plain) ?? [])]).toEqual([
      ['x', expect.closeTo((20 * 0.5 + 4) / 24, 12)],
      ['y', expect.closeTo((20 * 0.5 + 0) / 24, 12)],
    ]);
    // The twin: (15 + 4) / 24 from plain, then 10 jobs without x.
    expect([...(weights(twin) ?? [])]).toEqual([
      ['x', expect.closeTo((20 * (19 / 24)) / 30, 12)],
      ['y', expect.closeTo((20 * (5 / 24) + 10) / 30, 12)],
    ]);
  });

  it('leave out what a family cannot have, whatever was counted, and what the pack does not know', () => {
    const lessons = lessonsOf({
      jobs: { plain: 9 },
      faults: { plain: { x: 1, z: 5, gone: 3 }, lost: { x: 50 } },
    });
    const { weights } = learnedModelOf(pack, lessons);
    // Only the one job with x counts: nothing was seen elsewhere, so 15 of 20 and then 16 of 21.
    expect([...(weights(plain) ?? [])]).toEqual([
      ['x', expect.closeTo(16 / 21, 12)],
      ['y', expect.closeTo(5 / 21, 12)],
    ]);
    const own = weights(rich);
    expect([...(own?.keys() ?? [])]).toEqual(['x', 'y', 'z']);
    expect([...(own?.values() ?? [])].reduce((a, b) => a + b, 0)).toBeCloseTo(1, 12);
    expect(weights(familyOf('lost'))).toBeUndefined();
  });

  it('take the strength that all families together are likeliest under, once five have jobs', () => {
    const families = ['a', 'b', 'c', 'd', 'e'].map((id) => familyOf(id, { components: port }));
    const counts = [
      [30, 1],
      [1, 30],
      [25, 2],
      [2, 28],
      [30, 0],
    ];
    const lessons = lessonsOf({
      jobs: { a: 1 },
      faults: Object.fromEntries(
        families.map(({ id }, g) => [id, { x: counts[g]?.[0] ?? 0, y: counts[g]?.[1] ?? 0 }]),
      ),
    });
    const { weights } = learnedModelOf(smallPack({ families, faults: [x, y] }), lessons);
    const pool = { means: families.map(() => [0.75, 0.25]), strength: 20, counts };
    const strength = chooseStrength(pool);
    expect(strength).toBeLessThan(20);
    families.forEach((family, g) => {
      const wanted = familyWeights(pool, g, strength);
      expect(weights(family)?.get('x')).toBeCloseTo(wanted[0] ?? Number.NaN, 12);
      expect(weights(family)?.get('y')).toBeCloseTo(wanted[1] ?? Number.NaN, 12);
    });
  });
});

describe('chances of outcomes', () => {
  const given = (outcomes: Parameters<typeof lessonsOf>[0]['outcomes'], id = 'look') =>
    learnedModelOf(pack, lessonsOf({ outcomes: outcomes ?? {} })).knowledge.checks.get(id)?.given;
  const about = (row: readonly number[]) => row.map((chance) => expect.closeTo(chance, 12));

  it('weigh ten jobs of the pack against what was seen, the faults without a row of their own together', () => {
    const seen = { x: { o1: 5, o2: 5 }, y: { o1: 10 }, z: { o2: 6 } };
    expect(given({ look: seen })).toEqual({
      otherwise: about([15 / 26, 11 / 26]),
      faults: { x: about([14 / 20, 6 / 20]) },
    });
    // Nothing was seen of the other check, and an outcome that a check does not have counts nothing.
    expect(given({ look: seen }, 'feel')).toEqual(feel.given);
    expect(given({ look: { x: { o1: 5, o2: 5, gone: 9 } } })?.faults).toEqual({
      x: about([14 / 20, 6 / 20]),
    });
  });

  it('leave a row alone of which nothing was seen', () => {
    expect(given({ look: { x: { o2: 10 } } })).toEqual({
      otherwise: [0.5, 0.5],
      faults: { x: about([9 / 20, 11 / 20]) },
    });
    expect(given({ look: { y: { o1: 10 } } })).toEqual({
      otherwise: about([15 / 20, 5 / 20]),
      faults: look.given.faults,
    });
    expect(given({ gone: { x: { o2: 10 } } })).toEqual(look.given);
    expect([
      ...learnedModelOf(pack, lessonsOf({ outcomes: { gone: { x: { o2: 10 } } } })).knowledge.checks,
    ]).toEqual([...pack.checks]);
  });

  it('leave the pack that was given as it was', () => {
    learnedModelOf(pack, lessonsOf({ outcomes: { look: { x: { o2: 90 } }, mend: { x: { works: 1 } } } }));
    expect(pack.checks.get('look')).toBe(look);
    expect(pack.checks.get('look')?.given.faults).toEqual({ x: [0.9, 0.1] });
    expect(pack.remedies.get('mend')?.works).toEqual({ x: 0.8, z: 0.5 });
  });

  it('are trusted less, in all checks, when a share of all answers seems to be misread', () => {
    const seen = { x: { o1: 40, o2: 30 }, y: { o1: 20, o2: 25 }, z: { o1: 4 } };
    const sharp = checkOf('look', { otherwise: [0.4, 0.6], faults: { x: [0.99, 0.01] } });
    const loose = smallPack({ families: [plain], faults, checks: [sharp, feel] });
    const rows = {
      x: { mean: [0.99, 0.01], counts: [40, 30] },
      otherwise: { mean: [0.4, 0.6], counts: [24, 25] },
    };
    const { strength, slip } = trustInRows([rows.x, rows.otherwise]);
    expect(slip).toBeGreaterThan(0);
    const { checks } = learnedModelOf(loose, lessonsOf({ outcomes: { look: seen } })).knowledge;
    expect(checks.get('look')?.given).toEqual({
      otherwise: about(learnOutcomes(withSlip([0.4, 0.6], slip), strength, [24, 25])),
      faults: { x: about(learnOutcomes(withSlip([0.99, 0.01], slip), strength, [40, 30])) },
    });
    // Nothing was seen of the other check: its rows are blunted and no more. By hand: (1 - slip) p + slip / 2.
    expect(checks.get('feel')?.given).toEqual({
      otherwise: about([0.3 * (1 - slip) + slip / 2, 0.7 * (1 - slip) + slip / 2]),
      faults: { y: about([0.6 * (1 - slip) + slip / 2, 0.4 * (1 - slip) + slip / 2]) },
    });
    // Only the row of x was seen: the shared row is blunted.
    const one = learnedModelOf(loose, lessonsOf({ outcomes: { look: { x: { o1: 40, o2: 40 } } } })).knowledge;
    const alone = trustInRows([{ mean: [0.99, 0.01], counts: [40, 40] }]).slip;
    expect(alone).toBeGreaterThan(0);
    expect(one.checks.get('look')?.given.otherwise).toEqual(
      about([0.4 * (1 - alone) + alone / 2, 0.6 * (1 - alone) + alone / 2]),
    );
  });

  it('are trusted by what the faults without a row showed, too', () => {
    const sharp = checkOf('look', { otherwise: [0.99, 0.01], faults: {} });
    const { strength, slip } = trustInRows([{ mean: [0.99, 0.01], counts: [40, 40] }]);
    expect(slip).toBeGreaterThan(0);
    const { checks } = learnedModelOf(
      smallPack({ families: [plain], faults, checks: [sharp] }),
      lessonsOf({ outcomes: { look: { x: { o1: 40 }, y: { o2: 40 } } } }),
    ).knowledge;
    expect(checks.get('look')?.given).toEqual({
      otherwise: about(learnOutcomes(withSlip([0.99, 0.01], slip), strength, [40, 40])),
      faults: {},
    });
  });

  it('are not blunted when what was seen is at least as clear as the pack says', () => {
    const seen = { x: { o1: 98, o2: 2 } };
    const { strength, slip } = trustInRows([{ mean: [0.9, 0.1], counts: [98, 2] }]);
    expect(slip).toBe(0);
    expect(given({ look: seen })).toEqual({
      otherwise: [0.5, 0.5],
      faults: { x: about(learnOutcomes([0.9, 0.1], strength, [98, 2])) },
    });
    expect(given({ look: seen }, 'feel')).toEqual(feel.given);
  });
});

describe('chances of success', () => {
  it('weigh ten jobs of the pack against those that worked or failed, for the faults that the pack knows one for', () => {
    const seen = { x: { works: 3, failed: 1 }, y: { works: 9 }, z: { failed: 10 } };
    const { knowledge } = learnedModelOf(
      pack,
      lessonsOf({ outcomes: { mend: seen, gone: { x: { works: 1 } } } }),
    );
    expect(knowledge.remedies.get('mend')).toEqual({
      ...mend,
      works: { x: expect.closeTo(11 / 14, 12), z: expect.closeTo(5 / 20, 12) },
    });
    expect([...knowledge.remedies.keys()]).toEqual(['mend']);
    // The pack's own stand where nothing was seen.
    const one = learnedModelOf(pack, lessonsOf({ outcomes: { mend: { x: { works: 10 } } } })).knowledge;
    expect(one.remedies.get('mend')?.works).toEqual({ x: expect.closeTo(18 / 20, 12), z: 0.5 });
    expect(one.checks.get('look')?.given).toEqual(look.given);
  });
});
