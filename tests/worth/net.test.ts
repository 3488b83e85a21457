import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { expectedMin, valueCdf, valueQuantile } from '../../shared/market/value.ts';
import {
  highestPrice,
  holds,
  lossChance,
  netCdf,
  netMean,
  netQuantile,
  type Terms,
} from '../../shared/worth/net.ts';
import { randomTerms } from './random-terms.ts';

it('has quantiles that its distribution gives back', () => {
  fc.assert(
    fc.property(randomTerms, fc.double({ min: 0, max: 600, noNaN: true }), (one, at) => {
      const low = netQuantile(one, at, 0.1);
      const high = netQuantile(one, at, 0.9);
      expect(low).toBeLessThanOrEqual(high + 1e-6);
      expect(netCdf(one, at, low)).toBeGreaterThanOrEqual(0.1 - 1e-9);
      expect(netCdf(one, at, low - 0.001)).toBeLessThanOrEqual(0.1 + 1e-3);
    }),
    { numRuns: 200 },
  );
});

describe('by hand', () => {
  const sale = { location: Math.log(300), scale: 0.3, degrees: 6 };
  /** Sells for just the amount. */
  const sure = (amount: number) => ({ location: Math.log(amount), scale: 1e-9, degrees: 200 });
  const one = (cost: number, sold: Terms['endings'][number]['sale'], more: Partial<Terms> = {}): Terms => ({
    endings: [{ chance: 1, cost, sale: sold }],
    fee: 0,
    taxFraction: 0,
    cap: 1_000,
    ...more,
  });

  it('a sale below the price bears no tax on its margin', () => {
    const randomTerms = one(20, sale, { fee: 0.1, taxFraction: 1 / 6 });
    // Net of -80 at a price of 300: the sale is (300 + 20 - 80) / .9, below 300.
    expect(netCdf(randomTerms, 300, -80)).toBeCloseTo(valueCdf(sale, 240 / 0.9), 9);
    // Net of 20: s · .9 - (s - 300)/6 - 320 = 20, so s = 290 / (.9 - 1/6).
    expect(netCdf(randomTerms, 300, 20)).toBeCloseTo(valueCdf(sale, 290 / (0.9 - 1 / 6)), 9);
  });

  it('a price above every sale that is counted bears none either', () => {
    const randomTerms = one(5, sale, { fee: 0.1, taxFraction: 1 / 6, cap: 400 });
    expect(netMean(randomTerms, 500)).toBeCloseTo(expectedMin(sale, 400) * 0.9 - 505, 9);
  });

  it('what is certain is at or below itself', () => {
    expect(netCdf(one(30, null), 10, -40)).toBe(1);
    expect(netCdf(one(30, null), 10, -40.001)).toBe(0);
  });

  it('without cost, fee and price the quantiles are those of the sale', () => {
    for (const p of [0.1, 0.5, 0.9])
      expect(netQuantile(one(0, sale), 0, p)).toBeCloseTo(valueQuantile(sale, p), 4);
  });

  it('the margin is a share of the sales: 200 sold, 100 spent, a fifth wanted leaves 60 to pay', () => {
    const randomTerms = one(100, sure(200));
    expect(highestPrice(randomTerms, { margin: 0.2, risk: 1 })).toBeCloseTo(60, 3);
    expect(highestPrice(randomTerms, { margin: 0, risk: 1 })).toBeCloseTo(100, 3);
    expect(holds(randomTerms, 59.9, { margin: 0.2, risk: 1 })).toBe(true);
    expect(holds(randomTerms, 60.1, { margin: 0.2, risk: 1 })).toBe(false);
  });

  it('nothing gained is not worth taking, and a gain against the risk limit is not either', () => {
    expect(holds(one(0, null), 0, { margin: 0, risk: 1 })).toBe(false);
    const even: Terms = {
      ...one(0, null),
      endings: [
        { chance: 0.5, cost: 0, sale: sure(200) },
        { chance: 0.5, cost: 20, sale: null },
      ],
    };
    expect(netMean(even, 10)).toBeCloseTo(80, 5);
    expect(lossChance(even, 10)).toBeCloseTo(0.5, 9);
    expect(holds(even, 10, { margin: 0, risk: 0.5 })).toBe(true);
    expect(holds(even, 10, { margin: 0, risk: 0.4 })).toBe(false);
  });

  it('what an ending brings in for certain can be paid, above the cap too, at no risk', () => {
    const randomTerms = one(-50, null, { cap: 10 });
    expect(lossChance(randomTerms, 49)).toBe(0);
    expect(holds(randomTerms, 49, { margin: 0, risk: 0 })).toBe(true);
    expect(highestPrice(randomTerms, { margin: 0, risk: 0 })).toBeCloseTo(50, 6);
  });
});
