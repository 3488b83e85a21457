import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { marginTax, periodMarginTax } from '../../shared/money/margin-tax.ts';
import {
  add,
  compare,
  currencyCodes,
  formatMoney,
  fromMajor,
  fromWire,
  isCurrency,
  type Money,
  minorDigits,
  money,
  moneySchema,
  moneyWire,
  multiply,
  parseAmount,
  subtract,
  sum,
  toMajor,
  toWire,
} from '../../shared/money/money.ts';
import { referenceHour } from '../../shared/money/reference-hour.ts';
import { divideHalfEven, toDecimal, unitsHalfEven } from '../../shared/money/rounding.ts';

const anyCurrency = fc.constantFrom(...currencyCodes());
const anyMoney = fc.record({ minor: fc.maxSafeInteger(), currency: anyCurrency });
const typable = fc.record({ minor: fc.integer({ min: -1e9, max: 1e9 }), currency: anyCurrency });

describe('reckoning', () => {
  const aud = (minor: number): Money => ({ minor, currency: 'AUD' });

  test('adds, subtracts, sums and compares', () => {
    expect(add(aud(10), aud(20))).toEqual(aud(30));
    expect(subtract(aud(10), aud(20))).toEqual(aud(-10));
    expect(sum([aud(1), aud(2), aud(3)], 'AUD')).toEqual(aud(6));
    expect(sum([], 'JPY')).toEqual({ minor: 0, currency: 'JPY' });
    expect([compare(aud(1), aud(2)), compare(aud(2), aud(2)), compare(aud(3), aud(2))]).toEqual([-1, 0, 1]);
  });

  test('multiplies by an exact decimal, ties to even', () => {
    expect(multiply(aud(5), 0.1)).toEqual(aud(0));
    expect(multiply(aud(15), '0.1')).toEqual(aud(2));
    expect(multiply(aud(25), '0.1')).toEqual(aud(2));
    expect(multiply(aud(-15), '0.1')).toEqual(aud(-2));
    expect(multiply(aud(9_999_999_999), '1000')).toEqual(aud(9_999_999_999_000));
  });

  test('never mixes currencies and never leaves the safe integers', () => {
    expect(() => add(aud(1), { minor: 1, currency: 'NZD' })).toThrow(TypeError);
    expect(() => compare(aud(1), { minor: 1, currency: 'NZD' })).toThrow(TypeError);
    expect(() => sum([aud(1)], 'NZD')).toThrow(TypeError);
    expect(() => add(aud(Number.MAX_SAFE_INTEGER), aud(1))).toThrow(RangeError);
    expect(() => multiply(aud(Number.MAX_SAFE_INTEGER), 2)).toThrow(RangeError);
    expect(() => multiply(aud(1), Number.NaN)).toThrow(RangeError);
    expect(() => fromMajor(Number.POSITIVE_INFINITY, 'AUD')).toThrow(RangeError);
    expect(() => fromMajor(1e300, 'AUD')).toThrow(RangeError);
    expect(() => money(0.5, 'AUD')).toThrow(RangeError);
    expect(() => money(1, 'ZZZ')).toThrow(RangeError);
  });

  test('zero has no sign, and tiny numbers are zero', () => {
    expect(Object.is(fromMajor(-0.004, 'AUD').minor, 0)).toBe(true);
    expect(Object.is(money(-0, 'AUD').minor, 0)).toBe(true);
    expect(fromMajor(5e-324, 'AUD').minor).toBe(0);
    expect(fromMajor(1e-7, 'AUD').minor).toBe(0);
    expect(fromMajor(12.5, 'JPY').minor).toBe(12);
  });
});

