import fc from 'fast-check';
import { medianAbsoluteDeviation, probit, median as referenceMedian } from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import { MAD_TO_SD, mad, median, studentWeights } from '../../shared/market/robust.ts';
import { tQuantile } from '../../shared/market/student-t.ts';
import { michelson } from './nist-data.ts';

describe('median and MAD', () => {
  test('SAS/IML MAD function (data Barnett & Lewis; Rousseeuw & Croux 1993): 8, 4, 5.9304089', () => {
    const values = [3, 4, 7, 8, 10, 949, 951];
    expect(median(values)).toBe(8);
    expect(mad(values)).toBe(4);
    expect(MAD_TO_SD * mad(values)).toBeCloseTo(5.9304089, 6);
  });

  test('R documentation of mad: 1..9 and 1..8, 100 both give 2, scaled 2.9652', () => {
    for (const last of [9, 100]) {
      const values = [1, 2, 3, 4, 5, 6, 7, 8, last];
      expect(mad(values)).toBe(2);
      expect(MAD_TO_SD * mad(values)).toBeCloseTo(2.9652, 4);
    }
  });

  test('1 1 2 2 4 6 9: median 2, MAD 1 (an encyclopaedia example, from memory)', () => {
    expect([median([1, 1, 2, 2, 4, 6, 9]), mad([1, 1, 2, 2, 4, 6, 9])]).toEqual([2, 1]);
  });

  test('NIST StRD Michelson data: median 299.85, MAD 0.045 (computed from the data)', () => {
    expect(median(michelson)).toBeCloseTo(299.85, 12);
    expect(mad(michelson)).toBeCloseTo(0.045, 12);
  });

  test('the factor is 1 over the normal 0.75 quantile', () => {
    expect(MAD_TO_SD).toBeCloseTo(1 / tQuantile(0.75, 1e6), 5);
    expect(MAD_TO_SD).toBeCloseTo(1 / probit(0.75), 2);
  });

  test('simple-statistics gives the same on any values', () => {
    const values = fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { minLength: 1 });
    fc.assert(
      fc.property(values, (list) => {
        expect(median(list)).toBeCloseTo(referenceMedian(list), 6);
        expect(mad(list)).toBeCloseTo(medianAbsoluteDeviation(list), 6);
      }),
    );
    expect(() => median([])).toThrow(RangeError);
  });
});

describe('Student-t weights', () => {
  test('(nu + 1)/(nu + e^2/s^2) with nu = 4 (Lange, Little & Taylor 1989)', () => {
    expect(studentWeights([0, 1, -1, 2, 10], 1)).toEqual([1.25, 1, 1, 0.625, 5 / 104]);
    expect(studentWeights([0, 5], 2, Infinity)).toEqual([1, 1]);
  });
});
