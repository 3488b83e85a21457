import fc from 'fast-check';
import { expect, test } from 'vitest';
import { tCdf, tQuantile } from '../../shared/market/student-t.ts';

const degreesOf = fc.oneof(fc.integer({ min: 1, max: 1000 }), fc.double({ min: 0.5, max: 200, noNaN: true }));
const anyT = fc.double({ min: -40, max: 40, noNaN: true });

test('symmetric, rising, and the quantile undoes it', () => {
  fc.assert(
    fc.property(anyT, anyT, degreesOf, (a, b, degrees) => {
      expect(tCdf(-a, degrees) + tCdf(a, degrees)).toBeCloseTo(1, 14);
      if (a < b) expect(tCdf(a, degrees)).toBeLessThanOrEqual(tCdf(b, degrees) + 1e-15);
    }),
  );
  fc.assert(
    fc.property(fc.double({ min: 1e-9, max: 1 - 1e-9, noNaN: true }), degreesOf, (p, degrees) => {
      expect(Math.abs(tCdf(tQuantile(p, degrees), degrees) / p - 1)).toBeLessThan(1e-12);
    }),
  );
});

test('ends and refusals', () => {
  expect([tQuantile(0, 5), tQuantile(0.5, 5), tQuantile(1, 5)]).toEqual([-Infinity, 0, Infinity]);
  expect([tCdf(-Infinity, 5), tCdf(0, 5), tCdf(Infinity, 5)]).toEqual([0, 0.5, 1]);
  for (const p of [-0.1, 1.2, Number.NaN]) expect(() => tQuantile(p, 5)).toThrow(`0 to 1, got ${p}`);
  expect(() => tCdf(Number.NaN, 5)).toThrow('not a number');
  for (const degrees of [0, -1, Number.NaN, Infinity])
    expect(() => tCdf(1, degrees)).toThrow(`above 0, got ${degrees}`);
});