describe('wire form', () => {
  test('has exactly the decimals of its currency', () => {
    expect(toWire({ minor: 6000, currency: 'AUD' })).toEqual({ amount: '60.00', currency: 'AUD' });
    expect(toWire({ minor: -5, currency: 'AUD' })).toEqual({ amount: '-0.05', currency: 'AUD' });
    expect(toWire({ minor: 60, currency: 'JPY' })).toEqual({ amount: '60', currency: 'JPY' });
    expect(toWire({ minor: 60, currency: 'KWD' })).toEqual({ amount: '0.060', currency: 'KWD' });
  });

  test('refuses any other writing', () => {
    for (const amount of [
      '60',
      '60.0',
      '060.00',
      '6e1',
      '-0.00',
      '',
      '99999999999999999.00',
      '60.00 ',
      'NaN',
    ]) {
      expect(moneyWire.safeParse({ amount, currency: 'AUD' }).success, amount).toBe(false);
    }
    expect(moneyWire.safeParse({ amount: '60.00', currency: 'ZZZ' }).success).toBe(false);
    expect(moneySchema.safeParse({ minor: 0.5, currency: 'AUD' }).success).toBe(false);
    expect(moneySchema.safeParse({ minor: 2 ** 53, currency: 'AUD' }).success).toBe(false);
  });

  test('comes back unchanged', () => {
    fc.assert(
      fc.property(anyMoney, (value) => {
        expect(fromWire(toWire(value))).toEqual(money(value.minor, value.currency));
      }),
    );
  });
});

describe('format', () => {
  test('code first, grouped, with the decimals of ISO 4217', () => {
    expect(formatMoney({ minor: 6000, currency: 'AUD' })).toBe('AUD 60.00');
    expect(formatMoney({ minor: 125_000, currency: 'AUD' })).toBe('AUD 1,250.00');
    expect(formatMoney({ minor: 1_250_000, currency: 'JPY' })).toBe('JPY 1,250,000');
    expect(formatMoney({ minor: 1234, currency: 'IQD' })).toBe('IQD 1.234');
    expect(formatMoney({ minor: -500, currency: 'AUD' })).toBe('AUD -5.00');
    expect(formatMoney({ minor: 125_000, currency: 'EUR' }, 'de')).toBe('EUR 1.250,00');
  });

  test('keeps every cent of a very large amount, and shows no -0', () => {
    expect(formatMoney({ minor: Number.MAX_SAFE_INTEGER, currency: 'AUD' })).toBe(
      'AUD 90,071,992,547,409.91',
    );
    expect(formatMoney({ minor: -0, currency: 'AUD' })).toBe('AUD 0.00');
  });

  test('what is shown can be typed again', () => {
    fc.assert(
      fc.property(typable, (value) => {
        expect(parseAmount(formatMoney(value), value.currency, { allowNegative: true })).toEqual({
          ok: true,
          money: money(value.minor, value.currency),
        });
      }),
    );
  });
});

