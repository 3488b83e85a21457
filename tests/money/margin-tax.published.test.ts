import { describe, expect, test } from 'vitest';
import { marginTax, periodMarginTax } from '../../shared/money/margin-tax.ts';
import { fromMajor, subtract, toMajor } from '../../shared/money/money.ts';

const gbp = (amount: number) => fromMajor(amount, 'GBP');
const item = (purchase: number, sale: number) => ({ purchase: gbp(purchase), sale: gbp(sale) });

function taxed(purchase: number, sale: number, rate: number | string) {
  const result = marginTax(item(purchase, sale), rate);
  if (!result.ok) throw new Error(result.problem);
  return { margin: toMajor(result.margin), tax: toMajor(result.tax), net: toMajor(result.net) };
}

describe('tax on the margin', () => {
  test('GOV.UK, VAT margin schemes, overview: bought 1,500, sold 2,000, tax 83.33', () => {
    expect(taxed(1500, 2000, 20)).toEqual({ margin: 500, tax: 83.33, net: 416.67 });
  });

  test('the fraction is exactly one sixth, not the 16.67 % that GOV.UK prints beside it', () => {
    expect(taxed(1500, 2000, 20).tax).not.toBe(83.35);
    expect(taxed(0, 600_000, 20).tax).toBe(100_000);
  });

  test('HMRC notice layout as reported: tax only if sold above cost', () => {
    expect(taxed(100, 100, 20).tax).toBe(0);
    expect(taxed(100, 60, 20)).toEqual({ margin: -40, tax: 0, net: -40 });
  });

  test('HMRC VATVAL11400: the margin includes the tax, so five sixths are net', () => {
    expect(taxed(40, 100, 20).net).toBe(50);
  });

  test('GOV.UK: not for an item bought with VAT charged', () => {
    expect(marginTax({ ...item(100, 200), boughtWithTax: true }, 20).ok).toBe(false);
    expect(periodMarginTax([{ ...item(100, 200), boughtWithTax: true }], 20, 'GBP').ok).toBe(false);
  });

  test('HMRC return boxes as reported: 83.33, 1,916.67 and 1,500.00', () => {
    const sold = item(1500, 2000);
    const result = marginTax(sold, 20);
    if (!result.ok) throw new Error(result.problem);
    expect(toMajor(result.tax)).toBe(83.33);
    expect(toMajor(subtract(sold.sale, result.tax))).toBe(1916.67);
    expect(toMajor(sold.purchase)).toBe(1500);
  });

  test('VAT Notice 718 as reported: 40 of parts do not lower the margin of 80 to 150', () => {
    expect(taxed(80, 150, 20)).toMatchObject({ margin: 70, tax: 11.67 });
  });

  test('Directive 2006/112/EC art. 318: within a period a loss offsets a gain; item by item it does not', () => {
    const items = [item(40, 100), item(50, 30)];
    const single = items.map((one) => taxed(toMajor(one.purchase), toMajor(one.sale), 20).tax);
    expect(single).toEqual([10, 0]);
    const period = periodMarginTax(items, 20, 'GBP');
    expect(period.ok && toMajor(period.tax)).toBe(6.67);
    const loss = periodMarginTax([item(50, 30)], 20, 'GBP');
    expect(loss.ok && toMajor(loss.tax)).toBe(0);
  });

  // Directive 2006/112/EC art. 315: M r/(100 + r); the values are worked from it.
  test.each([
    [19, 11.18, 58.82],
    [20, 11.67, 58.33],
    [21, 12.15, 57.85],
    [22, 12.62, 57.38],
    [25, 14, 56],
  ])('Directive 2006/112/EC art. 315: margin 70 at %i %% is %d tax, %d net', (rate, tax, net) => {
    expect(taxed(80, 150, rate)).toEqual({ margin: 70, tax, net });
    expect(taxed(80, 150, `${rate}.0`)).toEqual({ margin: 70, tax, net });
  });

  test('refuses a rate outside 0 to 100 and two currencies', () => {
    for (const rate of [-1, 100.5, Number.NaN, 'a fifth', '']) {
      expect(() => marginTax(item(1, 2), rate)).toThrow(RangeError);
    }
    expect(() => marginTax({ purchase: gbp(1), sale: fromMajor(2, 'EUR') }, 20)).toThrow(TypeError);
  });
});
