import type { Compiled } from './compiled.ts';

/** Of so many remedies for a hypothesis it is held which are used up. Beyond, a remedy may be tried again, which keeps the bound a bound. */
const MOST_BITS = 8;
/** Problems with more hypotheses than this are large: there only remedies that often fail count as used up, and fewer. */
const LARGE = 40;
const LARGE_BITS = 3;
const OFTEN_FAILS = 0.65;

/**
 * What each hypothesis would bring if it were known to be true, and what a remedy removed were seen: an upper bound on what
 * can be expected from there (the classic relaxation; Warnquist 2010 uses it for single faults). Worked out over what is
 * left present, what is open, the access reached and the remedies used up, as far as it is asked for.
 */
export class KnownSets {
  readonly compiled: Compiled;
  /** For each hypothesis its remedies, those that count as used up first, and how many of them do. */
  readonly #order: readonly Int32Array[];
  readonly #bits: readonly number[];
  readonly #tables: (Float64Array | undefined)[];
  /** place[r][h]: where h stands in moves.from; -1 where it does not. */
  readonly #places: readonly Int32Array[];

  constructor(compiled: Compiled) {
    this.compiled = compiled;
    const large = compiled.hypotheses > LARGE;
    const bits: number[] = [];
    this.#places = compiled.remedies.map(({ moves }) => {
      const places = new Int32Array(compiled.hypotheses).fill(-1);
      for (let i = 0; i < moves.from.length; i++) places[moves.from[i] ?? 0] = i;
      return places;
    });
    const stays = (r: number, h: number): number =>
      compiled.remedies[r]?.moves.stay[this.#places[r]?.[h] ?? -1] ?? 1;
    this.#order = compiled.able.map((able, h) => {
      const counted = large ? able.filter((r) => stays(r, h) > 1 - OFTEN_FAILS) : able;
      const most = large ? LARGE_BITS : MOST_BITS;
      const first = counted.slice(0, most);
      bits.push(first.length);
      return Int32Array.from([...first, ...able.filter((r) => !first.includes(r))]);
    });
    this.#bits = bits;
    this.#tables = new Array<Float64Array | undefined>(compiled.hypotheses).fill(undefined);
  }

  /**
   * Best net when hypothesis h is known, with a mask open and nothing yet lost of the worth.
   * @param used 1 for each remedy used up; changed and put back during the call.
   */
  value(h: number, open: number, used: Uint8Array, level: number): number {
    const { compiled } = this;
    const order = this.#order[h];
    const bits = this.#bits[h] ?? 0;
    if (open === 0 || order === undefined || order.length === 0) return this.#stop(h, open);
    let local = 0;
    for (let i = 0; i < bits; i++) if (used[order[i] ?? 0] === 1) local |= 1 << i;
    const key = (local * compiled.levels + level) * compiled.masks + open;
    let table = this.#tables[h];
    if (table === undefined) {
      table = new Float64Array((compiled.levels * compiled.masks) << bits).fill(Number.NaN);
      this.#tables[h] = table;
    }
    const known = table[key] ?? Number.NaN;
    if (!Number.isNaN(known)) return known;
    let best = this.#stop(h, open);
    for (let i = 0; i < order.length; i++) {
      const r = order[i] ?? 0;
      const counted = i < bits;
      if (counted && used[r] === 1) continue;
      const net = this.#tried(h, open, used, level, r, counted);
      if (net > best) best = net;
    }
    table[key] = best;
    return best;
  }

  #stop(h: number, open: number): number {
    const { value, keeps, bestEnd } = this.compiled;
    return Math.max(value * (keeps[open] ?? 0), bestEnd[h] ?? Number.NEGATIVE_INFINITY);
  }

  #tried(h: number, open: number, used: Uint8Array, level: number, r: number, counted: boolean): number {
    const { compiled } = this;
    const remedy = compiled.remedies[r];
    if (remedy === undefined) return Number.NEGATIVE_INFINITY;
    const deep = Math.max(level, remedy.level);
    const access = (compiled.reach[deep] ?? 0) - (compiled.reach[level] ?? 0);
    const before = used[r] ?? 0;
    if (counted) used[r] = 1;
    const { keeps } = remedy;
    const effect = compiled.effect(r, open);
    let net = -remedy.cost;
    let stays = 0;
    const place = this.#places[r]?.[h] ?? -1;
    const entries = place < 0 ? effect.masks.length : (effect.start[place + 1] ?? 0);
    for (let t = place < 0 ? 0 : (effect.start[place] ?? 0); t < entries; t++) {
      const to = place < 0 ? h : (effect.to[t] ?? 0);
      const mask = effect.masks[place < 0 ? t : (effect.at[t] ?? 0)] ?? 0;
      const part = (place < 0 ? effect.plain[t] : effect.chance[t]) ?? 0;
      if (part === 0) continue;
      if (mask === open && to === h) {
        stays += part;
        continue;
      }
      let value = this.value(to, mask, used, deep);
      if (mask !== open && keeps < 1) {
        // The best net is convex in the worth: between what it is with all of it and with none.
        const none = Math.max(0, compiled.bestEnd[to] ?? 0);
        value = keeps * value + (1 - keeps) * none;
      }
      net += part * value;
    }
    if (stays > 0) {
      if (counted || deep > level) net += stays * this.value(h, open, used, deep);
      else if (stays < 1) net /= 1 - stays;
      else net = Number.NEGATIVE_INFINITY;
    }
    used[r] = before;
    return net - access;
  }
}