describe('typed amounts', () => {
  test.each([
    ['60', 6000],
    ['60.5', 6050],
    ['60.50', 6050],
    ['1,250.00', 125_000],
    ['AUD 60', 6000],
    ['aud60', 6000],
    ['60 AUD', 6000],
    ['A$60', 6000],
    ['60 A$', 6000],
    ['$60', 6000],
    ['60$', 6000],
    [' 60 ', 6000],
    ['0', 0],
    ['1000000000', 100_000_000_000],
  ])('%j is taken', (text, minor) => {
    expect(parseAmount(text, 'AUD')).toEqual({ ok: true, money: { minor, currency: 'AUD' } });
  });

  test.each([
    '',
    ' ',
    '-5',
    '+5',
    'EUR 60',
    '60 EUR',
    '€60',
    '¥60',
    '60 kr',
    'US$60',
    'AUD 60 AUD',
    'XYZ 60',
    '60.505',
    '60.',
    '.5',
    '1,25',
    '12,50.00',
    '1.250,00',
    '1,2500',
    '1000000000.01',
    '9'.repeat(39),
    '9'.repeat(10_000),
    'NaN',
    'Infinity',
    'sixty',
    '0x10',
    '1e3',
    '6 0',
    '60\u0000',
    '6\t0',
    '\u202e60',
    '٦٠',
    '60%',
    '1/2',
    '--5',
    'constructor 5',
    '__proto__ 5',
  ])('%j is refused with what would be right', (text) => {
    const result = parseAmount(text, 'AUD');
    expect(result.ok).toBe(false);
    if (!result.ok) {
      expect(result.problem.length).toBeGreaterThan(5);
      expect(result.expected).toContain('AUD');
    }
  });

  test('names the other currency, and the decimals there are', () => {
    expect(parseAmount('EUR 60', 'AUD')).toMatchObject({ problem: 'The amount is in EUR, not in AUD.' });
    expect(parseAmount('60.5', 'JPY')).toMatchObject({ problem: 'JPY has no decimals.' });
    expect(parseAmount('60.5055', 'KWD')).toMatchObject({ problem: 'KWD has only 3 decimals.' });
    expect(parseAmount('-5', 'AUD')).toMatchObject({ problem: 'The amount is negative.' });
    expect(parseAmount('-5', 'AUD', { allowNegative: true })).toMatchObject({
      ok: true,
      money: { minor: -500 },
    });
  });

  test.each([
    ['€', 'EUR'],
    ['£', 'GBP'],
    ['₹', 'INR'],
    ['₩', 'KRW'],
    ['₫', 'VND'],
    ['₺', 'TRY'],
    ['₴', 'UAH'],
    ['₪', 'ILS'],
    ['฿', 'THB'],
    ['₱', 'PHP'],
    ['₦', 'NGN'],
    ['A$', 'AUD'],
    ['C$', 'CAD'],
    ['HK$', 'HKD'],
    ['NT$', 'TWD'],
    ['nz$', 'NZD'],
    ['R$', 'BRL'],
    ['S$', 'SGD'],
    ['us$', 'USD'],
  ])('the sign %s is %s, and no other', (sign, currency) => {
    expect(parseAmount(`${sign}60`, currency)).toMatchObject({ ok: true, money: fromMajor(60, currency) });
    expect(parseAmount(`${sign}60`, 'CHF')).toMatchObject({
      problem: `The amount is in ${currency}, not in CHF.`,
    });
  });

  test('a sign counts only for the one currency that it means', () => {
    expect(parseAmount('£60', 'EGP').ok).toBe(false);
    expect(parseAmount('$60', 'GBP').ok).toBe(false);
    expect(parseAmount('¥60', 'USD').ok).toBe(false);
  });

  test('a sign that many share means the currency of the place', () => {
    for (const [text, currency] of [
      ['$20', 'USD'],
      ['$20', 'CAD'],
      ['20 kr', 'SEK'],
      ['¥20', 'JPY'],
    ] as const)
      expect(parseAmount(text, currency)).toEqual({ ok: true, money: fromMajor(20, currency) });
  });

  test.each([
    ['20 €', 2000],
    ['20€', 2000],
    ['€ 20', 2000],
    ['20,50', 2050],
    ['20,5', 2050],
    ['20.50', 2050],
    ['1.250,00 €', 125_000],
    ['1.250', 125_000],
    ['12.345.678', 1_234_567_800],
    ['EUR 20,50', 2050],
  ])('%j is taken where a comma divides', (text, minor) => {
    const money = { minor, currency: 'EUR' };
    expect(parseAmount(text, 'EUR', { comma: 'divides' })).toEqual({ ok: true, money });
  });

  test.each(['1,250.00', '1.25.0', '1,2,3', ',5', '20,', '1.2500', '20,505', '1,255', '1.250,005'])(
    '%j is refused where a comma divides',
    (text) => {
      expect(parseAmount(text, 'EUR', { comma: 'divides' }).ok).toBe(false);
    },
  );

  test('what can be two amounts is asked', () => {
    const read = parseAmount('1,250', 'EUR', { comma: 'divides' });
    expect(read).toMatchObject({ ok: false, either: [fromMajor(1.25, 'EUR'), fromMajor(1250, 'EUR')] });
    expect(parseAmount('1,250', 'EUR')).toMatchObject({ ok: true, money: fromMajor(1250, 'EUR') });
    expect(parseAmount('1,250', 'KWD', { comma: 'divides' })).toMatchObject({
      either: [fromMajor(1.25, 'KWD'), fromMajor(1250, 'KWD')],
    });
  });

  test('an amount written as German writes it is read as it was meant, or asked', () => {
    const german = new Intl.NumberFormat('de', { minimumFractionDigits: 2, useGrouping: true });
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1e9 }), (minor) => {
        const text = german.format(minor / 100);
        expect(parseAmount(`${text} €`, 'EUR', { comma: 'divides' })).toEqual({
          ok: true,
          money: { minor, currency: 'EUR' },
        });
      }),
    );
  });

  test('no text is two different amounts in one way of writing', () => {
    const digits = fc.array(fc.constantFrom('0', '1', '5', '.', ','), { minLength: 1, maxLength: 12 });
    fc.assert(
      fc.property(digits, anyCurrency, (list, currency) => {
        const text = list.join('');
        const groups = parseAmount(text, currency);
        const divides = parseAmount(text, currency, { comma: 'divides' });
        if (!groups.ok || !divides.ok) return;
        // Where both take it they agree, but for a mark before three digits, which either can group by.
        const marks = text.match(/[.,]/g)?.length ?? 0;
        if (marks > 0 && /[.,]\d{3}(?!\d)/.test(text)) return;
        expect(divides.money).toEqual(groups.money);
      }),
    );
  });

  test('no text at all makes it throw, and what it takes is never negative', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 50 }), anyCurrency, (text, currency) => {
        for (const comma of ['groups', 'divides'] as const) {
          const result = parseAmount(text, currency, { comma });
          if (result.ok) expect(toMajor(result.money)).toBeGreaterThanOrEqual(0);
        }
      }),
    );
  });
});

