import fc from 'fast-check';
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
    expect([expectedMin(worked, 0), expectedMin(worked, -5)]).toEqual([0, 0]);
    expect([valueCdf(worked, 0), valueCdf(worked, -5)]).toEqual([0, 0]);
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
