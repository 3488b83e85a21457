import { type Compiled, dot, massOf } from './compiled.ts';
import type { Stage } from './known-set.ts';
import type { SetPolicy } from './policy.ts';

/** Remedies in a row are never more than this. */
const DEEPEST = 9;
/** A turn of events less likely than this, of all there are, is not followed: it stops there. */
const UNLIKELY = 0.002;

/**
 * Remedies without any check: the one with the highest index `worth when something goes - cost / P(something goes)` first
 * (with one complaint and equal worths the efficiency P/C of Heckerman, Breese & Rommelse 1995), chosen again after each
 * look at what is open, and stopped where that is worth more. A policy that can be followed, so its net is a lower bound.
 * One object holds the scratch space.
 */
export class RepairPolicy {
  /** The first remedy of the policy that `run` found, -1 where it stops at once. */
  first = -1;
  /** How many remedies were weighed, tried and done in all: what a search has spent. */
  steps = 0;
  readonly #compiled: Compiled;
  readonly #hope: Stage;
  readonly #pool: Float64Array[][] = [];
  readonly #used: Uint8Array;
  /** For each mask how many of it are open. */
  readonly #together: Uint8Array;
  /** The index of the remedy that `#pick` found last. */
  #index = 0;

  /** @param first the stage at the beginning: its bound holds for all later ones. */
  constructor(compiled: Compiled, first: Stage) {
    this.#compiled = compiled;
    this.#hope = first;
    this.#used = new Uint8Array(compiled.remedies.length);
    this.#together = Uint8Array.from({ length: compiled.masks }, (_, open) => {
      let count = 0;
      for (let left = open; left > 0; left &= left - 1) count++;
      return count;
    });
  }

  /** Expected net from weights w with a mask open, scaled like w; `share` of the worth is left by what was done. */
  run(stage: Stage, w: Float64Array, mass: number, open: number, share: number): number {
    this.#used.set(stage.used);
    return this.#go(w, mass, open, stage.level, share, 0, null);
  }

  /** The policy whose net `run` gives from the same weights. */
  write(stage: Stage, w: Float64Array, mass: number, open: number, share: number): SetPolicy {
    this.#used.set(stage.used);
    const written: { policy: SetPolicy } = { policy: { kind: 'end', end: -1 } };
    this.#go(w, mass, open, stage.level, share, 0, written);
    return written.policy;
  }

  /** @param written where the policy is to be left; null when only its net is wanted. */
  #go(
    w: Float64Array,
    mass: number,
    open: number,
    level: number,
    share: number,
    depth: number,
    written: { policy: SetPolicy } | null,
  ): number {
    const compiled = this.#compiled;
    const stop = compiled.stop(w, mass, open, share);
    if (depth === 0) this.first = -1;
    if (written) written.policy = { kind: 'end', end: compiled.stopKind(w, mass, open, share) };
    if (open === 0 || depth >= DEEPEST || (depth > 0 && mass < UNLIKELY)) return stop;
    // Access that was paid meanwhile counts for, not against.
    const paid = (compiled.reach[level] ?? 0) - (compiled.reach[this.#hope.level] ?? 0);
    if (dot(w, this.#hope.values(open)) + paid * mass <= stop) return stop;
    const r = this.#pick(w, mass, open, level, share);
    const remedy = compiled.remedies[r];
    if (remedy === undefined) return stop;
    // The first few may pay only together, or by what they tell. After that each has to pay by itself.
    if (depth > (this.#together[open] ?? 0) && this.#index * mass <= stop) return stop;
    this.steps++;
    const deep = Math.max(level, remedy.level);
    let net = -(remedy.cost + (compiled.reach[deep] ?? 0) - (compiled.reach[level] ?? 0)) * mass;
    const effect = compiled.effect(r, open);
    const pool = this.#pool[depth] ?? [];
    this.#pool[depth] = pool;
    compiled.apply(r, w, effect, pool);
    const { masks } = effect;
    const branches = written ? new Map<number, SetPolicy>() : null;
    this.#used[r] = 1;
    for (let j = 0; j < masks.length; j++) {
      const left = pool[j];
      const mask = masks[j] ?? 0;
      if (left === undefined) continue;
      const part = massOf(left);
      if (part <= 0) continue;
      const kept = mask === open ? share : share * remedy.keeps;
      const below = written ? { policy: written.policy } : null;
      net += this.#go(left, part, mask, deep, kept, depth + 1, below);
      if (branches && below) branches.set(mask, below.policy);
    }
    this.#used[r] = 0;
    const better = net > stop;
    if (depth === 0) this.first = better ? r : -1;
    if (better && written && branches) written.policy = { kind: 'remedy', remedy: remedy.source, branches };
    return better ? net : stop;
  }

  #pick(w: Float64Array, mass: number, open: number, level: number, share: number): number {
    const compiled = this.#compiled;
    const { remedies, reach } = compiled;
    const enough = mass * 1e-9;
    const list = compiled.applicable(open);
    const used = this.#used;
    let pick = -1;
    let highest = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < list.length; i++) {
      const r = list[i] ?? 0;
      const remedy = remedies[r];
      if (remedy === undefined || used[r] === 1) continue;
      const { plainChange, plainWorth, change, worth } = compiled.effect(r, open);
      const { from } = remedy.moves;
      let chance = plainChange * mass;
      let gained = plainWorth * mass;
      for (let k = 0; k < from.length; k++) {
        const weight = w[from[k] ?? 0] ?? 0;
        chance += weight * (change[k] ?? 0);
        gained += weight * (worth[k] ?? 0);
      }
      if (chance <= enough) continue;
      let { cost } = remedy;
      if (remedy.level > level) cost += (reach[remedy.level] ?? 0) - (reach[level] ?? 0);
      const index = (compiled.value * share * remedy.keeps * gained - cost * mass) / chance;
      if (index > highest) {
        highest = index;
        pick = r;
      }
    }
    this.#index = highest;
    return pick;
  }
}