/** Remedies used up and the access reached, with what depends on nothing else. Found through `after` and `deeper`. */
export class Stage {
  readonly known: KnownSets;
  readonly level: number;
  readonly id: number;
  /** 1 for each remedy used up. */
  readonly used: Uint8Array;
  readonly #all: Map<string, Stage>;
  readonly #values: (Float64Array | undefined)[];

  private constructor(known: KnownSets, used: Uint8Array, level: number, all: Map<string, Stage>) {
    this.known = known;
    this.used = used;
    this.level = level;
    this.#all = all;
    this.id = all.size;
    this.#values = new Array<Float64Array | undefined>(known.compiled.masks).fill(undefined);
  }

  static first(compiled: Compiled): Stage {
    const used = new Uint8Array(compiled.remedies.length);
    return Stage.#get(new KnownSets(compiled), used, compiled.problem.level, new Map());
  }

  static #get(known: KnownSets, used: Uint8Array, level: number, all: Map<string, Stage>): Stage {
    const key = `${level}${String.fromCharCode(...used)}`;
    const have = all.get(key);
    if (have !== undefined) return have;
    const stage = new Stage(known, used, level, all);
    all.set(key, stage);
    return stage;
  }

  /** Net of each hypothesis if known, with a mask open. */
  values(open: number): Float64Array {
    const have = this.#values[open];
    if (have !== undefined) return have;
    const values = new Float64Array(this.known.compiled.hypotheses);
    for (let h = 0; h < values.length; h++) values[h] = this.known.value(h, open, this.used, this.level);
    this.#values[open] = values;
    return values;
  }

  /** Cost of coming from here to `level`; 0 when it is reached already. */
  access(level: number): number {
    const { reach } = this.known.compiled;
    return level > this.level ? (reach[level] ?? 0) - (reach[this.level] ?? 0) : 0;
  }

  after(r: number): Stage {
    const used = this.used.slice();
    used[r] = 1;
    const level = Math.max(this.level, this.known.compiled.remedies[r]?.level ?? 0);
    return Stage.#get(this.known, used, level, this.#all);
  }

  deeper(level: number): Stage {
    return level <= this.level ? this : Stage.#get(this.known, this.used, level, this.#all);
  }
}

/** Checks that may make an open complaint go, and how likely at most, for the upper bound. */
export class Clearing {
  readonly #compiled: Compiled;
  readonly #checks: readonly { readonly check: number; readonly mask: number; readonly most: Float64Array }[];
  readonly #made = new Map<number, { mask: number; chance: Float64Array } | null>();

  constructor(compiled: Compiled) {
    this.#compiled = compiled;
    const { hypotheses, checks } = compiled.problem;
    this.#checks = compiled.checks.flatMap((check, c) => {
      const { clears } = check;
      if (clears === null) return [];
      const own = hypotheses.map((_, h) =>
        (checks[check.source]?.forms ?? []).reduce((most, form) => {
          const chance = clears.reduce((sum, mask, o) => (mask ? sum + (form.given[o]?.[h] ?? 0) : sum), 0);
          return Math.max(most, Math.min(1, chance));
        }, 0),
      );
      // A remedy before it may leave any smaller set.
      const most = Float64Array.from(hypotheses, ({ faults }) =>
        hypotheses.reduce(
          (best, other, g) =>
            other.faults.every((fault) => faults.includes(fault)) ? Math.max(best, own[g] ?? 0) : best,
          0,
        ),
      );
      return [{ check: c, mask: clears.reduce((all, mask) => all | mask, 0), most }];
    });
  }

  /** Upper bound on the net from weights w, scaled like them: the set known, and checks that clear tried for nothing. */
  bound(w: Float64Array, open: number, stage: Stage, seen: ArrayLike<number>): number {
    const values = stage.values(open);
    const free = this.#checks.length > 0 ? this.#left(open, seen) : null;
    let sum = 0;
    if (free === null) {
      for (let h = 0; h < w.length; h++) sum += (w[h] ?? 0) * (values[h] ?? 0);
      return sum;
    }
    const cleared = stage.values(open & ~free.mask);
    for (let h = 0; h < w.length; h++) {
      const chance = free.chance[h] ?? 0;
      sum += (w[h] ?? 0) * (chance * (cleared[h] ?? 0) + (1 - chance) * (values[h] ?? 0));
    }
    return sum;
  }

  #left(open: number, seen: ArrayLike<number>): { mask: number; chance: Float64Array } | null {
    // A bit for each of them that is left; more than 30 are not told apart, and count as left.
    let bits = 0;
    for (let i = 0; i < this.#checks.length; i++) {
      const one = this.#checks[i];
      if (one !== undefined && (i >= 30 || seen[one.check] === 0) && (one.mask & open) !== 0)
        bits |= 1 << Math.min(i, 30);
    }
    const known = this.#made.get(bits);
    if (known !== undefined) return known;
    const left = this.#checks.filter((_, i) => (bits >> Math.min(i, 30)) & 1);
    let made: { mask: number; chance: Float64Array } | null = null;
    if (left.length > 0) {
      const chance = Float64Array.from(
        { length: this.#compiled.hypotheses },
        (_, h) => 1 - left.reduce((none, { most }) => none * (1 - (most[h] ?? 0)), 1),
      );
      made = { mask: left.reduce((all, { mask }) => all | mask, 0), chance };
    }
    this.#made.set(bits, made);
    return made;
  }
}
