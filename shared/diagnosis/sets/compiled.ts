import { applies, assertSetProblem, type SetProblem } from './problem.ts';

/** What a remedy does to each hypothesis that it can change. */
export interface Moves {
  /** Hypotheses it can change. */
  readonly from: Int32Array;
  /** P(it removes nothing), beside `from`. */
  readonly stay: Float64Array;
  /** Moves of the i-th of `from` are start[i] .. start[i + 1] - 1. */
  readonly start: Int32Array;
  readonly to: Int32Array;
  readonly chance: Float64Array;
}

export interface CompiledRemedy {
  /** Place in problem.remedies. */
  readonly source: number;
  readonly cost: number;
  readonly level: number;
  readonly keeps: number;
  readonly moves: Moves;
}

export interface CompiledForm {
  readonly given: readonly Float64Array[];
}

export interface CompiledCheck {
  /** Place in problem.checks. */
  readonly source: number;
  readonly cost: number;
  readonly level: number;
  readonly clears: readonly number[] | null;
}

/** How likely a remedy is to make something go while a mask is open, and what is then left of the worth. */
export interface Prospect {
  /** P(some open complaint goes), beside `moves.from`. */
  readonly change: Float64Array;
  /** Sum over what is then open of its chance times what it keeps. */
  readonly worth: Float64Array;
}

/** A problem in flat typed arrays; the searching code reads only this. */
export class Compiled {
  readonly problem: SetProblem;
  readonly hypotheses: number;
  readonly levels: number;
  /** Number of masks of open complaints. */
  readonly masks: number;
  /** reach[k]: cost of coming from level 0 to level k. */
  readonly reach: Float64Array;
  readonly prior: Float64Array;
  readonly value: number;
  /** What an open mask keeps of the worth. */
  readonly keeps: Float64Array;
  readonly checks: readonly CompiledCheck[];
  readonly remedies: readonly CompiledRemedy[];
  readonly ends: readonly Float64Array[];
  /** Best end other than selling, by hypothesis: -Infinity where there is none. */
  readonly bestEnd: Float64Array;
  /** The dearest single amount: what "a rounding error" is measured against. */
  readonly scale: number;
  /** For each hypothesis the remedies that can change it. */
  readonly able: readonly Int32Array[];
  readonly #chance: readonly Float64Array[];
  readonly #prospects: (Prospect | undefined)[];
  readonly #forms: (CompiledForm | null | undefined)[];
  /** What `split` found last. */
  readonly splitMask: Int32Array;
  readonly splitChance: Float64Array;

  /** @throws RangeError from `assertSetProblem`. */
  constructor(problem: SetProblem) {
    assertSetProblem(problem);
    const { hypotheses, complaints, checks, remedies, access, ends } = problem;
    this.problem = problem;
    this.hypotheses = hypotheses.length;
    this.levels = access.length + 1;
    this.masks = 1 << complaints.length;
    this.value = problem.value;
    this.reach = new Float64Array(this.levels);
    access.forEach((cost, k) => {
      this.reach[k + 1] = (this.reach[k] ?? 0) + cost;
    });
    this.prior = Float64Array.from(hypotheses, (one) => one.weight);
    this.keeps = Float64Array.from({ length: this.masks }, (_, open) =>
      complaints.reduce((keeps, one, k) => ((open >> k) & 1 ? keeps * one.keeps : keeps), 1),
    );
    this.#chance = complaints.map((one) => Float64Array.from(one.chance));
    this.checks = checks.map(({ cost, level, clears }, source) => ({
      source,
      cost,
      level,
      clears: clears?.some((mask) => mask > 0) ? clears : null,
    }));
    const places = new Map(hypotheses.map((one, h) => [one.faults.join(), h]));
    this.remedies = remedies.flatMap((remedy, source) => {
      const moves = movesOf(problem, places, remedy.works);
      const { cost, level, keeps } = remedy;
      return moves.from.length > 0 ? [{ source, cost, level, keeps, moves }] : [];
    });
    this.ends = ends.map((end) => Float64Array.from(end.value));
    this.bestEnd = Float64Array.from(hypotheses, (_, h) =>
      this.ends.reduce((best, end) => Math.max(best, end[h] ?? best), Number.NEGATIVE_INFINITY),
    );
    const amounts = [
      problem.value,
      ...access,
      ...checks.map((check) => check.cost),
      ...remedies.map((remedy) => remedy.cost),
      ...ends.flatMap((end) => end.value.map(Math.abs)),
    ];
    this.scale = amounts.reduce((most, amount) => Math.max(most, Math.abs(amount)), 1e-300);
    const able: number[][] = hypotheses.map(() => []);
    this.remedies.forEach(({ moves }, r) => {
      for (const h of moves.from) able[h]?.push(r);
    });
    this.able = able.map((list) => Int32Array.from(list));
    this.#prospects = new Array<Prospect | undefined>(this.masks * this.remedies.length).fill(undefined);
    this.#forms = new Array<CompiledForm | null | undefined>(this.masks * checks.length).fill(undefined);
    this.splitMask = new Int32Array(this.masks);
    this.splitChance = new Float64Array(this.masks);
  }