test('every currency has some price of an hour to start from, and a placeholder says so', () => {
  for (const code of currencyCodes()) expect(referenceHour(code).rate.minor).toBeGreaterThan(0);
  expect(referenceHour('AUD')).toEqual({ rate: { minor: 6000, currency: 'AUD' }, known: true });
  expect(referenceHour('FJD').known).toBe(false);
  expect(() => referenceHour('ZZZ')).toThrow(RangeError);
});

describe('what is said of what is wrong', () => {
  test('an amount on the wire: which field, and what was expected', () => {
    const wrong = moneyWire.safeParse({ amount: '60', currency: 'AUD' });
    expect(wrong.error?.issues).toMatchObject([
      { path: ['amount'], message: expect.stringContaining('"60.00"') },
    ]);
    const unknown = moneyWire.safeParse({ amount: '60.00', currency: 'aud' });
    expect(JSON.stringify(unknown.error?.issues)).toContain('code in capitals');
  });

  test.each([
    ['', 'AUD', 'empty'],
    ['   ', 'AUD', 'empty'],
    ['6'.repeat(41), 'AUD', 'longer than 40'],
    ['6'.repeat(40), 'AUD', 'more than 1,000,000,000'],
    ['60\u0000', 'AUD', 'control character'],
    ['\u202e60', 'AUD', 'control character'],
    ['XYZ 60', 'AUD', 'does not say which currency'],
    ['$60', 'EUR', 'does not say which currency'],
    ['60 €', 'AUD', 'in EUR, not in AUD'],
    ['60 EUR', 'AUD', 'in EUR, not in AUD'],
    ['€60', 'AUD', 'in EUR, not in AUD'],
    ['60.5', 'JPY', 'JPY has no decimals'],
    ['60.505', 'AUD', 'only 2 decimals'],
    ['1,25', 'AUD', 'comma only groups thousands'],
    ['1,25', 'AUD', '"1,25" is not a plain decimal number. A'],
    ['-5', 'AUD', 'The amount is negative.'],
    ['sixty', 'AUD', '"sixty" is not an amount.'],
    ['AUD 60 AUD', 'AUD', 'written twice'],
  ])('%j in %s: %s', (text, currency, problem) => {
    const result = parseAmount(text, currency);
    expect(result.ok ? '' : result.problem).toContain(problem);
    expect(result.ok ? '' : result.expected).toContain(
      `such as ${currency === 'JPY' ? '60 or' : '60.50 or'}`,
    );
  });

  test('the comma is spoken of only where there is one', () => {
    expect(parseAmount('6.0.5', 'AUD')).toMatchObject({ problem: '"6.0.5" is not a plain decimal number.' });
  });

  test('what the reader of code is told', () => {
    expect(() => minorDigits('aud')).toThrow('not an ISO 4217 currency code: "aud"');
    expect(() => money(0.5, 'AUD')).toThrow('safe number of minor units: 0.5');
    expect(() => add(money(1, 'AUD'), money(1, 'NZD'))).toThrow('AUD and NZD cannot');
    expect(() => toDecimal('one')).toThrow('not a decimal number: "one"');
    expect(() => divideHalfEven(1n, 0n)).toThrow('must be above 0');
    const sold = { purchase: fromMajor(1, 'GBP'), sale: fromMajor(2, 'GBP') };
    expect(() => marginTax(sold, 101)).toThrow('0 to 100 percent');
    const taxed = { ...sold, boughtWithTax: true };
    expect(marginTax(taxed, 20)).toMatchObject({ problem: expect.stringContaining('bought with tax') });
    expect(periodMarginTax([sold, taxed], 20, 'GBP')).toMatchObject({
      problem: expect.stringContaining('leave it out'),
    });
  });

  test('spaces around are left out, and the limits are in', () => {
    expect(parseAmount('\n60\n', 'AUD').ok).toBe(false);
    expect(parseAmount('  60  AUD  ', 'AUD')).toMatchObject({ ok: true, money: { minor: 6000 } });
    const bound = (text: string) => parseAmount(text, 'AUD', { allowNegative: true }).ok;
    expect([bound('1000000000'), bound('1000000000.01')]).toEqual([true, false]);
    expect([bound('-1000000000'), bound('-1000000000.01')]).toEqual([true, false]);
  });
});

