/** Several phones at one price: what each adds, what the whole leaves and risks, and what to bid. */
import { valueQuantile } from '../market/value.ts';
import { netCdf, netMean, type Terms } from './net.ts';
import { worstShare } from './shortfall.ts';
import {
  type Candidate,
  candidate,
  overMargin,
  root,
  type Stance,
  toUnit,
  type Way,
  type WayPlan,
  WORST,
} from './verdict.ts';

/** A row of the lot: one phone, or several that are alike. */
export interface LotPhone {
  name: string;
  plans: readonly WayPlan[];
  /** False: what it sells for is a stand-in, so it is not counted. */
  priced: boolean;
  /** How many of them there are; default 1. */
  count?: number;
  /** No sale of it is counted above this; default the stance's. */
  cap?: number;
}

export interface LotQuestion {
  phones: readonly LotPhone[];
  stance: Stance;
  /** Asked for the whole, major units. */
  price: number;
  /** What can be borne on the whole lot; default: see {@link bearableOnLot}. */
  bearable?: number;
}

interface LotRow {
  name: string;
  count: number;
  /** What is done with each of them once the lot is bought. */
  way: Way;
  /** What one of them adds to the lot, before the price and over the wanted margin; 0 where it is left alone. */
  adds: number;
  /** The highest price of one of them bought alone, null: none. */
  highest: number | null;
  /** Its part of the bid, one of them: by what it adds. */
  ofBid: number;
  minutes: number;
  cash: number;
}

export interface LotAdvice {
  buy: boolean;
  rows: LotRow[];
  /** Expected net of the whole at the price asked, and what of it is over the wanted margin. */
  mean: number;
  after: number;
  /** Chance that the whole loses money. */
  loss: number;
  /** What the worst tenth of the whole loses: if the phones' fates are independent, and at most, however they hang together. */
  atRisk: { independent: number; together: number };
  bearable: number;
  /** The highest price for the whole; null: none, not even as a gift. */
  bid: number | null;
  limit: 'margin' | 'risk' | null;
  minutes: number;
  cash: number;
  /** Rows that are not counted, for want of a price. */
  unpriced: string[];
}

/** Cells of the grid on which the nets are added up: all phones' ranges together. */
const CELLS = 4096;
/** Sales above this quantile are taken at their mean. */
const TOP = 0.999;
const LEAST_ABOVE = 1e-5;

/**
 * What can be borne on a lot of n phones, where one phone's limit is known: its sqrt(n)-fold. Bought one by one at that
 * limit, n independent phones would risk about that much in their worst tenth (the spread of a sum; derived).
 */
export const bearableOnLot = (bearable: number, phones: number): number => bearable * Math.sqrt(phones);

/**
 * The whole lot and each phone in it. Once the lot is bought its price is spent, so each phone goes the way that adds most,
 * or is left alone where none adds anything. The bid is the highest price at which the whole leaves the wanted margin and
 * its worst tenth can be borne. The distribution of the whole is that of a sum of independent nets, added up on a grid
 * (means are exact); as prices of a model rise and fall together the risk may be more, but never more than the sum of the
 * phones' own (expected shortfall is subadditive: Acerbi & Tasche 2002).
 * Throws RangeError for a count that is not a whole number from 1.
 */
export function lotAdvice({ phones, stance, price, bearable: own }: LotQuestion): LotAdvice {
  const counted = phones.filter(({ priced }) => priced).map((phone) => bestOf(phone, stance));
  const size = counted.reduce((sum, { count }) => sum + count, 0);
  const bearable = own ?? bearableOnLot(stance.bearable, size);
  const total = counted.reduce((sum, { count, adds }) => sum + count * adds, 0);
  const shareOf = (row: Best) => (total > 0 ? row.adds / total : 0);
  const taken = counted.filter((row): row is Best & { found: Candidate } => row.found !== null);
  const priceOf = (row: Best, whole: number) => whole * shareOf(row);

  const overWanted = (whole: number) =>
    taken.reduce(
      (sum, row) => sum + row.count * overMargin(row.found.terms, row.found.margin, priceOf(row, whole)),
      0,
    );
  const wholeAt = (whole: number) =>
    sumOf(taken.map((row) => ({ terms: row.found.terms, price: priceOf(row, whole), count: row.count })));
  const overRisk = (whole: number) => bearable + meanOfWorst(wholeAt(whole), WORST);

  let bid: number | null = null;
  let limit: LotAdvice['limit'] = 'margin';
  if (taken.length && overWanted(0) >= stance.unit) {
    const most = root(overWanted, stance.unit * 1e-6);
    if (overRisk(most) >= 0) bid = toUnit(most, stance.unit);
    else {
      limit = 'risk';
      if (overRisk(0) >= 0) bid = toUnit(root(overRisk, stance.unit / 10), stance.unit);
    }
  }
  // A lot of which nothing is worth anything costs its price and no more.
  const here = taken.length ? wholeAt(price) : { from: -price, step: 1, masses: Float64Array.of(1) };
  const left = taken.reduce(
    (sum, row) => sum + row.count * netMean(row.found.terms, priceOf(row, price)),
    taken.length ? 0 : -price,
  );
  const sum = (of: (row: Best) => number) => counted.reduce((all, row) => all + row.count * of(row), 0);
  return {
    buy: bid !== null && price <= bid + 1e-9,
    rows: counted.map((row) => ({
      name: row.name,
      count: row.count,
      way: row.found?.way ?? 'pass',
      adds: row.adds,
      highest: row.highest,
      ofBid: priceOf(row, bid ?? 0),
      minutes: row.minutes,
      cash: row.cash,
    })),
    mean: left,
    after: taken.length ? overWanted(price) : -price,
    loss: chanceBelow(here, 0),
    atRisk: {
      independent: Math.max(0, -meanOfWorst(here, WORST)),
      together: Math.max(
        0,
        taken.reduce(
          (risk, row) => risk - row.count * worstShare(row.found.terms, priceOf(row, price), WORST).mean,
          taken.length ? 0 : price,
        ),
      ),
    },
    bearable,
    bid,
    limit: bid !== null || taken.length ? limit : null,
    minutes: sum(({ minutes }) => minutes),
    cash: sum(({ cash }) => cash),
    unpriced: phones.filter(({ priced }) => !priced).map(({ name }) => name),
  };
}

