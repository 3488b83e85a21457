import { dot, type RepairState } from './bounds.ts';
import type { CompiledProblem } from './compiled-problem.ts';
import { bestStop, type Policy } from './policy.ts';
import type { Problem } from './problem.ts';

/**
 * Remedies one after the other without any check: the one with the highest index `worth - cost / P(works | e)`
 * first (with equal worths the efficiency P/C of Heckerman, Breese & Rommelse 1995), sorted again after every
 * failure (Lin 2014), up to the give-up point with the best expected net, then the best stop. A policy that can
 * be followed, so its net is a lower bound; not always the best order (Jensen et al. 2001, figure 1).
 * Tried twice, with and without access in the index, since access is shared by what comes later.
 * One object holds the scratch space; results are read from it after `run`.
 */
export class RepairOrder {
  /** Remedies in order, of which the first `length` are done. */
  readonly order: Int32Array;
  length = 0;
  /** Best stop under the weights given to `run`. */
  stop = 0;
  readonly #compiled: CompiledProblem;
  readonly #w: Float64Array;
  readonly #chance: Float64Array;
  readonly #works: Float64Array;
  readonly #left: Int32Array;
  readonly #stops: Float64Array;
  readonly #trial: Int32Array;
  #trialLength = 0;

  constructor(compiled: CompiledProblem) {
    const remedies = compiled.remedies.length;
    this.#compiled = compiled;
    this.order = new Int32Array(remedies);
    this.#trial = new Int32Array(remedies);
    this.#w = new Float64Array(compiled.faults);
    this.#chance = new Float64Array(remedies);
    this.#works = new Float64Array(remedies);
    this.#left = new Int32Array(remedies);
    this.#stops = new Float64Array(compiled.stops.length);
  }

  /** Expected net of the order from weights w at a repairState, scaled like w. */
  run(repairState: RepairState, w: Float64Array): number {
    const { remedies } = this.#compiled;
    const { left } = repairState;
    let total = 0;
    for (let f = 0; f < w.length; f++) total += w[f] ?? 0;
    let mixed = false;
    for (let i = 0; i < left.length; i++) {
      const r = left[i] ?? 0;
      const remedy = remedies[r];
      if (remedy === undefined) continue;
      const { fault, works } = remedy;
      let chance = 0;
      for (let j = 0; j < fault.length; j++) chance += (w[fault[j] ?? 0] ?? 0) * (works[j] ?? 0);
      this.#works[r] = chance;
      if (remedy.level > repairState.level) mixed = true;
    }
    let best = this.#greedy(repairState, w, total, true);
    this.length = this.#trialLength;
    this.order.set(this.#trial);
    if (mixed) {
      const other = this.#greedy(repairState, w, total, false);
      if (other > best) {
        best = other;
        this.length = this.#trialLength;
        this.order.set(this.#trial);
      }
    }
    return best;
  }

  #greedy(repairState: RepairState, start: Float64Array, total: number, withAccess: boolean): number {
    const { remedies, mends, stops, reach, worth, depth } = this.#compiled;
    const costs = this.#compiled.cost;
    const trial = this.#trial;
    const ends = this.#stops;
    const w = this.#w;
    const chance = this.#chance;
    const left = this.#left;
    const known = repairState.known[repairState.level] ?? start;
    w.set(start);
    chance.set(this.#works);
    left.set(repairState.left);
    let count = repairState.left.length;
    let stop = Number.NEGATIVE_INFINITY;
    for (let s = 0; s < stops.length; s++) {
      const value = dot(w, stops[s] ?? w);
      ends[s] = value;
      if (value > stop) stop = value;
    }
    this.stop = stop;
    let optimism = dot(w, known);
    let level = repairState.level;
    let mass = total;
    let net = 0;
    let best = stop;
    let done = 0;
    this.#trialLength = 0;
    const enough = total * 1e-14;
    while (count > 0 && mass > enough) {
      let pick = -1;
      let highest = Number.NEGATIVE_INFINITY;
      for (let i = 0; i < count; i++) {
        const r = left[i] ?? 0;
        const p = chance[r] ?? 0;
        if (p <= enough) {
          // It cannot mend what is left; the last in the list takes its place.
          left[i--] = left[--count] ?? 0;
          continue;
        }
        const deep = depth[r] ?? 0;
        let cost = costs[r] ?? 0;
        if (withAccess && deep > level) cost += (reach[deep] ?? 0) - (reach[level] ?? 0);
        const index = (worth[r] ?? 0) - (cost * mass) / p;
        if (index > highest || (index === highest && r < (left[pick] ?? 0))) {
          highest = index;
          pick = i;
        }
      }
      if (pick < 0) break;
      const r = left[pick] ?? 0;
      const remedy = remedies[r];
      if (remedy === undefined) break;
      left[pick] = left[--count] ?? 0;
      let cost = remedy.cost;
      if (remedy.level > level) {
        cost += (reach[remedy.level] ?? 0) - (reach[level] ?? 0);
        level = remedy.level;
      }
      net += remedy.worth * (chance[r] ?? 0) - cost * mass;
      const { fault, works } = remedy;
      for (let j = 0; j < fault.length; j++) {
        const f = fault[j] ?? 0;
        const mended = (w[f] ?? 0) * (works[j] ?? 0);
        w[f] = (w[f] ?? 0) - mended;
        mass -= mended;
        optimism -= mended * (known[f] ?? 0);
        for (let s = 0; s < stops.length; s++) ends[s] = (ends[s] ?? 0) - mended * (stops[s]?.[f] ?? 0);
        const able = mends[f];
        if (able === undefined) continue;
        for (let k = 0; k < able.remedy.length; k++) {
          const other = able.remedy[k] ?? 0;
          chance[other] = (chance[other] ?? 0) - mended * (able.works[k] ?? 0);
        }
      }
      trial[done++] = r;
      let now = Number.NEGATIVE_INFINITY;
      for (let s = 0; s < stops.length; s++) now = Math.max(now, ends[s] ?? now);
      if (net + now > best) {
        best = net + now;
        this.#trialLength = done;
      }
      // What is left cannot beat the best give-up point even if the fault were now known, access paid.
      const paid = (reach[level] ?? 0) - (reach[repairState.level] ?? 0);
      if (net + optimism + paid * mass <= best) break;
    }
    return best;
  }

  /** The order that `run` found last, as a policy from the same weights. */
  policy(problem: Problem, w: Float64Array): Policy {
    const { remedies } = this.#compiled;
    const left = w.slice();
    const steps = Array.from(this.order.subarray(0, this.length), (r) => remedies[r]);
    for (const remedy of steps)
      remedy?.fault.forEach((f, j) => {
        left[f] = (left[f] ?? 0) * (1 - (remedy.works[j] ?? 0));
      });
    let policy: Policy = { kind: 'stop', stop: bestStop(problem, left).stop };
    for (const remedy of steps.reverse())
      if (remedy !== undefined) policy = { kind: 'remedy', remedy: remedy.source, failed: policy };
    return policy;
  }
}
