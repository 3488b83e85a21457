/**
 * Belief over sets of present faults. Faults are present independently; complaints combine by noisy-OR with a leak (Pearl
 * 1988; Heckerman & Breese 1996, causal independence), the outcomes of a check by noisy-MAX (Díez 1993) or by the fault
 * that decides. Weights are one a set of `FaultSets`; they need not sum to 1. All functions are pure.
 */
import { cumulative } from '../../../knowledge/noisy-max.ts';
import type { FaultSets } from './fault-sets.ts';

/** What a fault, or nothing, makes of one complaint. */
export interface Complaint {
  /** P(shown | none of the faults that cause it), 0 <= leak < 1. */
  readonly leak: number;
  /** P(shown | this fault alone), one a fault. */
  readonly seen: ArrayLike<number>;
}

/** A check's chances; outcomes from nothing wrong to most wrong. */
export interface CheckRows {
  /** Row where none of the faults counts. */
  readonly otherwise: readonly number[];
  /** Row of each fault alone; null: like `otherwise`. */
  readonly given: readonly (readonly number[] | null)[];
  /** Faults that decide by themselves, the strongest first: where one is present its row is the row of the set. */
  readonly deciding?: readonly number[];
}

/**
 * Chance that each fault is present in a phone that comes to a bench: 1 - exp(-rate w_i / sum w), so that the number of
 * faults is nearly Poisson with mean `rate`.
 * @param weights relative frequencies, > 0.
 * @param rate mean number of faults, > 0.
 */
export function presence(weights: readonly number[], rate: number): number[] {
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  return weights.map((weight) => -Math.expm1((-rate * weight) / total));
}

/**
 * P(S) for each set of up to `most` faults, each present independently; divided by P(no fault), so that nothing is lost to
 * rounding. The empty set has weight 0: something is wrong.
 * @throws RangeError for a chance outside 0 < p < 1.
 */
export function priorOver(sets: FaultSets, chances: readonly number[]): Float64Array {
  const odds = chances.map((chance, i) => {
    if (!(chance > 0 && chance < 1)) throw new RangeError(`fault ${i}: chance ${chance} is not within 0..1`);
    return chance / (1 - chance);
  });
  return priorFromOdds(sets, odds);
}

/** The same from odds p / (1 - p); with sets of one fault their ratios alone matter. */
export function priorFromOdds(sets: FaultSets, odds: readonly number[]): Float64Array {
  const weights = productsOver(sets, odds, 1);
  weights[0] = 0;
  return weights;
}

/** start * prod over the faults of the set of factor_i, for each set. */
function productsOver(sets: FaultSets, factors: ArrayLike<number>, start: number): Float64Array {
  const { first, second, third, count } = sets;
  const products = new Float64Array(count);
  for (let s = 0; s < count; s++) {
    let product = start;
    const i = first[s] ?? -1;
    const j = second[s] ?? -1;
    const k = third[s] ?? -1;
    if (i >= 0) product *= factors[i] ?? 1;
    if (j >= 0) product *= factors[j] ?? 1;
    if (k >= 0) product *= factors[k] ?? 1;
    products[s] = product;
  }
  return products;
}

/** Share of the leak that each fault leaves: (1 - seen_i) / (1 - leak) = 1 - q_i. */
function silence({ leak, seen }: Complaint): Float64Array {
  if (!(leak >= 0 && leak < 1)) throw new RangeError(`a leak of ${leak} is not within 0..1`);
  return Float64Array.from(seen, (chance) => (1 - chance) / (1 - leak));
}

/** P(shown | S) = 1 - (1 - leak) prod_{i in S} (1 - q_i), for each set. */
export function shownChances(sets: FaultSets, complaint: Complaint): Float64Array {
  const chances = productsOver(sets, silence(complaint), 1 - complaint.leak);
  for (let s = 0; s < chances.length; s++) {
    // A row under the leak (which no pack should have) may take a set above 1.
    chances[s] = Math.min(1, Math.max(0, 1 - (chances[s] ?? 0)));
  }
  return chances;
}

/** A check's rows laid out to be combined quickly. Does the same as `noisyMaxRow`, one outcome at a time. */
export class Rows {
  /** Faults that count: that have a row, or decide. */
  readonly counts: Uint8Array;
  readonly #check: CheckRows;
  /** F_0, and F_i / F_0 for each fault with a row. */
  readonly #none: Float64Array;
  readonly #ratios: readonly (Float64Array | null)[];