interface Best {
  name: string;
  count: number;
  /** Null: left alone. */
  found: Candidate | null;
  adds: number;
  highest: number | null;
  minutes: number;
  cash: number;
}

function bestOf({ name, plans, count = 1, cap }: LotPhone, asked: Stance): Best {
  const stance = cap === undefined ? asked : { ...asked, cap };
  if (!(Number.isInteger(count) && count >= 1))
    throw new RangeError(`a count must be a whole number from 1, got ${count}`);
  const found = plans.map((plan) => candidate(plan, { stance }));
  const adds = (one: Candidate) => overMargin(one.terms, one.margin, 0);
  const best = found.sort((a, b) => adds(b) - adds(a) || a.minutes - b.minutes)[0];
  const prices = found.flatMap(({ highest }) => highest ?? []);
  const highest = prices.length ? Math.max(...prices) : null;
  if (!best || adds(best) < stance.unit)
    return { name, count, found: null, adds: 0, highest, minutes: 0, cash: 0 };
  const cash = best.outcomes.reduce((sum, { chance, cash: spent }) => sum + chance * spent, 0);
  return { name, count, found: best, adds: adds(best), highest, minutes: best.minutes, cash };
}

/** Chances of the nets from + k step. */
interface Grid {
  from: number;
  step: number;
  masses: Float64Array;
}

/** The sum of independent nets. */
function sumOf(parts: readonly { terms: Terms; price: number; count: number }[]): Grid {
  const ranges = parts.map((part) => ({ ...part, ...rangeOf(part.terms, part.price) }));
  const width = ranges.reduce((sum, { low, high, count }) => sum + count * (high - low), 0);
  const step = Math.max(width / CELLS, 1e-6);
  let masses = Float64Array.of(1);
  let from = 0;
  for (const { terms, price, count, low, high } of ranges) {
    const one = gridOf(terms, price, low, high, step);
    for (let i = 0; i < count; i += 1) {
      masses = convolved(masses, one.masses);
      from += one.from;
    }
  }
  return { from, step, masses };
}

/** Where a net lies, but for sales above their top quantile. */
function rangeOf(terms: Terms, price: number): { low: number; high: number } {
  let low = Infinity;
  let high = -Infinity;
  for (const { cost, sale } of terms.endings) {
    low = Math.min(low, -cost - price);
    const sold = sale ? Math.min(terms.cap, valueQuantile(sale, TOP)) * (1 - terms.fee) : 0;
    high = Math.max(high, sold - cost - price);
  }
  return { low, high };
}

/** The net on the grid. The few sales above the range lie together where their own mean is, so that the mean of all is exact. */
function gridOf(terms: Terms, price: number, low: number, high: number, step: number): Grid {
  const cells = Math.ceil((high - low) / step) + 1;
  const body: number[] = [];
  let before = 0;
  for (let k = 0; k < cells; k += 1) {
    const until = netCdf(terms, price, low + (k + 0.5) * step);
    body.push(until - before);
    before = until;
  }
  const above = 1 - before;
  const sum = body.reduce((total, mass, k) => total + mass * (low + k * step), 0);
  const missing = netMean(terms, price) - sum;
  // Where next to nothing lies above, what is missing is the rounding of a cell: all of it is moved by that.
  if (above < LEAST_ABOVE) {
    const masses = Float64Array.from(body, (mass) => mass / (1 - above));
    return { from: low + netMean(terms, price) - sum / (1 - above), step, masses };
  }
  const at = Math.max(0, (missing / above - low) / step);
  const whole = Math.floor(at);
  const masses = new Float64Array(Math.max(cells, whole + 2));
  masses.set(body);
  masses[whole] = (masses[whole] ?? 0) + above * (1 - at + whole);
  masses[whole + 1] = (masses[whole + 1] ?? 0) + above * (at - whole);
  return { from: low, step, masses };
}

function convolved(a: Float64Array, b: Float64Array): Float64Array<ArrayBuffer> {
  const sum = new Float64Array(a.length + b.length - 1);
  for (let i = 0; i < a.length; i += 1) {
    const mass = a[i] ?? 0;
    if (mass < 1e-18) continue;
    for (let j = 0; j < b.length; j += 1) sum[i + j] = (sum[i + j] ?? 0) + mass * (b[j] ?? 0);
  }
  return sum;
}

/** As `worstShare`: a cell at the end counts for the part of it that belongs to the tail. */
function meanOfWorst({ from, step, masses }: Grid, share: number): number {
  let left = share;
  let sum = 0;
  for (let k = 0; k < masses.length && left > 0; k += 1) {
    const mass = Math.min(left, masses[k] ?? 0);
    sum += mass * (from + k * step);
    left -= mass;
  }
  return sum / (share - Math.max(0, left));
}

const chanceBelow = ({ from, step, masses }: Grid, amount: number): number =>
  masses.reduce((sum, mass, k) => sum + (from + k * step < amount - 1e-9 ? mass : 0), 0);
