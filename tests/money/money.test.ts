import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { render } from '../../shared/language/render.ts';
import { currencyCodes, isCurrency, minorDigits } from '../../shared/money/currency.ts';
import {
  addMoney,
  formatMoney,
  fromMajor,
  type Money,
  money,
  moneySchema,
  moneyWire,
  subtract,
  sum,
  toMajor,
  toWire,
} from '../../shared/money/money.ts';
import { parseAmount } from '../../shared/money/parse-amount.ts';
import { referenceHour } from '../../shared/money/reference-hour.ts';
import { divideHalfEven, toDecimal, unitsHalfEven } from '../../shared/money/rounding.ts';

const anyCurrency = fc.constantFrom(...currencyCodes());
const anyMoney = fc.record({ minor: fc.maxSafeInteger(), currency: anyCurrency });
const typable = fc.record({ minor: fc.integer({ min: -1e9, max: 1e9 }), currency: anyCurrency });

/** What an amount is read as, with what is wrong with it in English. */
function reading(...given: Parameters<typeof parseAmount>) {
  const read = parseAmount(...given);
  return read.ok
    ? read
    : { ok: false as const, problem: render(read.problem, 'en'), expected: render(read.expected, 'en') };
}

describe('reckoning', () => {
  const aud = (minor: number): Money => ({ minor, currency: 'AUD' });

  test('adds, subtracts and sums', () => {
    expect(addMoney(aud(10), aud(20))).toEqual(aud(30));
    expect(subtract(aud(10), aud(20))).toEqual(aud(-10));
    expect(sum([aud(1), aud(2), aud(3)], 'AUD')).toEqual(aud(6));
    expect(sum([], 'JPY')).toEqual({ minor: 0, currency: 'JPY' });
  });

  test('never mixes currencies and never leaves the safe integers', () => {
    expect(() => addMoney(aud(1), { minor: 1, currency: 'NZD' })).toThrow(TypeError);
    expect(() => sum([aud(1)], 'NZD')).toThrow(TypeError);
    expect(() => addMoney(aud(Number.MAX_SAFE_INTEGER), aud(1))).toThrow(RangeError);
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
        const wire = moneyWire.parse(toWire(value));
        expect(money(toDecimal(wire.amount).units, wire.currency)).toEqual(
          money(value.minor, value.currency),
        );
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
        expect(reading(formatMoney(value), value.currency, { allowNegative: true })).toEqual({
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
    expect(reading(text, 'AUD')).toEqual({ ok: true, money: { minor, currency: 'AUD' } });
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
    const result = reading(text, 'AUD');
    expect(result.ok).toBe(false);
    if (!result.ok) {
      expect(result.problem.length).toBeGreaterThan(5);
      expect(result.expected).toContain('AUD');
    }
  });

  test('names the other currency, and the decimals there are', () => {
    expect(reading('EUR 60', 'AUD')).toMatchObject({ problem: 'the amount is in EUR, not in AUD' });
    expect(reading('60.5', 'JPY')).toMatchObject({ problem: 'JPY has no decimals' });
    expect(reading('60.5055', 'KWD')).toMatchObject({ problem: 'KWD has only 3 decimals' });
    expect(reading('-5', 'AUD')).toMatchObject({ problem: 'the amount is negative' });
    expect(reading('-5', 'AUD', { allowNegative: true })).toMatchObject({
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
    expect(reading(`${sign}60`, currency)).toMatchObject({ ok: true, money: fromMajor(60, currency) });
    expect(reading(`${sign}60`, 'CHF')).toMatchObject({
      problem: `the amount is in ${currency}, not in CHF`,
    });
  });

  test('a sign counts only for the one currency that it means', () => {
    expect(reading('£60', 'EGP').ok).toBe(false);
    expect(reading('$60', 'GBP').ok).toBe(false);
    expect(reading('¥60', 'USD').ok).toBe(false);
  });

  test('a sign that many share means the currency of the place', () => {
    for (const [text, currency] of [
      ['$20', 'USD'],
      ['$20', 'CAD'],
      ['20 kr', 'SEK'],
      ['¥20', 'JPY'],
    ] as const)
      expect(reading(text, currency)).toEqual({ ok: true, money: fromMajor(20, currency) });
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
    expect(reading(text, 'EUR', { comma: 'divides' })).toEqual({ ok: true, money });
  });

  test.each(['1,250.00', '1.25.0', '1,2,3', ',5', '20,', '1.2500', '20,505', '1,255', '1.250,005'])(
    '%j is refused where a comma divides',
    (text) => {
      expect(reading(text, 'EUR', { comma: 'divides' }).ok).toBe(false);
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
        expect(reading(`${text} €`, 'EUR', { comma: 'divides' })).toEqual({
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
        const groups = reading(text, currency);
        const divides = reading(text, currency, { comma: 'divides' });
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
          const result = reading(text, currency, { comma });
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
    ['1,25', 'AUD', '"1,25" is not a plain decimal number: a'],
    ['-5', 'AUD', 'the amount is negative'],
    ['sixty', 'AUD', '"sixty" is not an amount'],
    ['AUD 60 AUD', 'AUD', 'written twice'],
  ])('%j in %s: %s', (text, currency, problem) => {
    const result = reading(text, currency);
    expect(result.ok ? '' : result.problem).toContain(problem);
    expect(result.ok ? '' : result.expected).toContain(
      `such as ${currency === 'JPY' ? '60 or' : '60.50 or'}`,
    );
  });

  test('the comma is spoken of only where there is one', () => {
    expect(reading('6.0.5', 'AUD')).toMatchObject({ problem: '"6.0.5" is not a plain decimal number' });
  });

  test('what the reader of code is told', () => {
    expect(() => minorDigits('aud')).toThrow('not an ISO 4217 currency code: "aud"');
    expect(() => money(0.5, 'AUD')).toThrow('safe number of minor units: 0.5');
    expect(() => addMoney(money(1, 'AUD'), money(1, 'NZD'))).toThrow('AUD and NZD cannot');
    expect(() => toDecimal('one')).toThrow('not a decimal number: "one"');
    expect(() => divideHalfEven(1n, 0n)).toThrow('must be above 0');
  });

  test('spaces around are left out, and the limits are in', () => {
    expect(reading('\n60\n', 'AUD').ok).toBe(false);
    expect(reading('  60  AUD  ', 'AUD')).toMatchObject({ ok: true, money: { minor: 6000 } });
    const bound = (text: string) => reading(text, 'AUD', { allowNegative: true }).ok;
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
