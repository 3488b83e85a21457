/** What to do with a phone at a price: each way with its own numbers, and which one is advised. */
import { expectedSales, lossChance, netMean, netQuantile, type Terms } from './net.ts';
import { worstShare } from './shortfall.ts';
import { type Gate, gatesOf, looksFirst, type Outcome, outcomesOf, type PlanNode } from './ways.ts';

export const ways = ['restore', 'look-first', 'strip', 'sell-as-is', 'hand-on', 'pass'] as const;
export type Way = (typeof ways)[number];

/** A way that can be taken, and its plan. A plan to restore that may stop before any money is put in is told as `look-first`. */
export interface WayPlan {
  way: Exclude<Way, 'look-first' | 'pass'>;
  plan: PlanNode;
}

/** What a collective wants and can bear. Money in major units. */
export interface Stance {
  /** Worth of an hour of bench time; 0 is given time. */
  rate: number;
  /** The currency's reference hour, whatever the collective's own is. */
  hour: number;
  /** Margin wanted, as a share of the expected sales. */
  margin: number;
  /** The most that one phone may cost in the mean of the worst tenth, its time counted at the rate. */
  bearable: number;
  /** Cost of selling, as a share of the sale. */
  fee: number;
  /** Tax-inclusive fraction of the margin, r/(100 + r). */
  taxFraction: number;
  /** No sale is counted above this. */
  cap: number;
  /** The smallest amount that is told apart: a minor unit of the currency. */
  unit: number;
}

export interface VerdictQuestion {
  plans: readonly WayPlan[];
  stance: Stance;
  /** Asked for the phone, major units; 0 for a gift. */
  price: number;
  /** What the price when working rests on; `stand-in`: on nothing that is known of it. */
  value: 'sightings' | 'new-price' | 'given' | 'stand-in';
  /** Kept in use when it works: then it is worth its value, with no cost of selling, no tax and no margin on it. */
  kept?: boolean;
}

/** The mean of the worst tenth. */
interface AtRisk {
  /** What is lost there, time counted at the rate; 0 where even the worst tenth leaves something. */
  total: number;
  /** The mean net there, whatever its sign. */
  net: number;
  /** Money put in besides the price, and what sales bring in after their cost and tax. */
  parts: number;
  takings: number;
  /** Money out less money in, the price counted: what is missing from the purse. Below 0: more came in. */
  cash: number;
  /** Bench minutes. */
  minutes: number;
}

export interface WayResult {
  way: Way;
  /** Expected net at the price, time counted at the rate; and what of it is over the wanted margin. */
  mean: number;
  after: number;
  /** 80 % range of the net. */
  low: number;
  high: number;
  /** Chance of any loss: shown, never a wall. */
  loss: number;
  restored: number;
  /** Expected money besides the price, and bench minutes. */
  cash: number;
  minutes: number;
  /** Expected net an hour before the time is paid; null where no time is spent. */
  perHour: number | null;
  /** The highest price at which this way leaves the wanted margin at a risk that can be borne; null: none, a gift is too dear. */
  highest: number | null;
  /** What stops it above the highest price. */
  limit: 'margin' | 'risk' | null;
  atRisk: AtRisk;
  gates: Gate[];
}

/** A price at which the advice changes. */
export interface PriceTurn {
  /** The highest price with `below` as the advice; a unit more and it is `above`. */
  price: number;
  below: Way;
  above: Way;
}

export interface Advice {
  kind: 'advice';
  way: Way;
  /** The way advised first, then the others as they rank; passing has its place too. */
  ways: WayResult[];
  /** The highest price of the way advised; where that is to pass, the highest price at which something else would be; null: none. */
  highest: number | null;
  /** The nearest price at which the advice changes; null: at no price. */
  closest: PriceTurn | null;
  /** Given time that earns little: hours, and what each leaves. */
  littleForHours: { minutes: number; perHour: number } | null;
}

/** What would make a verdict possible; any one of them does. */
const priceNeeds = ['sighting', 'new-price', 'value'] as const;

export interface NoPrice {
  kind: 'no-price';
  needs: typeof priceNeeds;
  /** The ways on the stand-in, in the order given: a table, no advice. */
  ways: WayResult[];
}

/** Worst share that the risk is the mean of. */
export const WORST = 0.1;
/** Of ways that leave about the same, the shorter: given time counts this share of the reference hour in ranking. Chosen. */
const GIVEN_TIME = 0.02;
/** From an hour on, given or cheap time that leaves less than this share of the reference hour an hour is told. Chosen. */
const LITTLE = 0.25;
const LITTLE_FROM_MINUTES = 60;
/** The default of what can be borne, in reference hours. */
const BEARABLE_HOURS = 8;

/**
 * What a collective that has not said so is taken to bear on one phone, in major units: eight reference hours, a
 * day’s work. Chosen, no source: it leaves gifts and cheap phones alone, long work on the board too, and speaks where one
 * phone takes the price of several others.
 */
export const bearableByDefault = (hour: number): number => BEARABLE_HOURS * hour;