  constructor(check: CheckRows) {
    this.#check = check;
    this.#none = Float64Array.from(cumulative(check.otherwise));
    this.#ratios = check.given.map((row) =>
      row === null
        ? null
        : Float64Array.from(cumulative(row), (f, o) => {
            const f0 = this.#none[o] ?? 0;
            return f0 > 0 ? f / f0 : f;
          }),
    );
    this.counts = Uint8Array.from(check.given, (row, fault) =>
      row !== null || check.deciding?.includes(fault) ? 1 : 0,
    );
  }

  /** P(outcome | these faults, up to three; -1 stands for none). */
  chance(outcome: number, first: number, second: number, third: number): number {
    let i = first;
    let j = second;
    let k = third;
    const { deciding, otherwise, given } = this.#check;
    if (deciding !== undefined) {
      for (const fault of deciding) {
        if (fault !== i && fault !== j && fault !== k) continue;
        i = fault;
        j = -1;
        k = -1;
        break;
      }
    }
    const a = this.#ratios[i] ?? null;
    const b = this.#ratios[j] ?? null;
    const c = this.#ratios[k] ?? null;
    const rows = (a === null ? 0 : 1) + (b === null ? 0 : 1) + (c === null ? 0 : 1);
    if (rows === 0) return otherwise[outcome] ?? 0;
    // A single row stays what it is, to the digit.
    if (rows === 1) return given[a !== null ? i : b !== null ? j : k]?.[outcome] ?? 0;
    const last = this.#none.length - 1;
    let before = 0;
    let reached = 0;
    for (let o = 0; o <= outcome; o++) {
      before = reached;
      const f = (this.#none[o] ?? 0) * (a?.[o] ?? 1) * (b?.[o] ?? 1) * (c?.[o] ?? 1);
      reached = o === last ? 1 : Math.min(1, Math.max(before, f));
    }
    return reached - before;
  }
}

/** More faults that count than this, and rows are worked out for each set instead of looked up. */
const MOST_COUNTED = 30;
/** Scratch of `weighOutcome`: chances by the places of three counted faults. */
const table = new Float64Array((MOST_COUNTED + 1) ** 3);

/** P(outcome | S) of one outcome, for each set. */
export function setOutcomeChances(sets: FaultSets, check: CheckRows, outcome: number): Float64Array {
  const chances = new Float64Array(sets.count).fill(1);
  weighOutcome(sets, chances, new Rows(check), outcome);
  return chances;
}

/** Weights times P(outcome | S), in place. */
export function weighOutcome(sets: FaultSets, weights: Float64Array, rows: Rows, outcome: number): void {
  // Sets that agree in the faults that count agree in their row: most have none or one. Rank 0 counts for nothing.
  const ranks = new Uint8Array(sets.faults);
  let counted = 0;
  for (let fault = 0; fault < sets.faults; fault++) if (rows.counts[fault] === 1) ranks[fault] = ++counted;
  const { first, second, third, count } = sets;
  const base = counted + 1;
  const tabled = counted <= MOST_COUNTED;
  if (tabled) table.fill(Number.NaN, 0, base * base * base);
  for (let s = 0; s < count; s++) {
    const weight = weights[s] ?? 0;
    if (weight === 0) continue;
    const i = first[s] ?? -1;
    const j = second[s] ?? -1;
    const k = third[s] ?? -1;
    if (!tabled) {
      weights[s] = weight * rows.chance(outcome, i, j, k);
      continue;
    }
    const key =
      ((i >= 0 ? (ranks[i] ?? 0) : 0) * base + (j >= 0 ? (ranks[j] ?? 0) : 0)) * base +
      (k >= 0 ? (ranks[k] ?? 0) : 0);
    let chance = table[key] ?? Number.NaN;
    if (Number.isNaN(chance)) {
      chance = rows.chance(outcome, i, j, k);
      table[key] = chance;
    }
    weights[s] = weight * chance;
  }
}

/** P(shown | one set of faults). */
export function shownUnder({ leak, seen }: Complaint, members: readonly number[]): number {
  let quiet = 1 - leak;
  for (const fault of members) quiet *= (1 - (seen[fault] ?? leak)) / (1 - leak);
  return Math.min(1, Math.max(0, 1 - quiet));
}

/** Weights times P(shown | S), or P(not shown | S), in place. */
export function weighComplaint(
  sets: FaultSets,
  weights: Float64Array,
  complaint: Complaint,
  shown: boolean,
): void {
  const factors = silence(complaint);
  const { first, second, third, count } = sets;
  for (let s = 0; s < count; s++) {
    let quiet = 1 - complaint.leak;
    const i = first[s] ?? -1;
    const j = second[s] ?? -1;
    const k = third[s] ?? -1;
    if (i >= 0) quiet *= factors[i] ?? 1;
    if (j >= 0) quiet *= factors[j] ?? 1;
    if (k >= 0) quiet *= factors[k] ?? 1;
    const chance = Math.min(1, Math.max(0, 1 - quiet));
    weights[s] = (weights[s] ?? 0) * (shown ? chance : 1 - chance);
  }
}

