import { dinero, halfEven, toDecimal, transformScale } from 'dinero.js';
import { AUD } from 'dinero.js/currencies';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { fromMajor, roundHalfEven } from '../../shared/money/money.ts';

describe('rounding, ties to even', () => {
  // Output printed in CPython issue 69015 (decimal module, ROUND_HALF_EVEN, exact decimals).
  test.each([
    ['1.05', '1.0'],
    ['1.15', '1.2'],
    ['1.25', '1.2'],
    ['1.35', '1.4'],
    ['1.45', '1.4'],
    ['1.55', '1.6'],
    ['1.65', '1.6'],
    ['1.75', '1.8'],
    ['1.85', '1.8'],
    ['1.95', '2.0'],
  ])('CPython issue 69015: %s to one decimal is %s', (text, rounded) => {
    expect(roundHalfEven(text, 1)).toBe(rounded);
  });

  test('CPython issue 69015: 2.675 is a tie as a decimal, and 2.68 is even', () => {
    expect(roundHalfEven('2.675', 2)).toBe('2.68');
    expect(roundHalfEven(2.675, 2)).toBe(2.68);
    expect(fromMajor(2.675, 'AUD').minor).toBe(268);
  });

  // Rule of IEEE 754-2019, 4.3.1 (roundTiesToEven); the rounded values are worked from it.
  test.each([
    ['0.5', 0, '0'],
    ['1.5', 0, '2'],
    ['2.5', 0, '2'],
    ['3.5', 0, '4'],
    ['-2.5', 0, '-2'],
    ['2.665', 2, '2.66'],
    ['0.125', 2, '0.12'],
    ['0.375', 2, '0.38'],
    ['1.005', 2, '1.00'],
    ['1.2345', 3, '1.234'],
    ['-0.5', 0, '0'],
  ])('IEEE 754: %s to %i decimals is %s', (text, decimals, rounded) => {
    expect(roundHalfEven(text, decimals)).toBe(rounded);
  });

  test('a dinar has three decimals: JOD 1.2345 is 1.234', () => {
    expect(fromMajor(1.2345, 'JOD')).toEqual({ minor: 1234, currency: 'JOD' });
  });

  test('agrees with the half-even of dinero.js', () => {
    fc.assert(
      fc.property(fc.integer({ min: -1e9, max: 1e9 }), (thousandths) => {
        const reference = toDecimal(
          transformScale(dinero({ amount: thousandths, currency: AUD, scale: 3 }), 2, halfEven),
        );
        const text = toDecimal(dinero({ amount: thousandths, currency: AUD, scale: 3 }));
        expect(Number(roundHalfEven(text, 2))).toBeCloseTo(Number(reference), 10);
      }),
    );
  });
});