/**
 * The advice: of the ways that leave something over the wanted margin, in the mean, and whose worst tenth can be borne, the
 * one that leaves most over it; else to pass. Without a price that rests on something there is no advice.
 * Both conditions turn once as the price rises, so that what is passed at a price is passed at every higher one; the
 * highest price is just where they turn, rounded down to the unit. Money that can be borne only ever adds ways.
 */
export function verdict(question: VerdictQuestion): Advice | NoPrice {
  const { stance, price } = question;
  const found = candidatesOf(question);
  const results = found.map((one) => resultAt(one, stance, price));
  if (question.value === 'stand-in') return { kind: 'no-price', needs: priceNeeds, ways: results };
  const way = adviceAt(found, stance, price);
  const order = (result: WayResult) => (result.way === way ? Number.POSITIVE_INFINITY : result.after);
  const all = [...results, passed].sort((a, b) => order(b) - order(a));
  const chosen = results.find((one) => one.way === way);
  const prices = results.flatMap(({ highest }) => highest ?? []);
  return {
    kind: 'advice',
    way,
    ways: all,
    highest: chosen ? chosen.highest : prices.length ? Math.max(...prices) : null,
    closest: closestTurn(found, stance, price),
    littleForHours: chosen ? littleFor(chosen, stance) : null,
  };
}

/** The same question at any price, without the other numbers. */
export function adviceAtPrice(question: VerdictQuestion, price: number): Way {
  return adviceAt(candidatesOf(question), question.stance, price);
}

/** A way as the terms of its money, at no price yet. */
export interface Candidate {
  way: Way;
  terms: Terms;
  outcomes: readonly Outcome[];
  gates: Gate[];
  margin: number;
  minutes: number;
  highest: number | null;
  limit: WayResult['limit'];
}

/** By plan: people ask about a phone at one price after another, and of the same plan nothing here hangs on the price. */
const candidatesKept = new WeakMap<WayPlan['plan'], { key: string; found: Candidate }>();

/** The candidate of each plan, in their order. */
export function candidatesOf({
  plans,
  stance,
  kept = false,
}: Pick<VerdictQuestion, 'plans' | 'stance' | 'kept'>): Candidate[] {
  return plans.map((one) => {
    const key = JSON.stringify([one.way, stance, kept]);
    const have = candidatesKept.get(one.plan);
    if (have?.key === key) return have.found;
    const found = candidate(one, { stance, kept });
    candidatesKept.set(one.plan, { key, found });
    return found;
  });
}

/** A way's plan under what a collective wants: its terms, and the highest price. */
export function candidate(
  { way, plan }: WayPlan,
  { stance, kept = false }: Pick<VerdictQuestion, 'stance' | 'kept'>,
): Candidate {
  const outcomes = outcomesOf(plan);
  const sold = (outcome: Outcome) =>
    // What is kept is its full value; what else is sold bears its cost of selling beforehand.
    outcome.sale && kept && !outcome.restored && stance.fee > 0
      ? { ...outcome.sale, location: outcome.sale.location + Math.log(1 - stance.fee) }
      : outcome.sale;
  const terms: Terms = {
    endings: outcomes.map((outcome) => ({
      chance: outcome.chance,
      cost: outcome.cash + (outcome.minutes * stance.rate) / 60,
      sale: sold(outcome),
    })),
    fee: kept ? 0 : stance.fee,
    taxFraction: kept ? 0 : stance.taxFraction,
    cap: stance.cap,
  };
  const margin = kept ? 0 : stance.margin;
  return {
    way: way === 'restore' && looksFirst(plan) ? 'look-first' : way,
    terms,
    outcomes,
    gates: gatesOf(plan),
    margin,
    minutes: outcomes.reduce((sum, { chance, minutes }) => sum + chance * minutes, 0),
    ...highestFor(terms, margin, stance),
  };
}

/** Expected net over the wanted margin, and over what may be lost in the worst tenth; both fall as the price rises. */
export const overMargin = (terms: Terms, margin: number, price: number): number =>
  netMean(terms, price) - margin * expectedSales(terms);
const overRisk = (terms: Terms, bearable: number, price: number): number =>
  bearable + worstShare(terms, price, WORST).mean;

/**
 * The price at which a function of it that falls by at most 1 a unit of price comes to 0; from below, so never above it.
 * A net falls by 1 a unit, or by 1 less the tax on the margin where there is one: each step leaves at most that share.
 * @param within how near to 0 is near enough, in money.
 */
export function root(of: (price: number) => number, within: number): number {
  let price = 0;
  for (let step = 0; step < 60; step += 1) {
    const left = of(price);
    price += left;
    if (left < within) break;
  }
  return price;
}

/** Rounded down to the unit; a part in a million of a unit is rounding, and counts as a whole one. */
export const toUnit = (price: number, unit: number): number => Math.floor(price / unit + 1e-5) * unit;

