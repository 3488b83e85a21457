import { type Money, money, subtract, sum } from './money.ts';
import { divideHalfEven, toDecimal } from './rounding.ts';

/** One second-hand item, as bought and as sold. Parts, repairs and overheads have no place here: see {@link marginTax}. */
export interface MarginItem {
  purchase: Money;
  sale: Money;
  /** Tax was charged on the purchase; such an item is outside the scheme. */
  boughtWithTax?: boolean;
}

export type MarginTax =
  | {
      ok: true;
      /** Sale less purchase, tax included; may be negative. */
      margin: Money;
      tax: Money;
      /** The margin less its tax. */
      net: Money;
    }
  | { ok: false; problem: string };

/**
 * Tax on a dealer's margin for one item. The margin (sale less purchase) includes the tax, so at rate r percent the tax is
 * the exact fraction r/(100 + r) of it, to the nearest minor unit, ties to even; a loss is taxed at nothing. Costs of
 * parts, repairs and overheads are not in the purchase price and do not lower the margin.
 * Sources: Directive 2006/112/EC, art. 312 and 315; GOV.UK, "VAT margin schemes", overview; HMRC VAT Notice 718 (costs
 * outside the margin, as reported). Not tax advice; what a place allows comes from its own law.
 * @param ratePercent 0 to 100, as a number or decimal text: 20, "12.5". Throws RangeError otherwise, TypeError if the two
 * currencies differ.
 */
export function marginTax(item: MarginItem, ratePercent: number | string): MarginTax {
  if (item.boughtWithTax === true) {
    return {
      ok: false,
      problem: 'The margin scheme is not open to an item that was bought with tax charged on it.',
    };
  }
  return taxOn(subtract(item.sale, item.purchase), ratePercent);
}

/**
 * Tax on the total margin of a period at one rate, so that losses offset gains within it (Directive 2006/112/EC, art.
 * 318). A negative total is taxed at nothing; whether it may be carried forward is for the local law.
 */
export function periodMarginTax(
  items: readonly MarginItem[],
  ratePercent: number | string,
  currency: string,
): MarginTax {
  if (items.some((item) => item.boughtWithTax === true)) {
    return { ok: false, problem: 'An item of the period was bought with tax charged on it; leave it out.' };
  }
  const sales = sum(
    items.map((item) => item.sale),
    currency,
  );
  const purchases = sum(
    items.map((item) => item.purchase),
    currency,
  );
  return taxOn(subtract(sales, purchases), ratePercent);
}

function taxOn(margin: Money, ratePercent: number | string): MarginTax {
  const { units, scale } = toDecimal(ratePercent);
  const hundred = 100n * 10n ** BigInt(scale);
  if (units < 0n || units > hundred) throw new RangeError('the rate must be 0 to 100 percent');
  const taxable = BigInt(Math.max(0, margin.minor));
  const tax = money(divideHalfEven(taxable * units, hundred + units), margin.currency);
  return { ok: true, margin, tax, net: subtract(margin, tax) };
}
