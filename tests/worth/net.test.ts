import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { expectedMin, valueCdf, valueQuantile } from '../../shared/market/value.ts';
import { lossChance, netCdf, netMean, netQuantile, type Terms } from '../../shared/worth/net.ts';
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

  it('what an ending brings in for certain is no risk, above the cap too', () => {
    const terms = one(-50, null, { cap: 10 });
    expect(lossChance(terms, 49)).toBe(0);
    expect(netMean(terms, 49)).toBeCloseTo(1, 9);
  });
});
