import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { conditionAll } from '../oracles/likelihoods.ts';
import { condition } from '../oracles/one-fault/posterior.ts';

describe("Bayes' rule", () => {
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
});
