import { dinero, halfEven, toDecimal, transformScale } from 'dinero.js';
import { AUD } from 'dinero.js/currencies';
import fc from 'fast-check';
import { expect } from 'vitest';
import { currencyCodes, isCurrency, minorDigits } from '../../shared/money/currency.ts';
import { formatMoney, fromMajor, toWire } from '../../shared/money/money.ts';
import { roundHalfEven } from '../../shared/money/rounding.ts';
import { outside } from './check.ts';

const currency = 'shared/money/currency.ts';
const rounding = 'shared/money/rounding.ts';
const no = (at: number): string => String(at).padStart(2, '0');

/** Decimals of the minor unit: as reported, or from memory. */
const digits: readonly (readonly [string, number, 'reported' | 'memory'])[] = [
  ['JPY', 0, 'reported'],
  ['USD', 2, 'reported'],
  ['BHD', 3, 'reported'],
  ['JOD', 3, 'reported'],
  ['KWD', 3, 'reported'],
  ['VND', 0, 'reported'],
  ['AUD', 2, 'memory'],
  ['GBP', 2, 'memory'],
  ['EUR', 2, 'memory'],
  ['NZD', 2, 'memory'],
  ['KRW', 0, 'memory'],
  ['CLP', 0, 'memory'],
  ['ISK', 0, 'memory'],
  ['OMR', 3, 'memory'],
  ['TND', 3, 'memory'],
  ['IQD', 3, 'memory'],
  ['LYD', 3, 'memory'],
  ['CLF', 4, 'memory'],
  ['UYW', 4, 'memory'],
  ['MGA', 2, 'memory'],
  ['MRU', 2, 'memory'],
];
digits.forEach(([code, count, known], at) => {
  outside(
    {
      id: `money-${no(at + 1)}`,
      what: `Decimals of ${code}`,
      value: String(count),
      source: 'iso-4217',
      known,
      where: currency,
    },
    () => {
      expect(minorDigits(code)).toBe(count);
      // One minor unit is written with just these decimals.
      expect(toWire({ minor: 1, currency: code }).amount).toBe(count ? `0.${'1'.padStart(count, '0')}` : '1');
    },
  );
});

outside(
  {
    id: 'money-22',
    what: 'Gold has no minor unit (N.A.) and is no currency here',
    value: 'XAU refused',
    source: 'iso-4217',
    where: currency,
  },
  () => {
    expect(isCurrency('XAU')).toBe(false);
    expect(() => minorDigits('XAU')).toThrow(RangeError);
  },
);

outside(
  {
    id: 'money-23',
    what: 'Every code but fund codes and recent ones is known to Unicode CLDR too',
    value: 'none unknown',
    source: ['unicode-cldr', 'iso-4217'],
    where: currency,
  },
  () => {
    // CLDR also keeps codes that ISO 4217 has withdrawn, so only the direction tested here can hold.
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
    expect(currencyCodes().length).toBeGreaterThan(150);
  },
);

(
  [
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
  ] as const
).forEach(([text, rounded], at) => {
  outside(
    {
      id: `money-${no(at + 24)}`,
      what: `${text} to one decimal, ties to even`,
      value: rounded,
      source: 'cpython-69015',
      where: rounding,
    },
    () => {
      expect(roundHalfEven(text, 1)).toBe(rounded);
      expect(roundHalfEven(`-${text}`, 1)).toBe(`-${rounded}`);
    },
  );
});

outside(
  {
    id: 'money-34',
    what: 'The trap of binary fractions: 2.675 is a tie as a decimal',
    value: '2.68',
    source: 'cpython-69015',
    where: rounding,
  },
  () => {
    expect((2.675).toFixed(2)).toBe('2.67');
    expect(roundHalfEven('2.675', 2)).toBe('2.68');
    expect(roundHalfEven(2.675, 2)).toBe(2.68);
    expect(fromMajor(2.675, 'AUD').minor).toBe(268);
  },
);

(
  [
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
  ] as const
).forEach(([text, decimals, rounded], at) => {
  outside(
    {
      id: `money-${no(at + 35)}`,
      what: `${text} to ${decimals} decimals, ties to even`,
      value: rounded,
      source: 'ieee-754',
      at: 'rule of 4.3.1',
      known: 'computed',
      where: rounding,
    },
    () => {
      expect(roundHalfEven(text, decimals)).toBe(rounded);
    },
  );
});

outside(
  {
    id: 'money-45',
    what: 'A zero has no sign: -0.5 rounds to',
    value: '0',
    source: 'ieee-754',
    at: 'rule of 4.3.1',
    known: 'computed',
    where: 'shared/money/money.ts',
  },
  () => {
    expect(roundHalfEven('-0.5', 0)).toBe('0');
    expect(Object.is(fromMajor(-0.004, 'AUD').minor, 0)).toBe(true);
    expect(formatMoney(fromMajor(-0.004, 'AUD'))).toBe('AUD 0.00');
    expect(toWire(fromMajor(-0.004, 'AUD')).amount).toBe('0.00');
  },
);

outside(
  {
    id: 'money-46',
    what: 'A dinar has three decimals: JOD 1.2345',
    value: 'JOD 1.234',
    source: ['iso-4217', 'ieee-754'],
    known: 'computed',
    where: 'shared/money/money.ts',
  },
  () => {
    expect(fromMajor(1.2345, 'JOD')).toEqual({ minor: 1234, currency: 'JOD' });
    expect(formatMoney(fromMajor(1.2345, 'JOD'))).toBe('JOD 1.234');
  },
);

outside(
  {
    id: 'money-47',
    what: 'Half to even of an independent library',
    value: 'equal for any thousandths',
    source: 'dinero',
    where: rounding,
  },
  () => {
    fc.assert(
      fc.property(fc.integer({ min: -1e9, max: 1e9 }), (thousandths) => {
        const exact = dinero({ amount: thousandths, currency: AUD, scale: 3 });
        const reference = toDecimal(transformScale(exact, 2, halfEven));
        expect(Number(roundHalfEven(toDecimal(exact), 2))).toBeCloseTo(Number(reference), 10);
      }),
    );
  },
);

outside(
  {
    id: 'money-48',
    what: 'No float on the way: the cents of large sums are kept',
    value: '0.1 + 0.2 is 0.30; 9007199254740991 cents stay',
    source: 'ieee-754',
    known: 'computed',
    where: 'shared/money/money.ts',
  },
  () => {
    expect(0.1 + 0.2).not.toBe(0.3);
    expect(fromMajor(0.1, 'AUD').minor + fromMajor(0.2, 'AUD').minor).toBe(fromMajor(0.3, 'AUD').minor);
    expect(toWire({ minor: Number.MAX_SAFE_INTEGER, currency: 'AUD' }).amount).toBe('90071992547409.91');
  },
);
