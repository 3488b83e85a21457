import fc from 'fast-check';
import { jStat } from 'jstat';
import { describe, expect, test } from 'vitest';
import { expectedMin, type LogStudentT, valueCdf, valueQuantile } from '../../shared/market/value.ts';

// The worked market example at 18 months (derived).
const worked: LogStudentT = { location: 5.873916739225243, scale: 0.12362876546603281, degrees: 12 };

const anyValue = fc.record({
  location: fc.double({ min: 2, max: 12, noNaN: true }),
  scale: fc.double({ min: 0.02, max: 1.5, noNaN: true }),
  degrees: fc.double({ min: 2, max: 500, noNaN: true }),
});
const share = fc.double({ min: 0.001, max: 0.999, noNaN: true });

describe('worked margin example (derived)', () => {
  test('E[min(V, 600)] = 358.892', () => {
    expect(expectedMin(worked, 600)).toBeCloseTo(358.892, 3);
  });

  // Works .85, fee 10 %, cost 95, strip value 70: mean = .85 * .9 E + .15 * 70 - cost - price.
  const mean = (price: number) => 0.85 * 0.9 * expectedMin(worked, 600) + 0.15 * 70 - 95 - price;
  const loss = (price: number) =>
    0.85 * valueCdf(worked, (price + 95) / 0.9) + 0.15 * Number(70 < 95 + price);

  test('mean 40.052 and P(loss) .171895 at 150; 10.052 and .253309 at 180; even at 190.052', () => {
    expect(mean(150)).toBeCloseTo(40.052, 3);
    expect(mean(180)).toBeCloseTo(10.052, 3);
    expect(mean(190.052)).toBeCloseTo(0, 2);
    expect(loss(150)).toBeCloseTo(0.171895, 6);
    expect(loss(180)).toBeCloseTo(0.253309, 6);
    expect(loss(179.261)).toBeCloseTo(0.25, 5);
  });
});

describe('expected value up to a cap', () => {
  // E[min(V, cap)] = integral of P(V > v) from 0 to cap, here by the midpoint rule over prices.
  test('agrees with a plain sum over prices of the chance to exceed them', () => {
    const milder = fc.record({
      location: fc.double({ min: 2, max: 12, noNaN: true }),
      scale: fc.double({ min: 0.03, max: 0.6, noNaN: true }),
      degrees: fc.double({ min: 2, max: 500, noNaN: true }),
    });
    fc.assert(
      fc.property(milder, fc.double({ min: 0.01, max: 0.95, noNaN: true }), (value, p) => {
        const cap = valueQuantile(value, p);
        const steps = 4000;
        let total = 0;
        for (let i = 0; i < steps; i += 1) total += 1 - valueCdf(value, (cap * (i + 0.5)) / steps);
        expect(expectedMin(value, cap) / ((total * cap) / steps)).toBeCloseTo(1, 5);
      }),
      { numRuns: 50 },
    );
  });

  // Limited expected value of the lognormal: Klugman, Panjer & Willmot, Loss Models, appendix A (from memory).
  test.each([
    [0.1, 400],
    [0.3, 300],
    [0.3, 1500],
    [1, 360],
  ])('many degrees are lognormal: scale %d, cap %d', (scale, cap) => {
    const value = { location: Math.log(350), scale, degrees: 1e6 };
    const normal = (x: number) => jStat.normal.cdf(x, 0, 1);
    const z = (Math.log(cap) - value.location) / scale;
    const want = 350 * Math.exp(scale ** 2 / 2) * normal(z - scale) + cap * (1 - normal(z));
    expect(expectedMin(value, cap) / want).toBeCloseTo(1, 5);
  });

  test('its slope is the chance to reach the cap', () => {
    fc.assert(
      fc.property(anyValue, share, (value, p) => {
        const cap = valueQuantile(value, p);
        const h = cap * 1e-4;
        const slope = (expectedMin(value, cap + h) - expectedMin(value, cap - h)) / (2 * h);
        expect(slope).toBeCloseTo(1 - p, 4);
      }),
    );
  });

  test('rises with the cap and stays below it', () => {
    fc.assert(
      fc.property(anyValue, share, share, (value, a, b) => {
        const [low, high] = [valueQuantile(value, Math.min(a, b)), valueQuantile(value, Math.max(a, b))];
        const [first, second] = [expectedMin(value, low), expectedMin(value, high)];
        expect(first).toBeLessThanOrEqual(second * (1 + 1e-12));
        expect(second).toBeLessThanOrEqual(high * (1 + 1e-12));
        expect(first).toBeGreaterThan(0);
      }),
    );
    expect(expectedMin(worked, 0)).toBe(0);
    expect(expectedMin(worked, 1)).toBeCloseTo(1, 12);
    expect(expectedMin({ ...worked, scale: 1e-4 }, 600)).toBeCloseTo(Math.exp(worked.location), 2);
  });

  test('the chance below a quantile is its share', () => {
    fc.assert(
      fc.property(anyValue, share, (value, p) => {
        expect(valueCdf(value, valueQuantile(value, p))).toBeCloseTo(p, 10);
      }),
    );
    expect(valueCdf(worked, 0)).toBe(0);
  });
});
