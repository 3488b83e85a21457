import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decimalsOf, type MeasureWords, measuresIn } from '../../shared/words/measures.ts';
import { fold } from '../../shared/words/tokens.ts';

const words = (comma: boolean): MeasureWords => ({
  units: new Map([
    ['cycles', 'cycles'],
    ['prozent', '%'],
    ['minutes', 'min'],
  ]),
  money: new Map([
    ['euro', 'EUR'],
    ['dollars', '$'],
  ]),
  paid: new Set(['for', 'paid']),
  comma,
});
const read = (text: string, comma = false) => measuresIn(text, words(comma), fold);

describe('readings', () => {
  it.each([
    ['0.9 A', 'A', 0.9],
    ['0,9A', 'A', 0.9],
    ['.5 A', 'A', 0.5],
    [',5 A', 'A', 0.5],
    ['450mA', 'A', 0.45],
    ['450 mA at the port', 'A', 0.45],
    ['3.82 V cell', 'V', 3.82],
    ['cell 3,82V', 'V', 3.82],
    ['0.00 A', 'A', 0],
    ['85 %', '%', 85],
    ['85%', '%', 85],
    ['85 Prozent', '%', 85],
    ['500 cycles', 'cycles', 500],
    ['2100 mAh', 'mAh', 2100],
    ['2.1 Ah', 'mAh', 2100],
    ['45 min', 'min', 45],
    ['38 °C', 'C', 38],
    ['2.2 kΩ', 'ohm', 2200],
    ['-10 °C', 'C', -10],
    ['shows 1970', 'year', 1970],
  ])('%s', (text, unit, value) => {
    expect(read(text).measured).toMatchObject([{ unit, values: [value] }]);
  });

  it('can be two where a mark can group or divide, and only where they run to thousands', () => {
    expect(read('1,250 cycles').measured).toMatchObject([{ values: [1250, 1.25] }]);
    expect(read('3.820 V').measured).toMatchObject([{ values: [3.82] }]);
  });

  it('are several in a line, in its order', () => {
    expect(read('500 cycles, 85 %, 0.9 A').measured.map(({ unit }) => unit)).toEqual(['cycles', '%', 'A']);
  });

  it.each(['K3', 'A12 phone', 'model 12x', 'usb3.1', 'v2'])('are not in "%s"', (text) => {
    expect(read(text).measured).toEqual([]);
  });
});

describe('prices', () => {
  it.each([
    ['20 €', ['20'], 'EUR'],
    ['€20', ['20'], 'EUR'],
    ['20 euro', ['20'], 'EUR'],
    ['20,50 €', ['20.50'], 'EUR'],
    ['1.250,00 €', ['1250.00'], 'EUR'],
    ['1,250.00 €', ['1250.00'], 'EUR'],
    ['$20', ['20'], '$'],
    ['20 dollars', ['20'], '$'],
    ['bought for 20', ['20'], null],
    ['paid 20.50, dead', ['20.50'], null],
  ])('%s', (text, amounts, currency) => {
    expect(read(text).prices).toMatchObject([{ amounts, currency }]);
  });

  it('can be two where a mark stands before three digits', () => {
    expect(decimalsOf('1.250', false)).toEqual(['1.250', '1250']);
    expect(decimalsOf('1.250', true)).toEqual(['1250', '1.250']);
    expect(decimalsOf('1,250', true)).toEqual(['1.250', '1250']);
    // Money has no third decimal, so the likelier is the whole number, and the other is still told.
    expect(read('1.250 €', false).prices[0]?.amounts).toEqual(['1250', '1.250']);
    expect(decimalsOf('0.250', false)).toEqual(['0.250']);
    expect(decimalsOf('1.2.3', false)).toEqual([]);
  });

  it('a number that Intl writes is among what it can mean', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 1e9 }),
        fc.constantFrom('en', 'de', 'fr', 'de-CH'),
        (minor, locale) => {
          const text = new Intl.NumberFormat(locale, { minimumFractionDigits: 2 }).format(minor / 100);
          expect(decimalsOf(text, locale !== 'en').map(Number)).toContain(minor / 100);
        },
      ),
    );
  });

  it('any text is read without a crash, and every number stands where it says', () => {
    const bits = fc.constantFrom('1', '25', '.', ',', ' ', '€', '$', 'A', 'mA', '%', "'", '-', 'for ', 'x');
    fc.assert(
      fc.property(fc.array(bits, { maxLength: 40 }), fc.boolean(), (list, comma) => {
        const text = list.join('');
        const { measured, prices } = read(text, comma);
        for (const one of [...measured, ...prices]) expect(text.slice(one.from, one.to)).toBe(one.text);
        for (const { values } of measured)
          for (const value of values) expect(Number.isFinite(value)).toBe(true);
      }),
    );
  });
});