/** Weights times a likelihood, one a set. */
export function weigh(weights: Float64Array, likelihood: Float64Array): Float64Array {
  return weights.map((weight, s) => weight * (likelihood[s] ?? 0));
}

/** Weights after a complaint was denied, or did not come where it could have been seen. */
export function weighAbsent(weights: Float64Array, shown: Float64Array): Float64Array {
  return weights.map((weight, s) => weight * (1 - (shown[s] ?? 0)));
}

export const total = (weights: ArrayLike<number>): number => {
  let sum = 0;
  for (let s = 0; s < weights.length; s++) sum += weights[s] ?? 0;
  return sum;
};

/** Weights that sum to 1; null where all are 0: nothing explains what was seen. */
export function normalised(weights: Float64Array): Float64Array | null {
  const sum = total(weights);
  return sum > 0 ? weights.map((weight) => weight / sum) : null;
}

/** What was seen of an open complaint after a remedy. */
export interface Seen {
  /** P(shown | S), one a set. */
  readonly shown: Float64Array;
  /** True: it is gone; false: it is still there; null: nobody looked. */
  readonly gone: boolean | null;
}

/**
 * Weights after a remedy: each fault it mends is removed independently with its own chance. Which fault causes which
 * complaint is fixed for the phone, so a complaint that was shown under S is still there under S' with chance P(S') / P(S).
 * @param works P(removed), one a fault.
 * @param seen the complaints that were open before, and what became of each.
 */
export function afterRemedy(
  sets: FaultSets,
  weights: Float64Array,
  works: ArrayLike<number>,
  seen: readonly Seen[],
): Float64Array {
  const after = new Float64Array(sets.count);
  const looks = seen.filter(({ gone }) => gone !== null);
  const nothingWent = looks.every(({ gone }) => gone === false);
  const removable = (fault: number): number => (fault >= 0 ? (works[fault] ?? 0) : 0);
  for (let s = 0; s < sets.count; s++) {
    const weight = weights[s] ?? 0;
    if (weight === 0) continue;
    const i = sets.first[s] ?? -1;
    const j = sets.second[s] ?? -1;
    const k = sets.third[s] ?? -1;
    const p = removable(i);
    const q = removable(j);
    const r = removable(k);
    if (p === 0 && q === 0 && r === 0) {
      // Nothing can change, so nothing can have gone.
      if (nothingWent) after[s] = (after[s] ?? 0) + weight;
      continue;
    }
    // Bit 0, 1, 2: the first, second, third of them is removed.
    for (let out = 0; out < 8; out++) {
      let moved = weight;
      moved *= out & 1 ? p : 1 - p;
      moved *= out & 2 ? q : 1 - q;
      moved *= out & 4 ? r : 1 - r;
      if (moved === 0) continue;
      const to = sets.indexOfThree(out & 1 ? -1 : i, out & 2 ? -1 : j, out & 4 ? -1 : k);
      for (const { shown, gone } of looks) {
        const stays = Math.min(1, (shown[to] ?? 0) / (shown[s] ?? 1));
        moved *= gone ? 1 - stays : stays;
      }
      after[to] = (after[to] ?? 0) + moved;
    }
  }
  return after;
}

/**
 * P(a remedy removed this fault | what was seen after it), one a fault: the same sum as of `afterRemedy`, by what was taken
 * away. All 0 where nothing explains what was seen.
 */
export function removedShares(
  sets: FaultSets,
  weights: Float64Array,
  works: ArrayLike<number>,
  seen: readonly Seen[],
): Float64Array {
  const removed = new Float64Array(sets.faults);
  let all = 0;
  const looks = seen.filter(({ gone }) => gone !== null);
  for (let s = 0; s < sets.count; s++) {
    const weight = weights[s] ?? 0;
    const members = sets.members(s);
    if (weight === 0 || !members.some((fault) => (works[fault] ?? 0) > 0)) continue;
    for (let out = 0; out < 1 << members.length; out++) {
      const left = members.filter((_, at) => !((out >> at) & 1));
      let moved = weight;
      members.forEach((fault, at) => {
        const chance = works[fault] ?? 0;
        moved *= (out >> at) & 1 ? chance : 1 - chance;
      });
      if (moved === 0) continue;
      const to = sets.indexOf(left);
      for (const { shown, gone } of looks) {
        const stays = Math.min(1, (shown[to] ?? 0) / (shown[s] ?? 1));
        moved *= gone ? 1 - stays : stays;
      }
      all += moved;
      members.forEach((fault, at) => {
        if ((out >> at) & 1) removed[fault] = (removed[fault] ?? 0) + moved;
      });
    }
  }
  return all > 0 ? removed.map((one) => one / all) : removed;
}