describe('exact decimals', () => {
  test('are read whole or not at all', () => {
    for (const text of ['x5', '5x', '1e3', '1e+3', '2e-7', '', '.5', '5.', '--5', '1 2'])
      expect(() => toDecimal(text)).toThrow(RangeError);
    expect(toDecimal('-12.50')).toEqual({ units: -1250n, scale: 2 });
    expect(toDecimal(1e21)).toEqual({ units: 10n ** 21n, scale: 0 });
    expect(toDecimal(15e-8)).toEqual({ units: 15n, scale: 8 });
    expect(unitsHalfEven(1e21, 0)).toBe(10n ** 21n);
    expect(unitsHalfEven(1.5e-7, 8)).toBe(15n);
    for (const none of [0n, -3n]) expect(() => divideHalfEven(1n, none)).toThrow(RangeError);
  });

  test('rates of 0 and 100 percent are rates', () => {
    const sold = { purchase: fromMajor(10, 'GBP'), sale: fromMajor(30, 'GBP') };
    expect(marginTax(sold, 0)).toMatchObject({ ok: true, tax: fromMajor(0, 'GBP') });
    expect(marginTax(sold, 100)).toMatchObject({ ok: true, tax: fromMajor(10, 'GBP') });
  });
});

describe('currency codes', () => {
  test('come in order, and one that no table knows has a placeholder for its hour', () => {
    expect(currencyCodes()).toEqual([...currencyCodes()].sort());
    for (const [code, hour] of [
      ['ISK', 10_000],
      ['OMR', 10],
      ['BGN', 40],
    ] as const)
      expect(referenceHour(code)).toEqual({ rate: fromMajor(hour, code), known: false });
  });

  test('only capitals of the list are codes', () => {
    for (const text of ['aud', 'AU', 'AAA', '', 'constructor']) {
      expect(isCurrency(text)).toBe(false);
      expect(() => minorDigits(text)).toThrow(RangeError);
    }
  });
});

describe('tax on the margin', () => {
  test('refuses a rate outside 0 to 100 and two currencies', () => {
    const sold = { purchase: fromMajor(1, 'GBP'), sale: fromMajor(2, 'GBP') };
    for (const rate of [-1, 100.5, Number.NaN, 'a fifth', ''])
      expect(() => marginTax(sold, rate)).toThrow(RangeError);
    expect(() => marginTax({ ...sold, sale: fromMajor(2, 'EUR') }, 20)).toThrow(TypeError);
  });
});
