/**
 * What is left at the end: the exact distribution of the net of one way of dealing with a phone, as a mixture over the
 * ways it can end. No sampling: the same input gives the same answer.
 */
import { expectedMin, type LogStudentT, valueCdf, valueQuantile } from '../market/value.ts';

/** Halvings of a range of at most a few thousand: to well under a ten-thousandth. */
const HALVINGS = 40;

/** One way it can end. All money in major units. */
export interface Scenario {
  /** Chances of all endings sum to 1. */
  chance: number;
  /** Spent on it besides the price. */
  cost: number;
  /** What it is sold for; null: nothing is sold. */
  sale: LogStudentT | null;
}

export interface Terms {
  endings: readonly Scenario[];
  /** Cost of selling, as a share of the sale. */
  fee: number;
  /** Share of the margin that is tax: see `marginTaxFraction`. */
  taxFraction: number;
  /** No sale is counted above this. */
  cap: number;
}

/**
 * The sale s at which net = s (1 - fee) - t max(0, s - price) - cost - price is `net`. The net rises with the sale, in
 * two straight lines that meet at s = price.
 */
export function saleFor(net: number, price: number, cost: number, fee: number, t: number): number {
  const owed = net + cost + price;
  const plain = owed / (1 - fee);
  return plain <= price ? plain : (owed - t * price) / (1 - fee - t);
}

/** P(net <= x) at this price. Derived: mixture of the endings' distributions. */
export function netCdf({ endings, fee, taxFraction }: Terms, price: number, x: number): number {
  let chance = 0;
  for (const { chance: share, cost, sale } of endings) {
    if (sale) chance += share * valueCdf(sale, saleFor(x, price, cost, fee, taxFraction));
    else if (-cost - price <= x) chance += share;
  }
  return chance;
}

/**
 * P(net < 0). An ending that neither sells nor costs anything is no loss; one that costs is.
 */
export const lossChance = (terms: Terms, price: number): number =>
  terms.endings.reduce((sum, { chance, cost, sale }) => {
    if (!sale) return sum + (cost + price > 1e-9 ? chance : 0);
    return sum + chance * valueCdf(sale, saleFor(0, price, cost, terms.fee, terms.taxFraction));
  }, 0);

/** Expected net, with sales counted up to the cap (the mean of an uncapped log-Student-t does not exist). */
export function netMean(terms: Terms, price: number): number {
  const { fee, taxFraction, cap } = terms;
  const { cost, sales } = sumsOf(terms);
  let mean = -price - cost;
  for (const { chance, sale, sold } of sales) {
    const taxed = taxFraction > 0 && price < cap ? sold - expectedMin(sale, price) : 0;
    mean += chance * (sold * (1 - fee) - taxFraction * taxed);
  }
  return mean;
}

interface Sums {
  /** Expected cost. */
  cost: number;
  /** Each different sale once, with the chance of all its endings and its mean up to the cap. */
  sales: { chance: number; sale: LogStudentT; sold: number }[];
}
const summed = new WeakMap<Terms, Sums>();

/** What of the mean does not hang on the price; worked out once, since the highest price is searched for. */
function sumsOf(terms: Terms): Sums {
  const known = summed.get(terms);
  if (known) return known;
  const sales = new Map<string, Sums['sales'][number]>();
  let total = 0;
  for (const { chance, cost, sale } of terms.endings) {
    total += chance * cost;
    if (!sale) continue;
    const key = `${sale.location}/${sale.scale}/${sale.degrees}`;
    const same = sales.get(key) ?? { chance: 0, sale, sold: expectedMin(sale, terms.cap) };
    sales.set(key, { ...same, chance: same.chance + chance });
  }
  const sums = { cost: total, sales: [...sales.values()] };
  summed.set(terms, sums);
  return sums;
}

/** The net below which the share p lies, to a thousandth of the cap's scale. */
export function netQuantile(terms: Terms, price: number, p: number): number {
  let low = -price;
  let high = -price;
  for (const { cost, sale } of terms.endings) {
    low = Math.min(low, -cost - price);
    if (sale) high = Math.max(high, valueQuantile(sale, Math.max(p, 0.5)) + 1);
    else high = Math.max(high, -cost - price);
  }
  low -= 1e-9;
  for (let step = 0; step < HALVINGS; step += 1) {
    const middle = (low + high) / 2;
    if (netCdf(terms, price, middle) >= p) high = middle;
    else low = middle;
  }
  return high;
}

/** What the sales are expected to bring, before the cost of selling. */
export const expectedSales = (terms: Terms): number =>
  sumsOf(terms).sales.reduce((sum, { chance, sold }) => sum + chance * sold, 0);
