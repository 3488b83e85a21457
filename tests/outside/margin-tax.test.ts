import fc from 'fast-check';
import { expect } from 'vitest';
import { worthData } from '../../commands/worth.ts';
import { marginTax, periodMarginTax } from '../../shared/money/margin-tax.ts';
import { fromMajor, subtract, toMajor } from '../../shared/money/money.ts';
import { netMean, type Terms } from '../../shared/worth/net.ts';
import { testBot } from '../test-bot.ts';
import { outside } from './check.ts';

const where = 'shared/money/margin-tax.ts';
const gbp = (amount: number) => fromMajor(amount, 'GBP');
const item = (purchase: number, sale: number) => ({ purchase: gbp(purchase), sale: gbp(sale) });

function taxed(purchase: number, sale: number, rate: number | string) {
  const result = marginTax(item(purchase, sale), rate);
  if (!result.ok) throw new Error(result.problem);
  return { margin: toMajor(result.margin), tax: toMajor(result.tax), net: toMajor(result.net) };
}

outside(
  {
    id: 'tax-01',
    what: "The government's example: bought for 1,500, sold for 2,000",
    value: 'tax 83.33',
    source: 'govuk-margin',
    where,
  },
  () => {
    expect(taxed(1500, 2000, 20)).toEqual({ margin: 500, tax: 83.33, net: 416.67 });
  },
);

outside(
  {
    id: 'tax-02',
    what: 'The fraction is exactly one sixth, not the 16.67 % printed beside it',
    value: '1/6',
    source: 'govuk-margin',
    where,
  },
  () => {
    expect(taxed(1500, 2000, 20).tax).not.toBe(83.35);
    expect(taxed(0, 600_000, 20).tax).toBe(100_000);
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 1e7 }), (sixths) => {
        expect(taxed(0, (6 * sixths) / 100, 20).tax).toBeCloseTo(sixths / 100, 9);
      }),
    );
  },
);

outside(
  {
    id: 'tax-03',
    what: 'Tax only if it is sold above cost',
    value: 'never below 0',
    source: 'hmrc-718',
    at: 'layout of the stock book',
    where,
  },
  () => {
    expect(taxed(100, 100, 20)).toEqual({ margin: 0, tax: 0, net: 0 });
    expect(taxed(100, 60, 20)).toEqual({ margin: -40, tax: 0, net: -40 });
  },
);

outside(
  {
    id: 'tax-04',
    what: 'The margin includes the tax',
    value: 'five sixths are net',
    source: 'hmrc-vatval11400',
    where,
  },
  () => {
    expect(taxed(40, 100, 20).net).toBe(50);
  },
);

outside(
  {
    id: 'tax-05',
    what: 'Not for an item that was bought with tax charged on it',
    value: 'refused',
    source: 'govuk-margin',
    where,
  },
  () => {
    expect(marginTax({ ...item(100, 200), boughtWithTax: true }, 20).ok).toBe(false);
    expect(marginTax({ ...item(100, 200), boughtWithTax: false }, 20).ok).toBe(true);
    expect(periodMarginTax([item(1, 2), { ...item(100, 200), boughtWithTax: true }], 20, 'GBP').ok).toBe(
      false,
    );
  },
);

for (const [id, box, value, amount] of [
  ['tax-06', '1: the tax', 83.33, (_: ReturnType<typeof item>, tax: ReturnType<typeof gbp>) => tax],
  [
    'tax-07',
    '6: sales less the tax',
    1916.67,
    (one: ReturnType<typeof item>, tax: ReturnType<typeof gbp>) => subtract(one.sale, tax),
  ],
  ['tax-08', '7: purchases', 1500, (one: ReturnType<typeof item>) => one.purchase],
] as const) {
  outside(
    {
      id,
      what: `Box ${box} of the return for that example`,
      value: value.toFixed(2),
      source: 'hmrc-718',
      where,
    },
    () => {
      const sold = item(1500, 2000);
      const result = marginTax(sold, 20);
      if (!result.ok) throw new Error(result.problem);
      expect(toMajor(amount(sold, result.tax))).toBe(value);
    },
  );
}

outside(
  {
    id: 'tax-09',
    what: 'Parts, repairs and overheads are outside the margin: bought for 80, 40 of parts, sold for 150',
    value: 'margin 70, tax 11.67',
    source: 'hmrc-718',
    where,
  },
  () => {
    expect(taxed(80, 150, 20)).toMatchObject({ margin: 70, tax: 11.67 });
  },
);