/** P(fault present), one a fault, under weights over sets. */
export function marginals(sets: FaultSets, weights: Float64Array): Float64Array {
  const sum = total(weights);
  const each = new Float64Array(sets.faults);
  const add = (fault: number, weight: number): void => {
    if (fault >= 0) each[fault] = (each[fault] ?? 0) + weight;
  };
  for (let s = 0; s < sets.count; s++) {
    const weight = (weights[s] ?? 0) / sum;
    if (weight === 0) continue;
    add(sets.first[s] ?? -1, weight);
    add(sets.second[s] ?? -1, weight);
    add(sets.third[s] ?? -1, weight);
  }
  return each;
}

/** Most pieces of evidence that are taken into the bound one by one; the work doubles with each. */
const MOST_TERMS = 7;

/** One piece of evidence as a difference of two products over the present faults: start * prod factor_i. */
interface Terms {
  readonly plus: { readonly start: number; readonly factors: ArrayLike<number> };
  readonly minus: { readonly start: number; readonly factors: ArrayLike<number> } | null;
}

/** A complaint that is shown: 1 - (1 - leak) prod (1 - q_i); one that is not: the product alone. */
export const complaintTerms = (complaint: Complaint, shown: boolean): Terms => {
  const quiet = { start: 1 - complaint.leak, factors: silence(complaint) };
  if (!shown) return { plus: quiet, minus: null };
  return { plus: { start: 1, factors: new Float64Array(complaint.seen.length).fill(1) }, minus: quiet };
};

/** An outcome: F_S(o) - F_S(o - 1), each a product of ratios to the row of nothing wrong. */
export const outcomeTerms = (check: CheckRows, outcome: number): Terms => {
  const upTo = (row: readonly number[], o: number) =>
    row.slice(0, o + 1).reduce((sum, chance) => sum + chance, 0);
  const product = (o: number) => {
    const start = upTo(check.otherwise, o);
    const factors = check.given.map((row) =>
      row === null ? 1 : start > 0 ? upTo(row, o) / start : upTo(row, o),
    );
    return { start, factors };
  };
  return { plus: product(outcome), minus: outcome > 0 ? product(outcome - 1) : null };
};

/**
 * How much of the belief could lie in sets of more than `sets.most` faults: an upper bound, 0..1. Exact where all evidence is
 * in `terms` (products are multiplied out, and the polynomial in the number of faults is cut at its degree); evidence beyond
 * the first few, and what a remedy showed, is taken to be certain under such sets.
 * @param held sum over the sets of `sets` of prior (as of `priorOver`) times likelihood of all evidence.
 */
export function massBeyond(
  sets: FaultSets,
  chances: readonly number[],
  terms: readonly Terms[],
  held: number,
): number {
  const used = terms.slice(0, MOST_TERMS);
  const n = sets.faults;
  let beyond = 0;
  const coefficients = new Float64Array(sets.most + 1);
  const walk = (at: number, sign: number, start: number, factors: Float64Array): void => {
    const term = used[at];
    if (term !== undefined) {
      const scaled = (factor: ArrayLike<number>) => factors.map((one, i) => one * (factor[i] ?? 1));
      walk(at + 1, sign, start * term.plus.start, scaled(term.plus.factors));
      if (term.minus !== null) walk(at + 1, -sign, start * term.minus.start, scaled(term.minus.factors));
      return;
    }
    // prod_i (1 + odds_i factor_i x): its value at x = 1, less its terms up to the degree that is held.
    coefficients.fill(0);
    coefficients[0] = 1;
    let whole = 1;
    for (let i = 0; i < n; i++) {
      const chance = chances[i] ?? 0;
      const step = (chance / (1 - chance)) * (factors[i] ?? 1);
      whole *= 1 + step;
      for (let d = sets.most; d >= 1; d--)
        coefficients[d] = (coefficients[d] ?? 0) + step * (coefficients[d - 1] ?? 0);
    }
    beyond += sign * start * (whole - total(coefficients));
  };
  walk(0, 1, 1, new Float64Array(n).fill(1));
  const most = Math.max(0, beyond);
  return most > 0 ? most / (most + held) : 0;
}
