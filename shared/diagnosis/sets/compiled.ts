import { applies, assertSetProblem, type CheckForm, type SetProblem } from './problem.ts';

/** What a remedy does to each hypothesis that it can change. */
interface Moves {
  /** Hypotheses it can change. */
  readonly from: Int32Array;
  /** P(it removes nothing), beside `from`. */
  readonly stay: Float64Array;
  /** Moves of the i-th of `from` are start[i] .. start[i + 1] - 1. */
  readonly start: Int32Array;
  readonly to: Int32Array;
  readonly chance: Float64Array;
}

/** What a remedy does while a mask is open: to the truth, and to what is open. */
export interface Effect {
  /** Masks that can be open after it; the first is the one before it. */
  readonly masks: readonly number[];
  /** P(that mask) under hypotheses that it does not change, one a mask. */
  readonly plain: Float64Array;
  /** 1 for each hypothesis that it can change. */
  readonly changes: Uint8Array;
  /** The i-th of `moves.from` goes by entries start[i] .. start[i + 1] - 1: to a hypothesis, with the at-th of `masks` open. */
  readonly start: Int32Array;
  readonly to: Int32Array;
  readonly at: Uint8Array;
  readonly chance: Float64Array;
  /** P(some open complaint goes), and the sum over what is then open of its chance times what it keeps: under plain hypotheses ... */
  readonly plainChange: number;
  readonly plainWorth: number;
  /** ... and what is added to that under each of `moves.from`. */
  readonly change: Float64Array;
  readonly worth: Float64Array;
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

export interface CompiledCheck {
  /** Place in problem.checks. */
  readonly source: number;
  readonly cost: number;
  readonly level: number;
  readonly clears: readonly number[] | null;
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
  /** For each hypothesis the remedies that can change it or what is open. */
  readonly able: readonly Int32Array[];
  readonly #chance: readonly Float64Array[];
  readonly #effects: (Effect | undefined)[];
  readonly #forms: (CompiledForm | null | undefined)[];
  /** Forms that share their rows are made once. */
  readonly #made = new Map<CheckForm['given'], CompiledForm>();
  readonly #applicable: (Int32Array | undefined)[];
  /** What `#split` found last. */
  readonly #splitMask: Int32Array;
  readonly #splitChance: Float64Array;

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
    const places = new Map(hypotheses.map((one, h) => [keyOf(one.faults), h]));
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
    let scale = Math.max(problem.value, 1e-300);
    for (const cost of access) scale = Math.max(scale, cost);
    for (const { cost } of checks) scale = Math.max(scale, cost);
    for (const { cost } of remedies) scale = Math.max(scale, cost);
    for (const end of this.ends) for (const value of end) scale = Math.max(scale, Math.abs(value));
    this.scale = scale;
    const able: number[][] = hypotheses.map(() => []);
    this.remedies.forEach(({ moves, fixes }, r) => {
      if (fixes !== null) for (const list of able) list.push(r);
      else for (const h of moves.from) able[h]?.push(r);
    });
    this.able = able.map((list) => Int32Array.from(list));
    this.#effects = new Array<Effect | undefined>(this.masks * this.remedies.length).fill(undefined);
    this.#forms = new Array<CompiledForm | null | undefined>(this.masks * checks.length).fill(undefined);
    this.#applicable = new Array<Int32Array | undefined>(this.masks).fill(undefined);
    // A complaint can go by a move or by a fix: two halvings for each.
    this.#splitMask = new Int32Array(this.masks * this.masks);
    this.#splitChance = new Float64Array(this.masks * this.masks);
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

  /** The remedies that can be done while a mask is open. */
  applicable(open: number): Int32Array {
    const known = this.#applicable[open];
    if (known !== undefined) return known;
    const list: number[] = [];
    this.remedies.forEach(({ source }, r) => {
      const when = this.problem.remedies[source]?.when;
      if (when === undefined || when.some((one) => applies(one, open))) list.push(r);
    });
    const made = Int32Array.from(list);
    this.#applicable[open] = made;
    return made;
  }

  /**
   * What becomes of an open mask when the truth moves from one hypothesis to another: a complaint stays with chance
   * P(S') / P(S), and what is known to be broken with the chance that the remedy does not fix it. Leaves masks and chances
   * in the scratch arrays and returns how many; some chances may be 0.
   */
  #split(r: number, open: number, from: number, to: number): number {
    const masks = this.#splitMask;
    const chances = this.#splitChance;
    masks[0] = open;
    chances[0] = 1;
    let count = 1;
    for (let k = 0; k < this.#chance.length; k++) {
      if (((open >> k) & 1) === 0) continue;
      const row = this.#chance[k];
      const before = row?.[from] ?? 0;
      const after = row?.[to] ?? 0;
      const fixes = this.remedies[r]?.fixes?.[k] ?? 0;
      const stays = (after >= before ? 1 : after / before) * (1 - fixes);
      if (stays === 1) continue;
      for (let i = 0; i < count; i++) {
        masks[count + i] = (masks[i] ?? 0) & ~(1 << k);
        chances[count + i] = (chances[i] ?? 0) * (1 - stays);
        chances[i] = (chances[i] ?? 0) * stays;
      }
      count *= 2;
    }
    return count;
  }

