import { describe, expect, test } from 'vitest';
import { currencyCodes, isCurrency, minorDigits } from '../../shared/money/money.ts';

describe('minor units', () => {
  // ISO 4217 List One. JPY, USD and BHD as in its XML; JOD, KWD and VND as reported; the others from memory.
  test.each([
    ['JPY', 0],
    ['USD', 2],
    ['BHD', 3],
    ['JOD', 3],
    ['KWD', 3],
    ['VND', 0],
    ['AUD', 2],
    ['GBP', 2],
    ['EUR', 2],
    ['NZD', 2],
    ['KRW', 0],
    ['CLP', 0],
    ['ISK', 0],
    ['OMR', 3],
    ['TND', 3],
    ['IQD', 3],
    ['LYD', 3],
    ['CLF', 4],
    ['UYW', 4],
    ['MGA', 2],
    ['MRU', 2],
  ])('ISO 4217: %s has %i', (code, digits) => {
    expect(minorDigits(code)).toBe(digits);
  });

  test('ISO 4217: gold has no minor unit (N.A.) and is no currency here', () => {
    expect(isCurrency('XAU')).toBe(false);
  });

  test('only capitals of the list are codes', () => {
    for (const text of ['aud', 'AU', 'AAA', '', 'constructor']) {
      expect(isCurrency(text)).toBe(false);
      expect(() => minorDigits(text)).toThrow(RangeError);
    }
  });

  test('every code but fund codes and recent ones is known to Unicode CLDR too', () => {
    // Unicode CLDR also keeps codes that ISO 4217 has withdrawn, so only the direction tested here can hold.
    const runtime = new Set(Intl.supportedValuesOf('currency'));
    const fundsAndNew = [
      'BOV',
      'CHE',
      'CHW',
      'CLF',
      'COU',
      'MXV',
      'USN',
      'UYI',
      'UYW',
      'VED',
      'XAD',
      'XCG',
      'ZWG',
    ];
    expect(currencyCodes().filter((code) => !runtime.has(code) && !fundsAndNew.includes(code))).toEqual([]);
  });
});
