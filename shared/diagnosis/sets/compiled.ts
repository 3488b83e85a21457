import { applies, assertSetProblem, type CheckForm, type SetProblem } from './problem.ts';

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
  /** P(it makes a complaint go whatever is believed), one a complaint; null: none. */
  readonly fixes: Float64Array | null;
}

export interface CompiledForm {
  readonly given: readonly Float64Array[];
  /** False where every hypothesis gives each outcome the same chance. */
  readonly tells: boolean;
}

function compiledForm(rows: CheckForm['given']): CompiledForm {
  const given = rows.map((row) => (row instanceof Float64Array ? row : Float64Array.from(row)));
  return { given, tells: given.some((row) => row.some((chance) => chance !== row[0])) };
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
  /** P(some open complaint goes) under hypotheses that it does not change. */
  readonly plainChange: number;
  /** The same for the sum over what is then open of its chance times what it keeps. */
  readonly plainWorth: number;
  /** What is added to that under each of `moves.from`. */
  readonly change: Float64Array;
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
  /** Forms that share their rows are made once. */
  readonly #made = new Map<CheckForm['given'], CompiledForm>();
  readonly #applies: (boolean | undefined)[];
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
      const fixes = remedy.fixes?.some((chance) => chance > 0) ? Float64Array.from(remedy.fixes) : null;
      return moves.from.length > 0 || fixes !== null ? [{ source, cost, level, keeps, moves, fixes }] : [];
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
    this.remedies.forEach(({ moves, fixes }, r) => {
      if (fixes !== null) for (const list of able) list.push(r);
      else for (const h of moves.from) able[h]?.push(r);
    });
    this.able = able.map((list) => Int32Array.from(list));
    this.#prospects = new Array<Prospect | undefined>(this.masks * this.remedies.length).fill(undefined);
    this.#applies = new Array<boolean | undefined>(this.masks * this.remedies.length).fill(undefined);
    this.#forms = new Array<CompiledForm | null | undefined>(this.masks * checks.length).fill(undefined);
    // A complaint can go by a move or by a fix: two halvings for each.
    this.splitMask = new Int32Array(this.masks * this.masks);
    this.splitChance = new Float64Array(this.masks * this.masks);
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
      const made = this.#made.get(form.given) ?? compiledForm(form.given);
      this.#made.set(form.given, made);
      if (made.tells || spec?.clears?.some((mask) => (mask & open) !== 0)) compiled = made;
    }
    this.#forms[at] = compiled;
    return compiled;
  }

  remedyApplies(r: number, open: number): boolean {
    const at = open * this.remedies.length + r;
    const known = this.#applies[at];
    if (known !== undefined) return known;
    const when = this.problem.remedies[this.remedies[r]?.source ?? -1]?.when;
    const can = when === undefined || when.some((one) => applies(one, open));
    this.#applies[at] = can;
    return can;
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

  /** Takes what a remedy fixes whatever is believed into what `split` found; returns how many there are now. */
  fix(r: number, open: number, found: number): number {
    const fixes = this.remedies[r]?.fixes;
    if (!fixes) return found;
    let count = found;
    for (let k = 0; k < fixes.length; k++) {
      const goes = fixes[k] ?? 0;
      if (goes === 0 || ((open >> k) & 1) === 0) continue;
      for (let i = 0; i < count; i++) {
        const mask = this.splitMask[i] ?? 0;
        const chance = this.splitChance[i] ?? 0;
        this.splitMask[count + i] = mask & ~(1 << k);
        // Where it is gone already nothing is left to fix.
        const fixed = (mask >> k) & 1 ? goes : 0;
        this.splitChance[count + i] = chance * fixed;
        this.splitChance[i] = chance * (1 - fixed);
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
    /** Adds what can go after a move (or none, from = to), and what is then left. */
    const look = (from: number, to: number, chance: number): { change: number; worth: number } => {
      const sum = { change: 0, worth: 0 };
      const count = this.fix(r, open, this.split(open, from, to));
      for (let j = 0; j < count; j++) {
        const mask = this.splitMask[j] ?? 0;
        if (mask === open) continue;
        const part = chance * (this.splitChance[j] ?? 0);
        sum.change += part;
        sum.worth += part * (this.keeps[mask] ?? 0);
      }
      return sum;
    };
    const plain = look(0, 0, 1);
    for (let i = 0; moves !== undefined && i < size; i++) {
      const from = moves.from[i] ?? 0;
      const stay = moves.stay[i] ?? 0;
      change[i] = (stay - 1) * plain.change;
      worth[i] = (stay - 1) * plain.worth;
      for (let t = moves.start[i] ?? 0; t < (moves.start[i + 1] ?? 0); t++) {
        const moved = look(from, moves.to[t] ?? 0, moves.chance[t] ?? 0);
        change[i] = (change[i] ?? 0) + moved.change;
        worth[i] = (worth[i] ?? 0) + moved.worth;
      }
    }
    const prospect = { plainChange: plain.change, plainWorth: plain.worth, change, worth };
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
    /** The array of a mask, made and emptied when it first comes. */
    const target = (mask: number): Float64Array => {
      const have = found.includes(mask) ? into[mask] : undefined;
      if (have !== undefined) return have;
      const made = make(mask);
      made.fill(0);
      into[mask] = made;
      found.push(mask);
      return made;
    };
    if (this.remedies[r]?.fixes) {
      // What is known to be broken can go under every hypothesis that stays what it is.
      const count = this.fix(r, open, this.split(open, 0, 0));
      const masks = Array.from(this.splitMask.subarray(0, count));
      const chances = Array.from(this.splitChance.subarray(0, count));
      const kept = same.slice();
      masks.forEach((mask, j) => {
        const part = chances[j] ?? 0;
        if (mask !== open && part === 0) return;
        const into2 = target(mask);
        for (let h = 0; h < w.length; h++)
          into2[h] = mask === open ? (kept[h] ?? 0) * part : (into2[h] ?? 0) + (kept[h] ?? 0) * part;
      });
    }
    for (let i = 0; i < from.length; i++) {
      const h = from[i] ?? 0;
      const weight = w[h] ?? 0;
      if (weight === 0) continue;
      for (let t = start[i] ?? 0; t < (start[i + 1] ?? 0); t++) {
        const h2 = to[t] ?? 0;
        const moved = weight * (chance[t] ?? 0);
        const count = this.fix(r, open, this.split(open, h, h2));
        for (let j = 0; j < count; j++) {
          const part = moved * (this.splitChance[j] ?? 0);
          if (part === 0) continue;
          const left = target(this.splitMask[j] ?? 0);
          left[h2] = (left[h2] ?? 0) + part;
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
