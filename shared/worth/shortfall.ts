/**
 * Money at risk: the expected shortfall of the worst share of what can happen, exact on the mixture of endings. No
 * sampling: the same input gives the same answer.
 */
import { expectedMin, valueCdf } from '../market/value.ts';
import { type Scenario, saleFor, type Terms } from './net.ts';

/** The worst share of a net's distribution. Money in major units. */
export interface Tail {
  /** How much of the distribution it is, above 0 and up to 1. */
  share: number;
  /** Mean net in it. The expected shortfall is its negative. */
  mean: number;
  /** The best net in it: the value at risk is its negative. */
  quantile: number;
  /** Chance of each ending within the tail, in the order of the terms; they sum to 1. */
  endings: number[];
}

/** Width to which the quantile is found, as a share of the range of the net. The mean is flat there: its error is its square. */
const WIDTH = 1e-12;

/**
 * The worst `share` of the net at a price: mean = (E[X; X < q] + q (share - P(X < q))) / share with q the share's
 * quantile, so that an atom at q counts for as much of it as belongs to the tail (Acerbi & Tasche, Journal of Banking &
 * Finance 26, 2002, 1487). Worked out as max over q of q - E[(q - X)+]/share (Rockafellar & Uryasev, Journal of Risk 2,
 * 2000, 21). Sales count up to the cap, as in `netMean`: the worst share 1 has that mean.
 * Throws RangeError for a share that is not above 0 and up to 1.
 */
export function worstShare(terms: Terms, price: number, share: number): Tail {
  if (!(share > 0 && share <= 1)) throw new RangeError(`a share must be above 0 and up to 1, got ${share}`);
  if (terms.taxFraction > 0) return tailAt(terms, price, share);
  // Without a tax on the margin the price moves every net alike.
  const known = gifts.get(terms);
  const gift = known?.share === share ? known : tailAt(terms, 0, share);
  gifts.set(terms, gift);
  return { ...gift, mean: gift.mean - price, quantile: gift.quantile - price };
}

/** The last tail asked for at a price of 0, since prices are asked about one after another. */
const gifts = new WeakMap<Terms, Tail>();

function tailAt(terms: Terms, price: number, share: number): Tail {
  const { endings } = terms;
  const nets = endings.map(({ cost, sale }) => ({
    least: -cost - price,
    most: sale ? netOfSale(terms.cap, price, cost, terms) : -cost - price,
  }));
  let low = Math.min(...nets.map(({ least }) => least));
  let high = Math.max(...nets.map(({ most }) => most));
  const width = WIDTH * Math.max(1, high - low, Math.abs(low));
  low -= width;
  while (high - low > width) {
    const middle = (low + high) / 2;
    if (middle <= low || middle >= high) break;
    const below = endings.reduce((sum, ending) => sum + chanceAtMost(terms, price, ending, middle), 0);
    if (below >= share) high = middle;
    else low = middle;
  }
  const quantile = high;
  const missing = endings.reduce((sum, ending) => sum + shortOf(terms, price, ending, quantile), 0);
  // What lies just at the quantile is shared out among the endings that have it there.
  const under = endings.map((ending) => chanceAtMost(terms, price, ending, quantile - 4 * width));
  const there = endings.map(
    (ending, i) => chanceAtMost(terms, price, ending, quantile + 4 * width) - (under[i] ?? 0),
  );
  const sum = (list: readonly number[]) => list.reduce((total, one) => total + one, 0);
  const part = sum(there) > 0 ? Math.max(0, share - sum(under)) / sum(there) : 0;
  const within = under.map((chance, i) => chance + part * (there[i] ?? 0));
  const total = sum(within);
  return {
    share,
    mean: quantile - missing / share,
    quantile,
    endings: within.map((chance) => chance / total),
  };
}

/** What is left when it sells for `sale`. */
function netOfSale(sale: number, price: number, cost: number, { fee, taxFraction }: Terms): number {
  return sale * (1 - fee) - taxFraction * Math.max(0, sale - price) - cost - price;
}

/** P(this ending and net <= x), with the sale up to the cap. */
function chanceAtMost(terms: Terms, price: number, { chance, cost, sale }: Scenario, x: number): number {
  if (!sale) return -cost - price <= x ? chance : 0;
  if (netOfSale(terms.cap, price, cost, terms) <= x) return chance;
  return chance * valueCdf(sale, saleFor(x, price, cost, terms.fee, terms.taxFraction));
}

/** E[(q - net)+; this ending]. */
function shortOf(terms: Terms, price: number, { chance, cost, sale }: Scenario, q: number): number {
  const { fee, taxFraction, cap } = terms;
  if (!sale) return chance * Math.max(0, q + cost + price);
  const top = netOfSale(cap, price, cost, terms);
  /** E[(s - min(V, cap))+] for s up to the cap. */
  const under = (s: number) => (s > 0 ? s - expectedMin(sale, s) : 0);
  const s = Math.min(cap, saleFor(q, price, cost, fee, taxFraction));
  // Two straight lines that meet at the price: the steeper below it.
  const bend = Math.min(s, price);
  const short = (1 - fee - taxFraction) * (under(s) - under(bend)) + (1 - fee) * under(bend);
  return chance * (short + Math.max(0, q - top));
}
