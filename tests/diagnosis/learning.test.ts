import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  betaFromSpread,
  betaUpdate,
  chooseStrength,
  familyWeights,
  learnOutcomes,
  learnSuccess,
  pooledMean,
  shareCount,
  withFloor,
} from '../../shared/diagnosis/learning.ts';
import { seeded } from './random-problem.ts';

const sum = (list: readonly number[]) => list.reduce((a, b) => a + b, 0);

describe('conjugate updates', () => {
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