  /** The form of a check while a mask is open; null where it cannot be done, or tells nothing under any hypothesis. */
  form(check: number, open: number): CompiledForm | null {
    const at = open * this.checks.length + check;
    const known = this.#forms[at];
    if (known !== undefined) return known;
    const spec = this.problem.checks[check];
    const form = spec?.forms.find((one) => applies(one, open));
    let compiled: CompiledForm | null = null;
    if (form !== undefined) {
      const given = form.given.map((row) => Float64Array.from(row));
      const tells = given.some((row) => row.some((chance) => chance !== row[0]));
      if (tells || spec?.clears?.some((mask) => (mask & open) !== 0)) compiled = { given };
    }
    this.#forms[at] = compiled;
    return compiled;
  }

  remedyApplies(r: number, open: number): boolean {
    const spec = this.problem.remedies[this.remedies[r]?.source ?? -1];
    return spec !== undefined && applies(spec, open);
  }

  /**
   * What becomes of an open mask when the truth moves from one hypothesis to another: a complaint stays with chance
   * P(S') / P(S). Leaves masks and chances in `splitMask` and `splitChance` and returns how many; some chances may be 0.
   */
  split(open: number, from: number, to: number): number {
    const masks = this.splitMask;
    const chances = this.splitChance;
    masks[0] = open;
    chances[0] = 1;
    let count = 1;
    for (let k = 0; k < this.#chance.length; k++) {
      if (((open >> k) & 1) === 0) continue;
      const row = this.#chance[k];
      const before = row?.[from] ?? 0;
      const after = row?.[to] ?? 0;
      if (after >= before) continue;
      const stays = after / before;
      for (let i = 0; i < count; i++) {
        masks[count + i] = (masks[i] ?? 0) & ~(1 << k);
        chances[count + i] = (chances[i] ?? 0) * (1 - stays);
        chances[i] = (chances[i] ?? 0) * stays;
      }
      count *= 2;
    }
    return count;
  }

  prospect(r: number, open: number): Prospect {
    const at = open * this.remedies.length + r;
    const known = this.#prospects[at];
    if (known !== undefined) return known;
    const moves = this.remedies[r]?.moves;
    const size = moves?.from.length ?? 0;
    const change = new Float64Array(size);
    const worth = new Float64Array(size);
    for (let i = 0; moves !== undefined && i < size; i++) {
      for (let t = moves.start[i] ?? 0; t < (moves.start[i + 1] ?? 0); t++) {
        const count = this.split(open, moves.from[i] ?? 0, moves.to[t] ?? 0);
        for (let j = 0; j < count; j++) {
          const mask = this.splitMask[j] ?? 0;
          if (mask === open) continue;
          const chance = (moves.chance[t] ?? 0) * (this.splitChance[j] ?? 0);
          change[i] = (change[i] ?? 0) + chance;
          worth[i] = (worth[i] ?? 0) + chance * (this.keeps[mask] ?? 0);
        }
      }
    }
    const prospect = { change, worth };
    this.#prospects[at] = prospect;
    return prospect;
  }

