import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  condition,
  conditionAll,
  entropy,
  failureLikelihood,
  outcomeChances,
  outcomeLikelihood,
} from '../../shared/diagnosis/posterior.ts';

describe("Bayes' rule", () => {
  it('T6 (derived) by hand: K1 low from .5 .3 .2 is .45 .03 .04 over .52', () => {
    const given = [
      [0.9, 0.1],
      [0.1, 0.9],
      [0.2, 0.8],
    ];
    const belief = condition([0.5, 0.3, 0.2], outcomeLikelihood(given, 0));
    [0.45, 0.03, 0.04].forEach((joint, f) => {
      expect(belief?.[f]).toBeCloseTo(joint / 0.52, 12);
    });
    expect(outcomeChances([0.5, 0.3, 0.2], given)[0]).toBeCloseTo(0.52, 12);
  });

  it('a remedy that fails takes its share: works 1, .5, 0 from equal thirds leaves 0, 1/3, 2/3', () => {
    const belief = condition([1, 1, 1], failureLikelihood([1, 0.5, 0]));
    [0, 1 / 3, 2 / 3].forEach((b, f) => {
      expect(belief?.[f]).toBeCloseTo(b, 12);
    });
  });

  it('is null when impossible and refuses unequal lengths', () => {
    expect(condition([0.5, 0.5], [0, 0])).toBeNull();
    expect(
      conditionAll(
        [0.5, 0.5],
        [
          [1, 0],
          [0, 1],
        ],
      ),
    ).toBeNull();
    expect(() => condition([1], [1, 1])).toThrow(RangeError);
  });

  it('sums to 1, and independent evidence may come in any order', () => {
    const row = fc.array(fc.double({ min: 0.01, max: 1, noNaN: true }), { minLength: 4, maxLength: 4 });
    fc.assert(
      fc.property(row, fc.array(row, { minLength: 1, maxLength: 5 }), (prior, evidence) => {
        const one = conditionAll(prior, evidence);
        const other = conditionAll(prior, [...evidence].reverse());
        expect(one?.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 12);
        one?.forEach((b, f) => {
          expect(other?.[f]).toBeCloseTo(b, 10);
        });
      }),
    );
  });

  it('entropy in bits: 2 for four equal chances, 0 when sure (Shannon 1948)', () => {
    expect(entropy([0.25, 0.25, 0.25, 0.25])).toBeCloseTo(2, 12);
    expect(entropy([1, 0])).toBe(0);
  });
});
