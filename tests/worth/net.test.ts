import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { valueCdf } from '../../shared/market/value.ts';
import {
  highestPrice,
  holds,
  lossChance,
  netCdf,
  netMean,
  netQuantile,
  type Terms,
} from '../../shared/worth/net.ts';

// Margin example, derived and recomputed by two independent programs: success .85, fee 10 %, cost 95 sunk, strip 70, cap 600,
// on the predictive of the market example (location 5.8739167, scale .1236288, 12 degrees).
const sale = { location: 5.8739167, scale: 0.1236288, degrees: 12 };
const example: Terms = {
  endings: [
    { chance: 0.85, cost: 95, sale },
    { chance: 0.15, cost: 95 - 70, sale: null },
  ],
  fee: 0.1,
  taxFraction: 0,
  cap: 600,
};

describe('the worked margin example (derived)', () => {
  it('has the expected net and the chance of a loss at 150 and at 180', () => {
    expect(netMean(example, 150)).toBeCloseTo(40.052, 3);
    expect(lossChance(example, 150)).toBeCloseTo(0.171895, 5);
    expect(netMean(example, 180)).toBeCloseTo(10.052, 3);
    expect(lossChance(example, 180)).toBeCloseTo(0.253309, 5);
  });
  it('breaks even at 190.052', () => {
    expect(highestPrice(example, { margin: 0, risk: 1 })).toBeCloseTo(190.052, 2);
  });
  it('turns at 179.261 where the chance of a loss may be .25', () => {
    expect(highestPrice(example, { margin: 0, risk: 0.25 })).toBeCloseTo(179.261, 2);
  });
});

const terms = fc
  .record({
    chance: fc.double({ min: 0.05, max: 1, noNaN: true }),
    cost: fc.double({ min: 0, max: 200, noNaN: true }),
    salvage: fc.double({ min: -60, max: 80, noNaN: true }),
    median: fc.double({ min: 20, max: 900, noNaN: true }),
    scale: fc.double({ min: 0.05, max: 0.5, noNaN: true }),
    fee: fc.double({ min: 0, max: 0.3, noNaN: true }),
    tax: fc.constantFrom(0, 1 / 6, 0.19 / 1.19),
  })
  .map(
    ({ chance, cost, salvage, median, scale, fee, tax }): Terms => ({
      endings: [
        { chance, cost, sale: { location: Math.log(median), scale, degrees: 8 } },
        { chance: 1 - chance, cost: cost - salvage, sale: null },
      ],
      fee,
      taxFraction: tax,
      cap: median * 3,
    }),
  );
const price = fc.double({ min: 0, max: 600, noNaN: true });

describe('net of a way out', () => {
  it('falls, and its chance of a loss rises, as the price rises', () => {
    fc.assert(
      fc.property(terms, price, fc.double({ min: 0.5, max: 100, noNaN: true }), (one, at, more) => {
        expect(netMean(one, at + more)).toBeLessThan(netMean(one, at));
        expect(lossChance(one, at + more)).toBeGreaterThanOrEqual(lossChance(one, at) - 1e-12);
      }),
      { numRuns: 200 },
    );
  });
  it('has a highest price just where the verdict turns', () => {
    fc.assert(
      fc.property(terms, (one) => {
        const limits = { margin: 0.1, risk: 0.25 };
        const most = highestPrice(one, limits);
        if (most === null) expect(holds(one, 0, limits)).toBe(false);
        else {
          expect(holds(one, most, limits)).toBe(true);
          expect(holds(one, most + 0.01, limits)).toBe(false);
        }
      }),
      { numRuns: 200 },
    );
  });
  it('has quantiles that its distribution gives back', () => {
    fc.assert(
      fc.property(terms, price, (one, at) => {
        const low = netQuantile(one, at, 0.1);
        const high = netQuantile(one, at, 0.9);
        expect(low).toBeLessThanOrEqual(high + 1e-6);
        expect(netCdf(one, at, low)).toBeGreaterThanOrEqual(0.1 - 1e-9);
        expect(netCdf(one, at, low - 0.001)).toBeLessThanOrEqual(0.1 + 1e-3);
      }),
      { numRuns: 200 },
    );
  });
  it('puts the distribution at the sale that leaves just that net, tax on the margin included', () => {
    const one = { chance: 1, cost: 30, sale };
    fc.assert(
      fc.property(
        price,
        fc.double({ min: -100, max: 300, noNaN: true }),
        fc.constantFrom(0, 1 / 6, 0.19 / 1.19),
        (at, x, t) => {
          // Directive 2006/112/EC art. 315: the tax is on the margin alone, and nothing at a loss. The sale is found by halving here.
          const net = (s: number) => s * 0.9 - t * Math.max(0, s - at) - one.cost - at;
          let low = 0;
          let high = 1e5;
          for (let step = 0; step < 100; step += 1) {
            const middle = (low + high) / 2;
            if (net(middle) < x) low = middle;
            else high = middle;
          }
          expect(netCdf({ endings: [one], fee: 0.1, taxFraction: t, cap: 1e6 }, at, x)).toBeCloseTo(
            valueCdf(sale, low),
            9,
          );
        },
      ),
      { numRuns: 300 },
    );
  });
  it('agrees with a sampled reference within its error (seeded)', () => {
    // A linear congruential generator and the ratio-of-normals form of Student-t: an independent way to the same numbers.
    let state = 20260302;
    const uniform = () => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return (state + 0.5) / 2 ** 32;
    };
    const normal = () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
    const draws = 60_000;
    let sum = 0;
    let squares = 0;
    let losses = 0;
    for (let i = 0; i < draws; i += 1) {
      let net = 70 - 95 - 150;
      if (uniform() < 0.85) {
        let chi = 0;
        for (let k = 0; k < 12; k += 1) chi += normal() ** 2;
        const sold = Math.exp(sale.location + (sale.scale * normal()) / Math.sqrt(chi / 12));
        net = Math.min(sold, 600) * 0.9 - 95 - 150;
      }
      sum += net;
      squares += net * net;
      if (net < 0) losses += 1;
    }
    const mean = sum / draws;
    const error = Math.sqrt((squares / draws - mean * mean) / draws);
    expect(Math.abs(netMean(example, 150) - mean)).toBeLessThan(4 * error);
    expect(Math.abs(lossChance(example, 150) - losses / draws)).toBeLessThan(0.01);
  });
});
