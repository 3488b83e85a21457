/** Expected shortfall: held against numerical integration, and against the four axioms of a coherent measure of risk. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { netMean, netQuantile, type Terms } from '../../shared/worth/net.ts';
import { worstShare } from '../../shared/worth/shortfall.ts';

const money = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const shares = fc.constantFrom(0.05, 0.1, 0.25, 0.5);
/** Two endings that sell something, one that sells nothing. */
const anyTerms = fc
  .record({
    weights: fc.tuple(money(0.1, 1), money(0.1, 1), money(0.1, 1)),
    costs: fc.tuple(money(0, 150), money(0, 150), money(-40, 150)),
    medians: fc.tuple(money(20, 600), money(5, 90)),
    scale: money(0.05, 0.5),
    fee: money(0, 0.3),
    taxFraction: fc.constantFrom(0, 1 / 6, 0.19 / 1.19),
  })
  .map(({ weights, costs, medians, scale, fee, taxFraction }): Terms => {
    const total = weights.reduce((sum, one) => sum + one, 0);
    const sale = (median: number) => ({ location: Math.log(median), scale, degrees: 5 });
    const [chance, other, none] = weights.map((one) => one / total) as [number, number, number];
    return {
      endings: [
        { chance, cost: costs[0], sale: sale(medians[0]) },
        { chance: other, cost: costs[1], sale: sale(medians[1]) },
        { chance: none, cost: costs[2], sale: null },
      ],
      fee,
      taxFraction,
      cap: 3 * Math.max(...medians),
    };
  });
const risk = (terms: Terms, price: number, share: number) => -worstShare(terms, price, share).mean;
const runs = { numRuns: 150 };

it('is the mean of the quantiles below the share, by numerical integration', { timeout: 600_000 }, () => {
  fc.assert(
    fc.property(anyTerms, money(0, 300), shares, (terms, price, share) => {
      const strips = 400;
      let sum = 0;
      for (let i = 0; i < strips; i += 1) sum += netQuantile(terms, price, (share * (i + 0.5)) / strips);
      const { mean } = worstShare(terms, price, share);
      // Strips miss the jumps between endings, of at most a few hundred, by half a strip each.
      expect(Math.abs(mean - sum / strips)).toBeLessThan(1.5);
    }),
    { numRuns: 60 },
  );
});

it('of the whole distribution it is the mean net', () => {
  fc.assert(
    fc.property(anyTerms, money(0, 300), (terms, price) => {
      expect(worstShare(terms, price, 1).mean).toBeCloseTo(netMean(terms, price), 6);
    }),
    runs,
  );
});

it('the endings of a tail sum to 1, and by their own means make up its mean', () => {
  fc.assert(
    fc.property(anyTerms, money(0, 300), shares, (terms, price, share) => {
      const { endings, mean, quantile } = worstShare(terms, price, share);
      expect(endings.reduce((sum, one) => sum + one, 0)).toBeCloseTo(1, 9);
      for (const [i, chance] of endings.entries())
        expect(chance * share).toBeLessThanOrEqual((terms.endings[i]?.chance ?? 0) + 1e-9);
      expect(mean).toBeLessThanOrEqual(quantile + 1e-9);
    }),
    runs,
  );
});

describe('where several endings come to the same', () => {
  const even: Terms = {
    endings: [
      { chance: 0.3, cost: 20, sale: null },
      { chance: 0.1, cost: 20, sale: null },
      { chance: 0.02, cost: 70, sale: null },
      { chance: 0.58, cost: 0, sale: null },
    ],
    fee: 0,
    taxFraction: 0,
    cap: 100,
  };
  it('the tail takes its share of each', () => {
    const tail = worstShare(even, 0, 0.1);
    expect(tail.mean).toBeCloseTo(-(0.02 * 70 + 0.08 * 20) / 0.1, 9);
    expect(tail.endings.map((one) => Number(one.toFixed(9)))).toEqual([0.6, 0.2, 0.2, 0]);
  });
  it('refuses a share that is none', () => {
    for (const share of [0, -0.1, 1.01, Number.NaN])
      expect(() => worstShare(even, 0, share)).toThrow('share');
  });
});

