import stdlibCdf from '@stdlib/stats-base-dists-t-cdf';
import stdlibPdf from '@stdlib/stats-base-dists-t-pdf';
import stdlibQuantile from '@stdlib/stats-base-dists-t-quantile';
import fc from 'fast-check';
import { jStat } from 'jstat';
import { describe, expect, test } from 'vitest';
import { tCdf, tDensity, tQuantile } from '../../shared/market/student-t.ts';

const degreesOf = fc.oneof(fc.integer({ min: 1, max: 1000 }), fc.double({ min: 0.5, max: 200, noNaN: true }));
const anyT = fc.double({ min: -40, max: 40, noNaN: true });
const relative = (got: number, want: number) => Math.abs(got - want) / Math.max(Math.abs(want), 1e-300);

// NIST/SEMATECH e-Handbook of Statistical Methods 1.3.6.7.2; Soong, Fundamentals of Probability, Table A.4.
describe.each([
  [1, [3.078, 6.314, 12.706, 31.821, 63.657]],
  [2, [1.886, 2.92, 4.303, 6.965, 9.925]],
  [5, [1.476, 2.015, 2.571, 3.365, 4.032]],
  [10, [1.372, 1.812, 2.228, 2.764, 3.169]],
  [20, [1.325, 1.725, 2.086, 2.528, 2.845]],
  [30, [1.31, 1.697, 2.042, 2.457, 2.75]],
  // The table's last row is the normal limit.
  [1e6, [1.282, 1.645, 1.96, 2.326, 2.576]],
])('NIST table of t, %d degrees', (degrees, row) => {
  test.each([0.1, 0.05, 0.025, 0.01, 0.005].map((tail, i) => [tail, row[i] ?? Number.NaN]))(
    'upper tail %d: %d',
    (tail, want) => {
      expect(Math.abs(tQuantile(1 - tail, degrees) - want)).toBeLessThanOrEqual(0.0005001);
      expect(1 - tCdf(want, degrees)).toBeCloseTo(tail, 3);
    },
  );
});

test('24 degrees, tail .005: 2.797 (one reprint of the table says 2.979)', () => {
  expect(tQuantile(0.995, 24)).toBeCloseTo(2.797, 3);
});

describe('independent programs', () => {
  test('@stdlib: density, distribution and quantile agree to 12 digits', () => {
    fc.assert(
      fc.property(anyT, degreesOf, (t, degrees) => {
        expect(relative(tDensity(t, degrees), stdlibPdf(t, degrees))).toBeLessThan(1e-12);
        // Nearer to 0 @stdlib itself is up to 1e-9 off the arctangent of one degree.
        if (Math.abs(t) > 0.01) expect(relative(tCdf(t, degrees), stdlibCdf(t, degrees))).toBeLessThan(5e-12);
      }),
      { numRuns: 500 },
    );
    fc.assert(
      fc.property(fc.double({ min: 1e-6, max: 1 - 1e-6, noNaN: true }), degreesOf, (p, degrees) => {
        fc.pre(Math.abs(p - 0.5) > 1e-3);
        expect(relative(tQuantile(p, degrees), stdlibQuantile(p, degrees))).toBeLessThan(1e-10);
      }),
      { numRuns: 500 },
    );
  });

  test('jstat: distribution agrees to 5e-8, which is how well jstat itself agrees with @stdlib', () => {
    for (const degrees of [1, 2, 3, 4, 7, 12, 13, 30, 100, 1000]) {
      for (let t = -12; t <= 12; t += 0.37) {
        expect(Math.abs(tCdf(t, degrees) - jStat.studentt.cdf(t, degrees))).toBeLessThan(5e-8);
      }
    }
  });
});

describe('exact cases and behaviour', () => {
  // Closed forms for 1 and 2 degrees (Abramowitz & Stegun 26.7.3, 26.7.4 for whole degrees).
  test('one degree is Cauchy, two degrees have a root form', () => {
    fc.assert(
      fc.property(anyT, (t) => {
        expect(tCdf(t, 1)).toBeCloseTo(0.5 + Math.atan(t) / Math.PI, 13);
        expect(tCdf(t, 2)).toBeCloseTo(0.5 + t / (2 * Math.sqrt(2 + t * t)), 13);
      }),
    );
    expect(relative(tQuantile(1e-12, 2), -707106.7811854685)).toBeLessThan(1e-9);
  });

  test('symmetric, rising, and the quantile undoes it', () => {
    fc.assert(
      fc.property(anyT, anyT, degreesOf, (a, b, degrees) => {
        expect(tCdf(-a, degrees) + tCdf(a, degrees)).toBeCloseTo(1, 14);
        if (a < b) expect(tCdf(a, degrees)).toBeLessThanOrEqual(tCdf(b, degrees) + 1e-15);
      }),
    );
    fc.assert(
      fc.property(fc.double({ min: 1e-9, max: 1 - 1e-9, noNaN: true }), degreesOf, (p, degrees) => {
        expect(relative(tCdf(tQuantile(p, degrees), degrees), p)).toBeLessThan(1e-12);
      }),
    );
  });

  test('ends and refusals', () => {
    expect([tQuantile(0, 5), tQuantile(0.5, 5), tQuantile(1, 5)]).toEqual([-Infinity, 0, Infinity]);
    expect([tCdf(-Infinity, 5), tCdf(0, 5), tCdf(Infinity, 5)]).toEqual([0, 0.5, 1]);
    for (const p of [-0.1, 1.2, Number.NaN]) expect(() => tQuantile(p, 5)).toThrow(RangeError);
    for (const degrees of [0, -1, Number.NaN]) expect(() => tCdf(1, degrees)).toThrow(RangeError);
  });
});
