import fc from 'fast-check';
import jStat from 'jstat';
import { describe, expect, it } from 'vitest';
import {
  betaUpdate,
  chooseStrength,
  dirichletMean,
  familyWeights,
  learnOutcomes,
  learnSuccess,
  logGamma,
  logMarginal,
  pooledMean,
  type SeenRow,
  trustInRows,
  withFloor,
  withSlip,
} from '../../shared/diagnosis/bayes.ts';
import { seeded } from './random-problem.ts';

const sum = (list: readonly number[]) => list.reduce((a, b) => a + b, 0);

describe('conjugate updates', () => {
  it('no learnt chance falls below .01 and outcomes still sum to 1', () => {
    const chances = fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 2, maxLength: 6 });
    fc.assert(
      fc.property(chances, (raw) => {
        const total = sum(raw);
        fc.pre(total > 1e-6);
        const floored = withFloor(raw.map((x) => x / total));
        expect(sum(floored)).toBeCloseTo(1, 12);
        for (const x of floored) expect(x).toBeGreaterThanOrEqual(0.01 - 1e-12);
      }),
    );
    expect(learnOutcomes([0.98, 0.01, 0.01], 5, [500, 0, 0])).toEqual([0.98, 0.01, 0.01]);
    expect(learnSuccess(0.99, 4, 400, 400)).toBe(0.99);
    expect(() => betaUpdate({ a: 1, b: 1 }, 5, 4)).toThrow(RangeError);
  });
});

describe('pooling over families', () => {
  it("a family starts from the others' jobs and not from its own twice", () => {
    const pool = {
      means: [
        [0.5, 0.5],
        [0.5, 0.5],
      ],
      strength: 10,
      counts: [
        [8, 0],
        [0, 10],
      ],
    };
    const others = pooledMean(pool, 0);
    expect(others[0]).toBeCloseTo(5 / 20, 12);
    // (20 * .25 + 8) / 28, at the strength used below five families.
    expect(chooseStrength(pool)).toBe(20);
    expect(familyWeights(pool, 0)[0]).toBeCloseTo(13 / 28, 12);
  });

  it('a fault that no other family can have keeps its weight, however many jobs they had', () => {
    const [own = 0] = pooledMean(
      {
        means: [
          [0.2, 0.4, 0.4],
          [0, 0.5, 0.5],
        ],
        strength: 10,
        counts: [
          [0, 0, 0],
          [0, 500, 500],
        ],
      },
      0,
    );
    expect(own).toBeCloseTo(0.2, 12);
  });

  it('families alike are pooled hard, families unlike hardly', () => {
    const random = seeded(5);
    const family = (chance: number) => {
      const first = Array.from({ length: 40 }, () => (random() < chance ? 1 : 0)).reduce<number>(
        (a, b) => a + b,
        0,
      );
      return [first, 40 - first];
    };
    const pool = (chances: readonly number[]) => ({
      means: chances.map(() => [0.5, 0.5]),
      strength: 10,
      counts: chances.map(family),
    });
    const alike = chooseStrength(pool([0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5]));
    const unlike = chooseStrength(pool([0.05, 0.95, 0.1, 0.9, 0.05, 0.95, 0.1, 0.9]));
    expect(alike).toBeGreaterThan(30);
    expect(unlike).toBeLessThan(6);
    for (const strength of [alike, unlike]) {
      expect(strength).toBeGreaterThanOrEqual(2);
      expect(strength).toBeLessThanOrEqual(100);
    }
  });
});

describe('refusals', () => {
  it('a prior needs a strength above 0 and one count for each weight', () => {
    expect(() => dirichletMean([0.5, 0.5], 1, [1])).toThrow('one count for each');
    for (const strength of [0, -1, Number.NaN])
      expect(() => dirichletMean([0.5, 0.5], strength, [1, 1])).toThrow(`above 0, not ${strength}`);
  });

  it('successes lie between none and all tried', () => {
    expect(betaUpdate({ a: 1, b: 1 }, 0, 3)).toEqual({ a: 1, b: 4, mean: 0.2 });
    expect(betaUpdate({ a: 1, b: 1 }, 3, 3)).toEqual({ a: 4, b: 1, mean: 0.8 });
    for (const worked of [-1, 4])
      expect(() => betaUpdate({ a: 1, b: 1 }, worked, 3)).toThrow(`${worked} of 3`);
  });

  it('a floor leaves room for all outcomes', () => {
    expect(withFloor([1, 0], 0.5)).toEqual([0.5, 0.5]);
    expect(() => withFloor([0.5, 0.5], 0.51)).toThrow('floor too high');
    expect(() => withFloor([0.4, 0.3, 0.3], 0.4)).toThrow('floor too high');
  });
});

describe('by hand', () => {
  it('a floor that pushes a second one under it raises that too', () => {
    // .1 below .2: the others are scaled by .8/.9, which brings .21 to .1867, so it is raised as well and .69 keeps .6.
    const floored = withFloor([0.1, 0.21, 0.69], 0.2);
    [0.2, 0.2, 0.6].forEach((x, i) => {
      expect(floored[i]).toBeCloseTo(x, 12);
    });
  });

  it('ln of the gamma function, against an independent library', () => {
    for (const x of [0.01, 0.5, 1, 2.5, 9.999, 10, 10.001, 37, 400]) {
      expect(logGamma(x)).toBeCloseTo(jStat.gammaln(x), 8);
    }
    // Exactly: 9! = 362880, and G(1/2) = sqrt(pi).
    expect(logGamma(10)).toBeCloseTo(Math.log(362_880), 11);
    expect(logGamma(0.5)).toBeCloseTo(Math.log(Math.PI) / 2, 11);
  });

  it('a fault that the family cannot have stays out, and a short row of counts is no error', () => {
    const pool = {
      means: [
        [0, 0.6, 0.4],
        [0.5, 0.5],
      ],
      strength: 10,
      counts: [
        [0, 0, 0],
        [2, 6],
      ],
    };
    const moved = pooledMean(pool, 0);
    // Expected of the others' 8 jobs: 4 of the second fault; seen 6. The third they cannot have.
    const second = (0.6 * (6 + 6)) / (6 + 4);
    expect(moved).toHaveLength(3);
    expect(moved[0]).toBe(0);
    expect(moved[1]).toBeCloseTo(second / (second + 0.4), 12);
    expect(sum(moved)).toBeCloseTo(1, 12);
    // No family of that number: nothing to weigh.
    expect(pooledMean(pool, 7)).toEqual([]);
  });
});

