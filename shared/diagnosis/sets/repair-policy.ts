import { type Compiled, dot, massOf } from './compiled.ts';
import type { Stage } from './known-set.ts';

/** Remedies in a row are never more than this. */
const DEEPEST = 10;

/**
 * Remedies without any check: the one with the highest index `worth when something goes - cost / P(something goes)` first
 * (with one complaint and equal worths the efficiency P/C of Heckerman, Breese & Rommelse 1995), chosen again after each
 * look at what is open, and stopped where that is worth more. A policy that can be followed, so its net is a lower bound.
 * Tried twice where remedies need different access, with and without access in the index, since later steps share it.
 * One object holds the scratch space.
 */
export class RepairPolicy {
  /** The first remedy of the policy that `run` found, -1 where it stops at once. */
  first = -1;
  /** Whether access counts in its index. */
  withAccess = true;
  readonly #compiled: Compiled;
  readonly #hope: Stage;
  readonly #pool: (Float64Array | undefined)[] = [];
  readonly #into: (Float64Array | undefined)[][] = [];
  readonly #mixed: boolean;

  /** @param first the stage at the beginning: its bound holds for all later ones. */
  constructor(compiled: Compiled, first: Stage) {
    this.#compiled = compiled;
    this.#hope = first;
    this.#mixed = new Set(compiled.remedies.map((remedy) => remedy.level)).size > 1;
  }

  /** Expected net from weights w with a mask open, scaled like w; `share` of the worth is left by what was done. */
  run(stage: Stage, w: Float64Array, open: number, share: number): number {
    const used = stage.used.slice();
    const mass = massOf(w);
    let best = this.#go(w, mass, open, used, stage.level, share, 0, true);
    this.withAccess = true;
    const { first } = this;
    if (this.#mixed && open !== 0) {
      const other = this.#go(w, mass, open, used, stage.level, share, 0, false);
      if (other > best) {
        best = other;
        this.withAccess = false;
      } else this.first = first;
    }
    return best;
  }

  /** The remedy that comes next in the policy of `run`; -1 to stop. */
  next(stage: Stage, w: Float64Array, open: number, share: number, withAccess: boolean): number {
    const mass = massOf(w);
    this.#go(w, mass, open, stage.used.slice(), stage.level, share, 0, withAccess);
    return this.first;
  }

  #go(
    w: Float64Array,
    mass: number,
    open: number,
    used: Uint8Array,
    level: number,
    share: number,
    depth: number,
    withAccess: boolean,
  ): number {
    const compiled = this.#compiled;
    const stop = compiled.stop(w, mass, open, share);
    if (depth === 0) this.first = -1;
    if (open === 0 || depth >= DEEPEST) return stop;
    // Access that was paid meanwhile counts for, not against.
    const paid = (compiled.reach[level] ?? 0) - (compiled.reach[this.#hope.level] ?? 0);
    if (dot(w, this.#hope.values(open)) + paid * mass <= stop) return stop;
    const r = this.#pick(w, mass, open, used, level, share, withAccess);
    if (r < 0) return stop;
    const remedy = compiled.remedies[r];
    if (remedy === undefined) return stop;
    const deep = Math.max(level, remedy.level);
    let net = -(remedy.cost + (compiled.reach[deep] ?? 0) - (compiled.reach[level] ?? 0)) * mass;
    const into = this.#into[depth] ?? [];
    this.#into[depth] = into;
    const masks = compiled.apply(r, w, open, into, (mask) => this.#scratch(depth, mask));
    used[r] = 1;
    for (const mask of masks) {
      const left = into[mask];
      if (left === undefined) continue;
      const part = massOf(left);
      if (part <= mass * 1e-13) continue;
      const kept = mask === open ? share : share * remedy.keeps;
      net += this.#go(left, part, mask, used, deep, kept, depth + 1, withAccess);
    }
    used[r] = 0;
    const better = net > stop;
    if (depth === 0) this.first = better ? r : -1;
    return better ? net : stop;
  }

  #scratch(depth: number, mask: number): Float64Array {
    const at = depth * this.#compiled.masks + mask;
    const have = this.#pool[at] ?? new Float64Array(this.#compiled.hypotheses);
    this.#pool[at] = have;
    return have;
  }

  #pick(
    w: Float64Array,
    mass: number,
    open: number,
    used: Uint8Array,
    level: number,
    share: number,
    withAccess: boolean,
  ): number {
    const compiled = this.#compiled;
    const { remedies, reach } = compiled;
    const enough = mass * 1e-9;
    let pick = -1;
    let highest = Number.NEGATIVE_INFINITY;
    for (let r = 0; r < remedies.length; r++) {
      const remedy = remedies[r];
      if (remedy === undefined || used[r] === 1 || !compiled.remedyApplies(r, open)) continue;
      const { plainChange, plainWorth, change, worth } = compiled.prospect(r, open);
      const { from } = remedy.moves;
      let chance = plainChange * mass;
      let gained = plainWorth * mass;
      for (let i = 0; i < from.length; i++) {
        const weight = w[from[i] ?? 0] ?? 0;
        chance += weight * (change[i] ?? 0);
        gained += weight * (worth[i] ?? 0);
      }
      if (chance <= enough) continue;
      let { cost } = remedy;
      if (withAccess && remedy.level > level) cost += (reach[remedy.level] ?? 0) - (reach[level] ?? 0);
      const index = (compiled.value * share * remedy.keeps * gained - cost * mass) / chance;
      if (index > highest) {
        highest = index;
        pick = r;
      }
    }
    return pick;
  }
}