describe('coherent (Artzner, Delbaen, Eber & Heath 1999)', () => {
  it('a sure amount more lowers the risk by just that', () => {
    fc.assert(
      fc.property(anyTerms, money(0, 300), shares, money(0, 200), (terms, price, share, sure) => {
        const richer = { ...terms, endings: terms.endings.map((one) => ({ ...one, cost: one.cost - sure })) };
        expect(risk(richer, price, share)).toBeCloseTo(risk(terms, price, share) - sure, 6);
      }),
      runs,
    );
  });

  it('all money times a factor: the risk times that factor', () => {
    fc.assert(
      fc.property(anyTerms, money(0, 300), shares, money(0.1, 50), (terms, price, share, factor) => {
        const larger: Terms = {
          ...terms,
          cap: terms.cap * factor,
          endings: terms.endings.map((one) => ({
            ...one,
            cost: one.cost * factor,
            sale: one.sale && { ...one.sale, location: one.sale.location + Math.log(factor) },
          })),
        };
        const want = factor * risk(terms, price, share);
        expect(Math.abs(risk(larger, price * factor, share) - want)).toBeLessThan(
          1e-6 * Math.max(1, Math.abs(want)),
        );
      }),
      runs,
    );
  });

  it('what leaves no less whatever happens is no more of a risk', () => {
    fc.assert(
      fc.property(
        anyTerms,
        money(0, 300),
        shares,
        fc.tuple(money(0, 60), money(0, 60), money(0, 60)),
        money(1, 2),
        (terms, price, share, savings, dearer) => {
          const better: Terms = {
            ...terms,
            endings: terms.endings.map((one, i) => ({
              ...one,
              cost: one.cost - (savings[i] ?? 0),
              sale: one.sale && { ...one.sale, location: one.sale.location + Math.log(dearer) },
            })),
          };
          expect(risk(better, price, share)).toBeLessThanOrEqual(risk(terms, price, share) + 1e-6);
        },
      ),
      runs,
    );
  });

  it('two together are no more of a risk than both apart, however they hang together', () => {
    const states = fc.array(fc.record({ weight: money(0.05, 1), a: money(-200, 200), b: money(-200, 200) }), {
      minLength: 1,
      maxLength: 12,
    });
    const of = (endings: Terms['endings']): Terms => ({ endings, fee: 0, taxFraction: 0, cap: 1 });
    fc.assert(
      fc.property(states, shares, (list, share) => {
        const total = list.reduce((sum, { weight }) => sum + weight, 0);
        const terms = (cost: (state: { a: number; b: number }) => number) =>
          of(list.map((state) => ({ chance: state.weight / total, cost: cost(state), sale: null })));
        const together = risk(
          terms(({ a, b }) => a + b),
          0,
          share,
        );
        const apart =
          risk(
            terms(({ a }) => a),
            0,
            share,
          ) +
          risk(
            terms(({ b }) => b),
            0,
            share,
          );
        expect(together).toBeLessThanOrEqual(apart + 1e-6);
      }),
      { numRuns: 400 },
    );
  });

  it('and a quantile alone is not: two lots that each lose 1 time in 20, by hand', () => {
    const lose = (chance: number): Terms['endings'] => [
      { chance, cost: 100, sale: null },
      { chance: 1 - chance, cost: 0, sale: null },
    ];
    const one: Terms = { endings: lose(0.06), fee: 0, taxFraction: 0, cap: 1 };
    const two: Terms = {
      ...one,
      endings: [
        { chance: 0.06 ** 2, cost: 200, sale: null },
        { chance: 2 * 0.06 * 0.94, cost: 100, sale: null },
        { chance: 0.94 ** 2, cost: 0, sale: null },
      ],
    };
    expect(worstShare(one, 0, 0.1).quantile).toBeCloseTo(0, 6);
    expect(worstShare(two, 0, 0.1).quantile).toBeCloseTo(-100, 6);
    expect(risk(one, 0, 0.1)).toBeCloseTo(60, 9);
    expect(risk(two, 0, 0.1)).toBeCloseTo((0.0036 * 200 + 0.0964 * 100) / 0.1, 9);
  });
});

it('a sure gain beside it never adds risk, and a dearer phone never lowers it', () => {
  fc.assert(
    fc.property(anyTerms, money(0, 300), money(0.5, 100), money(0.05, 0.9), (terms, price, more, part) => {
      // A share of the chance moved to an ending that surely gains.
      const safer: Terms = {
        ...terms,
        endings: [
          ...terms.endings.map((one) => ({ ...one, chance: one.chance * part })),
          { chance: 1 - part, cost: -price - more, sale: null },
        ],
      };
      // The integral is exact to about a millionth of a unit of money.
      const before = risk(terms, price, 0.1);
      if (before >= 0) expect(risk(safer, price, 0.1)).toBeLessThanOrEqual(before + 1e-5);
      expect(risk(terms, price + more, 0.1)).toBeGreaterThanOrEqual(before - 1e-5);
    }),
    runs,
  );
});