  effect(r: number, open: number): Effect {
    const slot = open * this.remedies.length + r;
    const known = this.#effects[slot];
    if (known !== undefined) return known;
    const moves = this.remedies[r]?.moves;
    const size = moves?.from.length ?? 0;
    const masks = [open];
    const start = new Int32Array(size + 1);
    const to: number[] = [];
    const at: number[] = [];
    const chance: number[] = [];
    const change = new Float64Array(size);
    const worth = new Float64Array(size);
    const placeOf = (mask: number): number => {
      const place = masks.indexOf(mask);
      return place >= 0 ? place : masks.push(mask) - 1;
    };
    const plain: number[] = [];
    let plainChange = 0;
    let plainWorth = 0;
    const count = this.#split(r, open, 0, 0);
    for (let j = 0; j < count; j++) {
      const mask = this.#splitMask[j] ?? 0;
      const part = this.#splitChance[j] ?? 0;
      if (part === 0) continue;
      const place = placeOf(mask);
      plain[place] = (plain[place] ?? 0) + part;
      if (mask === open) continue;
      plainChange += part;
      plainWorth += part * (this.keeps[mask] ?? 0);
    }
    for (let i = 0; moves !== undefined && i < size; i++) {
      const from = moves.from[i] ?? 0;
      let changes = -plainChange;
      let keeps = -plainWorth;
      const add = (target: number, moved: number): void => {
        if (moved === 0) return;
        const found = this.#split(r, open, from, target);
        for (let j = 0; j < found; j++) {
          const mask = this.#splitMask[j] ?? 0;
          const part = moved * (this.#splitChance[j] ?? 0);
          if (part === 0) continue;
          to.push(target);
          at.push(placeOf(mask));
          chance.push(part);
          if (mask === open) continue;
          changes += part;
          keeps += part * (this.keeps[mask] ?? 0);
        }
      };
      add(from, moves.stay[i] ?? 0);
      for (let t = moves.start[i] ?? 0; t < (moves.start[i + 1] ?? 0); t++)
        add(moves.to[t] ?? 0, moves.chance[t] ?? 0);
      change[i] = changes;
      worth[i] = keeps;
      start[i + 1] = to.length;
    }
    const changes = new Uint8Array(this.hypotheses);
    for (let i = 0; i < size; i++) changes[moves?.from[i] ?? 0] = 1;
    const effect: Effect = {
      masks,
      plain: Float64Array.from(masks, (_, j) => plain[j] ?? 0),
      changes,
      start,
      to: Int32Array.from(to),
      at: Uint8Array.from(at),
      chance: Float64Array.from(chance),
      ...{ plainChange, plainWorth, change, worth },
    };
    this.#effects[slot] = effect;
    return effect;
  }

  /**
   * Weights after remedy r from weights w while a mask is open, one array a mask of its effect: `into` holds them, made by
   * `make` where they are missing.
   */
  apply(
    r: number,
    w: Float64Array,
    effect: Effect,
    into: Float64Array[],
    make: () => Float64Array = () => new Float64Array(this.hypotheses),
  ): void {
    const { masks, plain, changes, start, to, at, chance } = effect;
    for (let j = 0; j < masks.length; j++) {
      const left = into[j] ?? make();
      into[j] = left;
      const part = plain[j] ?? 0;
      if (part === 0) left.fill(0);
      else for (let h = 0; h < w.length; h++) left[h] = changes[h] === 1 ? 0 : (w[h] ?? 0) * part;
    }
    const from = this.remedies[r]?.moves.from;
    if (from === undefined) return;
    for (let i = 0; i < from.length; i++) {
      const weight = w[from[i] ?? 0] ?? 0;
      if (weight === 0) continue;
      for (let t = start[i] ?? 0; t < (start[i + 1] ?? 0); t++) {
        const left = into[at[t] ?? 0];
        const h = to[t] ?? 0;
        if (left !== undefined) left[h] = (left[h] ?? 0) + weight * (chance[t] ?? 0);
      }
    }
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

function compiledForm(rows: CheckForm['given']): CompiledForm {
  const given = rows.map((row) => (row instanceof Float64Array ? row : Float64Array.from(row)));
  return { given, tells: given.some((row) => row.some((chance) => chance !== row[0])) };
}

const keyOf = (faults: readonly number[]): number => faults.reduce((key, fault) => key * 4096 + fault + 1, 0);

function movesOf(
  { hypotheses }: SetProblem,
  places: ReadonlyMap<number, number>,
  works: readonly number[],
): Moves {
  const from: number[] = [];
  const stay: number[] = [];
  const start: number[] = [0];
  const to: number[] = [];
  const chance: number[] = [];
  hypotheses.forEach(({ faults }, h) => {
    if (!faults.some((fault) => (works[fault] ?? 0) > 0)) return;
    const able = faults.filter((fault) => (works[fault] ?? 0) > 0);
    from.push(h);
    for (let out = 0; out < 1 << able.length; out++) {
      let moved = 1;
      able.forEach((fault, at) => {
        const removes = works[fault] ?? 0;
        moved *= (out >> at) & 1 ? removes : 1 - removes;
      });
      if (out === 0) {
        stay.push(moved);
        continue;
      }
      if (moved === 0) continue;
      const left = faults.filter((fault) => !able.some((one, at) => one === fault && (out >> at) & 1));
      to.push(places.get(keyOf(left)) ?? 0);
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