/** The highest price at which the wanted margin is left and the worst tenth can be borne, and which of them stops it. */
export function highestFor(
  terms: Terms,
  margin: number,
  { bearable, unit }: Pick<Stance, 'bearable' | 'unit'>,
): Pick<Candidate, 'highest' | 'limit'> {
  const byMargin = (price: number) => overMargin(terms, margin, price);
  const byRisk = (price: number) => overRisk(terms, bearable, price);
  if (byMargin(0) < unit) return { highest: null, limit: 'margin' };
  if (byRisk(0) < 0) return { highest: null, limit: 'risk' };
  const [most, safe] = [root(byMargin, unit * 1e-6), root(byRisk, unit * 1e-6)];
  return { highest: toUnit(Math.min(most, safe), unit), limit: safe < most ? 'risk' : 'margin' };
}

const holdsAt = ({ highest }: Candidate, price: number): boolean =>
  highest !== null && price <= highest + 1e-9;

/** Of the ways that hold at a price the best; of ways that leave the same the shorter, then the one given first. */
function adviceAt(found: readonly Candidate[], { rate, hour }: Stance, price: number): Way {
  const time = Math.max(0, GIVEN_TIME * hour - rate) / 60;
  const scored = found
    .filter((one) => holdsAt(one, price))
    .map((one) => ({ one, score: overMargin(one.terms, one.margin, price) - one.minutes * time }));
  scored.sort((a, b) => b.score - a.score || a.one.minutes - b.one.minutes);
  return scored[0]?.one.way ?? 'pass';
}

function resultAt(one: Candidate, stance: Stance, price: number): WayResult {
  const { terms, outcomes, margin, minutes } = one;
  const mean = netMean(terms, price);
  const expected = (of: (outcome: Outcome) => number) =>
    outcomes.reduce((sum, outcome) => sum + outcome.chance * of(outcome), 0);
  return {
    way: one.way,
    mean,
    after: overMargin(terms, margin, price),
    low: netQuantile(terms, price, 0.1),
    high: netQuantile(terms, price, 0.9),
    loss: lossChance(terms, price),
    restored: expected(({ restored }) => Number(restored)),
    cash: expected(({ cash }) => cash),
    minutes,
    perHour: minutes > 0 ? (mean + (minutes * stance.rate) / 60) / (minutes / 60) : null,
    highest: one.highest,
    limit: one.limit,
    atRisk: atRiskOf(one, stance, price),
    gates: one.gates,
  };
}

function atRiskOf({ terms, outcomes }: Candidate, { rate }: Stance, price: number): AtRisk {
  const { mean: net, endings } = worstShare(terms, price, WORST);
  const within = (of: (outcome: Outcome) => number) =>
    outcomes.reduce((sum, outcome, i) => sum + (endings[i] ?? 0) * of(outcome), 0);
  const parts = within(({ cash }) => cash);
  const minutes = within((outcome) => outcome.minutes);
  const cash = -net - (minutes * rate) / 60;
  return { total: Math.max(0, -net), net, parts, takings: price + parts - cash, cash, minutes };
}

const passed: WayResult = {
  way: 'pass',
  mean: 0,
  after: 0,
  low: 0,
  high: 0,
  loss: 0,
  restored: 0,
  cash: 0,
  minutes: 0,
  perHour: null,
  highest: null,
  limit: null,
  atRisk: { total: 0, net: 0, parts: 0, takings: 0, cash: 0, minutes: 0 },
  gates: [],
};

function littleFor({ mean, minutes, perHour }: WayResult, { rate, hour }: Stance): Advice['littleForHours'] {
  if (perHour === null || minutes < LITTLE_FROM_MINUTES || rate >= LITTLE * hour) return null;
  return mean > 0 && perHour < LITTLE * hour ? { minutes, perHour } : null;
}

/** The prices at which the advice changes, lowest first. */
function turns(found: readonly Candidate[], stance: Stance): PriceTurn[] {
  const { unit } = stance;
  const at = (price: number) => adviceAt(found, stance, price);
  const highest = [...new Set(found.flatMap((one) => one.highest ?? []))].sort((a, b) => a - b);
  const changes: PriceTurn[] = [];
  const add = (price: number) => {
    const [below, above] = [at(price), at(price + unit)];
    if (below !== above) changes.push({ price, below, above });
  };
  let from = 0;
  for (const end of highest) {
    // Between two highest prices the same ways hold; they change places there only by the tax on a margin, and once.
    if (at(from) !== at(end)) {
      const start = at(from);
      let [low, high] = [from, end];
      while (high - low > unit * 1.5) {
        const middle = toUnit((low + high) / 2, unit);
        if (at(middle) === start) low = middle;
        else high = middle;
      }
      add(low);
    }
    add(end);
    from = end + unit;
  }
  return changes;
}

function closestTurn(found: readonly Candidate[], stance: Stance, price: number): PriceTurn | null {
  const away = (turn: PriceTurn) => (turn.price >= price ? turn.price - price : price - turn.price);
  return turns(found, stance).sort((a, b) => away(a) - away(b))[0] ?? null;
}