describe('the strength of pooling', () => {
  /** ln of the chance of the counts, one job after the other, by the urn. */
  const byUrn = (alpha: readonly number[], counts: readonly number[]): number => {
    let [log, seen] = [0, 0];
    const total = sum(alpha);
    counts.forEach((count, i) => {
      for (let k = 0; k < count; k += 1) {
        log += Math.log(((alpha[i] ?? 0) + k) / (total + seen));
        seen += 1;
      }
    });
    return log;
  };

  it('is the likeliest of 2 to 100, by the urn, over the families that have jobs; 20 for fewer than five', () => {
    const random = seeded(11);
    for (let run = 0; run < 6; run += 1) {
      const counts = Array.from({ length: 7 }, (_, g) =>
        g < 2 ? [0, 0, 0] : Array.from({ length: 3 }, () => Math.floor(random() * (4 + run * 3))),
      );
      const means = counts.map(() => [0.5, 0.3, 0.2]);
      const pool = { means, strength: 12, counts };
      const busy = counts.flatMap((_, g) => (g < 2 ? [] : [g]));
      const scores = Array.from({ length: 99 }, (_, i) => ({
        strength: i + 2,
        score: sum(
          busy.map((g) =>
            byUrn(
              pooledMean(pool, g).map((m) => m * (i + 2)),
              counts[g] ?? [],
            ),
          ),
        ),
      }));
      const best = scores.reduce((a, b) => (b.score > a.score + 1e-9 ? b : a));
      expect(chooseStrength(pool)).toBe(best.strength);
      expect(chooseStrength({ ...pool, counts: counts.map((row, g) => (g === 2 ? [0, 0, 0] : row)) })).toBe(
        20,
      );
    }
  });

  it('has the marginal of the urn', () => {
    expect(logMarginal([3, 2], [2, 1])).toBeCloseTo(byUrn([3, 2], [2, 1]), 10);
    expect(logMarginal([3, 2], [0, 0])).toBeCloseTo(0, 12);
    // An outcome of no weight that was not seen changes nothing.
    expect(logMarginal([3, 2, 0], [2, 1, 0])).toBeCloseTo(byUrn([3, 2], [2, 1]), 10);
    expect(logMarginal([3, 2], [2])).toBeCloseTo(byUrn([3, 2], [2, 0]), 10);
  });
});

describe('trust in the rows of the pack', () => {
  const strengths = [4, 6, 8, 10, 15, 20, 30, 50, 80, 120, 200];
  const slips = [0, 0.02, 0.05, 0.08, 0.12, 0.16, 0.2];

  it('a misread share falls on every outcome alike', () => {
    const row = withSlip([0.9, 0.1, 0], 0.12);
    [0.88 * 0.9 + 0.04, 0.88 * 0.1 + 0.04, 0.04].forEach((x, i) => {
      expect(row[i]).toBeCloseTo(x, 12);
    });
    expect(withSlip([0.9, 0.1], 0)).toEqual([0.9, 0.1]);
  });

  it('below sixty outcomes it is what it starts from', () => {
    const rows = (n: number): SeenRow[] => [
      { mean: [0.9, 0.1], counts: [0, n - 20] },
      { mean: [0.5, 0.5], counts: [20, 0] },
    ];
    expect(trustInRows(rows(59))).toEqual({ strength: 10, slip: 0 });
    expect(trustInRows(rows(60))).not.toEqual({ strength: 10, slip: 0 });
    expect(trustInRows([])).toEqual({ strength: 10, slip: 0 });
  });

  it('is the likeliest slip at the usual strength, then the likeliest strength at that slip', () => {
    const random = seeded(23);
    const found = new Set<string>();
    for (let run = 0; run < 8; run += 1) {
      const misread = slips[run % slips.length] ?? 0;
      const rows = Array.from({ length: 12 }, (): SeenRow => {
        const lean = 0.6 + 0.39 * random();
        const mean = [lean, 1 - lean];
        const truth =
          run % 2 ? withSlip(mean, misread) : withSlip([0.5 + (random() - 0.5) * 0.9, 0.5], misread);
        const first = Array.from({ length: 25 }, () => Number(random() < (truth[0] ?? 0)));
        const seen = sum(first);
        return { mean, counts: [seen, 25 - seen] };
      });
      const score = (strength: number, slip: number) =>
        sum(
          rows.map(({ mean, counts }) =>
            logMarginal(
              withFloor(mean.map((m) => (1 - slip) * m + slip / mean.length)).map((m) => m * strength),
              counts,
            ),
          ),
        );
      const likeliest = (values: readonly number[], of: (value: number) => number) =>
        values.reduce((a, b) => (of(b) > of(a) ? b : a));
      const slip = likeliest(slips, (value) => score(10, value));
      const strength = likeliest([10, ...strengths], (value) => score(value, slip));
      expect(trustInRows(rows)).toEqual({ strength, slip });
      found.add(`${strength} ${slip}`);
    }
    expect(found.size).toBeGreaterThan(3);
  });
});