  /**
   * Weights after remedy r from weights w while a mask is open, by what is then open: `into` gets one array a mask that can
   * come (made by `make`), and the masks are returned, `open` first.
   */
  apply(
    r: number,
    w: Float64Array,
    open: number,
    into: (Float64Array | undefined)[],
    make: (mask: number) => Float64Array,
  ): number[] {
    const moves = this.remedies[r]?.moves;
    const found = [open];
    const same = make(open);
    same.set(w);
    into[open] = same;
    if (moves === undefined) return found;
    const { from, stay, start, to, chance } = moves;
    for (let i = 0; i < from.length; i++) {
      const h = from[i] ?? 0;
      same[h] = (w[h] ?? 0) * (stay[i] ?? 0);
    }
    for (let i = 0; i < from.length; i++) {
      const h = from[i] ?? 0;
      const weight = w[h] ?? 0;
      if (weight === 0) continue;
      for (let t = start[i] ?? 0; t < (start[i + 1] ?? 0); t++) {
        const h2 = to[t] ?? 0;
        const moved = weight * (chance[t] ?? 0);
        const count = this.split(open, h, h2);
        for (let j = 0; j < count; j++) {
          const part = moved * (this.splitChance[j] ?? 0);
          if (part === 0) continue;
          const mask = this.splitMask[j] ?? 0;
          let target = found.includes(mask) ? into[mask] : undefined;
          if (target === undefined) {
            target = make(mask);
            target.fill(0);
            into[mask] = target;
            found.push(mask);
          }
          target[h2] = (target[h2] ?? 0) + part;
        }
      }
    }
    return found;
  }

  /** The best way of stopping at once from weights w, scaled like them; `share` of the worth is left by what was done. */
  stop(w: Float64Array, mass: number, open: number, share: number): number {
    let best = this.value * share * (this.keeps[open] ?? 0) * mass;
    for (const end of this.ends) best = Math.max(best, dot(w, end));
    return best;
  }

  /** Which end that is: -1 to sell, else a place in `problem.ends`. Selling wins a tie. */
  stopKind(w: Float64Array, mass: number, open: number, share: number): number {
    let best = this.value * share * (this.keeps[open] ?? 0) * mass;
    let which = -1;
    this.ends.forEach((end, e) => {
      const value = dot(w, end);
      if (value > best + 1e-12 * this.scale * mass) {
        best = value;
        which = e;
      }
    });
    return which;
  }
}

function movesOf(
  { hypotheses }: SetProblem,
  places: ReadonlyMap<string, number>,
  works: readonly number[],
): Moves {
  const from: number[] = [];
  const stay: number[] = [];
  const start: number[] = [0];
  const to: number[] = [];
  const chance: number[] = [];
  hypotheses.forEach(({ faults }, h) => {
    const able = faults.filter((fault) => (works[fault] ?? 0) > 0);
    if (able.length === 0) return;
    from.push(h);
    for (let out = 0; out < 1 << able.length; out++) {
      let moved = 1;
      able.forEach((fault, at) => {
        const works1 = works[fault] ?? 0;
        moved *= (out >> at) & 1 ? works1 : 1 - works1;
      });
      if (out === 0) {
        stay.push(moved);
        continue;
      }
      if (moved === 0) continue;
      const left = faults.filter((fault) => !able.some((one, at) => one === fault && (out >> at) & 1));
      to.push(places.get(left.join()) ?? 0);
      chance.push(moved);
    }
    start.push(to.length);
  });
  return {
    from: Int32Array.from(from),
    stay: Float64Array.from(stay),
    start: Int32Array.from(start),
    to: Int32Array.from(to),
    chance: Float64Array.from(chance),
  };
}

/** sum_h w_h v_h */
export function dot(w: Float64Array, v: Float64Array): number {
  let sum = 0;
  for (let h = 0; h < w.length; h++) sum += (w[h] ?? 0) * (v[h] ?? 0);
  return sum;
}

export function massOf(w: Float64Array): number {
  let sum = 0;
  for (let h = 0; h < w.length; h++) sum += w[h] ?? 0;
  return sum;
}