outside(
  {
    id: 'tax-10',
    what: 'The same in what is left of a phone: parts lower the net, not the tax',
    value: 'tax of 70, not of 30',
    source: 'hmrc-718',
    where: 'shared/worth/net.ts',
  },
  () => {
    // A sale of 150 without any spread; the scale is so small that the tax is taken on just this.
    const terms = (cost: number, taxFraction: number): Terms => ({
      endings: [{ chance: 1, cost, sale: { location: Math.log(150), scale: 1e-6, degrees: 100 } }],
      fee: 0,
      taxFraction,
      cap: 1000,
    });
    const tax = (cost: number) => netMean(terms(cost, 0), 80) - netMean(terms(cost, 1 / 6), 80);
    expect(tax(0)).toBeCloseTo(70 / 6, 3);
    expect(tax(40)).toBeCloseTo(70 / 6, 3);
  },
);

outside(
  {
    id: 'tax-11',
    what: 'Item by item a loss is not set against a gain: margins of 60 and -20',
    value: '10.00 and 0.00',
    source: ['hmrc-718', 'eu-2006-112'],
    where,
  },
  () => {
    expect([taxed(40, 100, 20).tax, taxed(50, 30, 20).tax]).toEqual([10, 0]);
  },
);

outside(
  {
    id: 'tax-12',
    what: 'Within a period it is: the same two',
    value: '6.67',
    source: 'eu-2006-112',
    at: 'article 318',
    where,
  },
  () => {
    const period = periodMarginTax([item(40, 100), item(50, 30)], 20, 'GBP');
    expect(period).toMatchObject({ ok: true, margin: gbp(40), tax: gbp(6.67), net: gbp(33.33) });
  },
);

outside(
  {
    id: 'tax-13',
    what: 'A period that ends in a loss owes nothing, and carries nothing on',
    value: '0.00',
    source: 'eu-2006-112',
    at: 'article 318',
    known: 'computed',
    where,
  },
  () => {
    expect(periodMarginTax([item(50, 30)], 20, 'GBP')).toMatchObject({
      ok: true,
      tax: gbp(0),
      margin: gbp(-20),
    });
    expect(periodMarginTax([], 20, 'GBP')).toMatchObject({ ok: true, tax: gbp(0), margin: gbp(0) });
  },
);

for (const [id, rate, tax, net] of [
  ['tax-14', 19, 11.18, 58.82],
  ['tax-15', 20, 11.67, 58.33],
  ['tax-16', 21, 12.15, 57.85],
  ['tax-17', 22, 12.62, 57.38],
  ['tax-18', 25, 14, 56],
] as const) {
  outside(
    {
      id,
      what: `Margin of 70.00 at ${rate} %: M r/(100 + r), and what is net`,
      value: `${tax.toFixed(2)}, ${net.toFixed(2)}`,
      source: 'eu-2006-112',
      at: 'article 315',
      known: 'computed',
      where,
    },
    () => {
      expect(taxed(80, 150, rate)).toEqual({ margin: 70, tax, net });
      expect(taxed(80, 150, `${rate}.0`)).toEqual({ margin: 70, tax, net });
    },
  );
}

outside(
  {
    id: 'tax-19',
    what: '/worth takes r/(100 + r) of what a sale brings above the price, and nothing at a loss',
    value: '1/6 at 20 %',
    source: 'eu-2006-112',
    at: 'article 315',
    known: 'computed',
    where: '/worth',
  },
  () => {
    const one = testBot();
    one.say('/setup rate:30', { role: 'steward' });
    const mean = (price: number) => {
      const data = worthData.parse(
        one.say(`/worth glued-front-home-sensor price:${price} damage:"vibration motor" value:200`).data,
      );
      return Number(data.ways.find(({ way }) => way === 'restore')?.mean.amount);
    };
    const free = [mean(40), mean(900)];
    one.say('/setup margin-tax:20', { role: 'steward' });
    const withTax = [mean(40), mean(900)];
    // Sells for about 200 by its median; the mean above 40 lies within a few dollars of 160.
    const tax = (free[0] ?? 0) - (withTax[0] ?? 0);
    expect(tax).toBeGreaterThan(158 / 6);
    expect(tax).toBeLessThan(163 / 6);
    expect(withTax[1]).toBe(free[1]);
  },
);
