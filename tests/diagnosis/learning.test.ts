import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  betaFromSpread,
  betaUpdate,
  chooseStrength,
  dirichletMean,
  familyWeights,
  learnOutcomes,
  learnSuccess,
  logGamma,
  logMarginal,
  pooledMean,
  shareCount,
  withFloor,
} from '../../shared/diagnosis/learning.ts';
import { jStat } from './jstat.ts';
import { seeded } from './random-problem.ts';

const sum = (list: readonly number[]) => list.reduce((a, b) => a + b, 0);

describe('conjugate updates', () => {
  it('Dirichlet (4,3,2,1) with counts (1,5,0,0) has mean .3125 .5 .125 .0625 (derived)', () => {
    const mean = dirichletMean([0.4, 0.3, 0.2, 0.1], 10, [1, 5, 0, 0]);
    [0.3125, 0.5, 0.125, 0.0625].forEach((m, i) => {
      expect(mean[i]).toBeCloseTo(m, 12);
    });
  });

  it('Beta(8,2) after 3 of 4 has mean 11/14, 80 % interval .640224 to .912004 (derived; quantiles by jstat)', () => {
    const { a, b, mean } = betaUpdate({ a: 8, b: 2 }, 3, 4);
    expect(mean).toBeCloseTo(11 / 14, 12);
    expect(jStat.beta.inv(0.1, a, b)).toBeCloseTo(0.640224, 6);
    expect(jStat.beta.inv(0.9, a, b)).toBeCloseTo(0.912004, 6);
    expect(learnSuccess(0.8, 10, 3, 4)).toBeCloseTo(11 / 14, 12);
  });

  it('from a mean and a spread: the Beta has just these', () => {
    const { a, b } = betaFromSpread(0.8, 0.12);
    expect(a / (a + b)).toBeCloseTo(0.8, 12);
    // Variance of a Beta: ab / ((a+b)^2 (a+b+1)).
    expect(Math.sqrt((a * b) / ((a + b) ** 2 * (a + b + 1)))).toBeCloseTo(0.12, 12);
    expect(() => betaFromSpread(0.5, 0.6)).toThrow(RangeError);
  });

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

describe('a fault that was not confirmed', () => {
  it('is shared by prior, outcomes seen and remedies that failed', () => {
    // By hand: .5*.9*.2 = .09, .3*.1*1 = .03, .2*.2*1 = .04, over .16.
    const share = shareCount([0.5, 0.3, 0.2], [[0.9, 0.1, 0.2]], [[0.8, 0, 0]]);
    [0.09 / 0.16, 0.03 / 0.16, 0.04 / 0.16].forEach((r, f) => {
      expect(share?.[f]).toBeCloseTo(r, 12);
    });
    expect(shareCount([1, 0], [[0, 1]], [])).toBeNull();
  });
});

describe('pooling over families', () => {
  it("log gamma agrees with jstat's", () => {
    for (const x of [0.01, 0.3, 1, 1.5, 2, 7.25, 33, 120.5, 4_000])
      expect(logGamma(x)).toBeCloseTo(jStat.gammaln(x), 8);
  });

  it('the marginal is the product of one-job predictions, whatever their order', () => {
    // Counts (2,1) under Dirichlet (3,2): 3/5 * 4/6 * 2/7.
    expect(logMarginal([3, 2], [2, 1])).toBeCloseTo(Math.log((3 / 5) * (4 / 6) * (2 / 7)), 12);
  });

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
