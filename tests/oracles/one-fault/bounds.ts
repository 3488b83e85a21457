import { type CompiledProblem, compileProblem } from './compiled-problem.ts';
import type { Problem } from './problem.ts';

/** More remedies than this for one fault are never counted as failed, which keeps the bound a bound. */
const MOST_BITS = 10;

/**
 * What each fault would bring if it were known: the exact best net over all orders of its remedies, deeper access
 * and stopping. For one known fault the order by `worth - cost / P(works)`, highest first, is optimal and a
 * remedy pays while that index is above what follows (exchange argument, derived; with equal worths it is the
 * efficiency P/C of Heckerman, Breese & Rommelse 1995).
 */
class KnownFaults {
  readonly compiled: CompiledProblem;
  /** bit[r][i]: the mark of remedy r among the remedies of its i-th fault; 0 when it can never pay there. */
  readonly bit: readonly Int32Array[];
  readonly #useful: readonly Useful[][];
  readonly #stop: Float64Array;
  readonly #table: readonly Float64Array[];

  constructor(compiled: CompiledProblem) {
    this.compiled = compiled;
    const bit = compiled.remedies.map((remedy) => new Int32Array(remedy.fault.length));
    this.#stop = Float64Array.from({ length: compiled.faults }, (_, f) =>
      compiled.stops.reduce((best, stop) => Math.max(best, stop[f] ?? 0), Number.NEGATIVE_INFINITY),
    );
    this.#useful = compiled.mends.map((mends, f) => {
      const useful: Useful[] = [];
      mends.remedy.forEach((r, i) => {
        const remedy = compiled.remedies[r];
        const works = mends.works[i] ?? 0;
        if (remedy === undefined) return;
        const index = remedy.worth - remedy.cost / works;
        if (index <= (this.#stop[f] ?? 0)) return;
        useful.push({
          r,
          works,
          index,
          cost: remedy.cost,
          level: remedy.level,
          worth: remedy.worth,
          mark: 0,
        });
      });
      useful.sort((a, b) => b.index - a.index || a.r - b.r);
      useful.slice(0, MOST_BITS).forEach((one, i) => {
        one.mark = 1 << i;
        const at = compiled.remedies[one.r]?.fault.indexOf(f) ?? -1;
        const marks = bit[one.r];
        if (marks !== undefined && at >= 0) marks[at] = one.mark;
      });
      return useful;
    });
    this.bit = bit;
    this.#table = this.#useful.map((useful) =>
      new Float64Array(compiled.levels << Math.min(useful.length, MOST_BITS)).fill(Number.NaN),
    );
  }

  /** Best net when fault f is known, at an access level, with the remedies in `failed` (marks) used up. */
  value(f: number, level: number, failed: number): number {
    const table = this.#table[f];
    if (table === undefined) return 0;
    const at = failed * this.compiled.levels + level;
    const known = table[at] ?? Number.NaN;
    if (!Number.isNaN(known)) return known;
    const left = (this.#useful[f] ?? []).filter((one) => (one.mark & failed) === 0);
    const value = this.#best(left, level, this.#stop[f] ?? 0);
    table[at] = value;
    return value;
  }

  /** At each level a leading part of the sorted remedies is tried before paying to go one level deeper. */
  #best(left: readonly Useful[], level: number, stop: number): number {
    const here = left.filter((one) => one.level <= level);
    let best = fold(here, here.length, stop);
    if (here.length === left.length) return best;
    const deeper = (this.compiled.reach[level + 1] ?? 0) - (this.compiled.reach[level] ?? 0);
    for (let tried = 0; tried <= here.length; tried++) {
      const done = here.slice(0, tried);
      const rest = left.filter((one) => !done.includes(one));
      best = Math.max(best, fold(here, tried, this.#best(rest, level + 1, stop) - deeper, stop));
    }
    return best;
  }
}

interface Useful {
  readonly r: number;
  readonly works: number;
  readonly index: number;
  readonly cost: number;
  readonly level: number;
  readonly worth: number;
  mark: number;
}

function fold(order: readonly Useful[], count: number, end: number, stop = end): number {
  let value = Math.max(end, stop);
  for (let i = count - 1; i >= 0; i--) {
    const one = order[i];
    if (one === undefined) continue;
    value = Math.max(value, one.works * one.worth + (1 - one.works) * value - one.cost);
  }
  return value;
}

/**
 * A set of failed remedies at an access level, with all that depends on nothing else: known-fault values, what
 * is left to try and what it costs from here. One object for each such pair, found through `after` and `deeper`.
 */
export class RepairState {
  readonly compiled: CompiledProblem;
  readonly level: number;
  readonly id: number;
  /** 1 for each failed remedy. */
  readonly failed: Uint8Array;
  /** Remedies left. */
  readonly left: Int32Array;
  /** Cost of each remedy from here, access included. */
  readonly cost: Float64Array;
  /** known[k][f]: net of fault f if known, at level k (k >= level). */
  readonly known: readonly Float64Array[];
  /** gain[r][i]: what trying r adds to the known-fault value of its i-th fault, before its cost. */
  readonly gain: readonly Float64Array[];
  readonly #faults: KnownFaults;
  readonly #all: Map<string, RepairState>;
  readonly #after: (RepairState | undefined)[];
  readonly #deeper: (RepairState | undefined)[];

  private constructor(faults: KnownFaults, failed: Uint8Array, level: number, all: Map<string, RepairState>) {
    const { compiled } = faults;
    this.compiled = compiled;
    this.level = level;
    this.failed = failed;
    this.#faults = faults;
    this.#all = all;
    this.id = all.size;
    this.#after = new Array<RepairState | undefined>(failed.length).fill(undefined);
    this.#deeper = new Array<RepairState | undefined>(compiled.levels).fill(undefined);
    const left: number[] = [];
    const marks = new Int32Array(compiled.faults);
    compiled.remedies.forEach((remedy, r) => {
      if (failed[r] === 0) left.push(r);
      else
        for (let i = 0; i < remedy.fault.length; i++) {
          const f = remedy.fault[i] ?? 0;
          marks[f] = (marks[f] ?? 0) | (faults.bit[r]?.[i] ?? 0);
        }
    });
    this.left = Int32Array.from(left);
    const known: Float64Array[] = [];
    for (let k = 0; k < compiled.levels; k++) {
      const row = new Float64Array(k < level ? 0 : compiled.faults);
      for (let f = 0; f < row.length; f++) row[f] = faults.value(f, k, marks[f] ?? 0);
      known.push(row);
    }
    this.known = known;
    this.cost = Float64Array.from(compiled.remedies, (remedy) => remedy.cost + this.access(remedy.level));
    this.gain = compiled.remedies.map((remedy, r) => {
      const row = new Float64Array(failed[r] === 0 ? remedy.fault.length : 0);
      const k = Math.max(level, remedy.level);
      for (let i = 0; i < row.length; i++) {
        const f = remedy.fault[i] ?? 0;
        const q = remedy.works[i] ?? 0;
        const retry = faults.value(f, k, (marks[f] ?? 0) | (faults.bit[r]?.[i] ?? 0));
        row[i] = q * remedy.worth + (1 - q) * retry - (known[k]?.[f] ?? 0);
      }
      return row;
    });
  }

  /** The repairState at the beginning: nothing failed. */
  static first(compiled: CompiledProblem, level: number): RepairState {
    const all = new Map<string, RepairState>();
    return RepairState.#get(new KnownFaults(compiled), new Uint8Array(compiled.remedies.length), level, all);
  }

  static #get(
    faults: KnownFaults,
    failed: Uint8Array,
    level: number,
    all: Map<string, RepairState>,
  ): RepairState {
    const key = `${level}${String.fromCharCode(...failed)}`;
    let repairState = all.get(key);
    if (repairState === undefined) {
      repairState = new RepairState(faults, failed, level, all);
      all.set(key, repairState);
    }
    return repairState;
  }

  /** Cost of coming from here to `level`; 0 when it is reached already. */
  access(level: number): number {
    return level > this.level
      ? (this.compiled.reach[level] ?? 0) - (this.compiled.reach[this.level] ?? 0)
      : 0;
  }

  /** The repairState after remedy r has failed. */
  after(r: number): RepairState {
    const have = this.#after[r];
    if (have !== undefined) return have;
    const failed = this.failed.slice();
    failed[r] = 1;
    const level = Math.max(this.level, this.compiled.remedies[r]?.level ?? 0);
    const repairState = RepairState.#get(this.#faults, failed, level, this.#all);
    this.#after[r] = repairState;
    return repairState;
  }

  /** The repairState with access at least to `level`. */
  deeper(level: number): RepairState {
    if (level <= this.level) return this;
    const have = this.#deeper[level];
    if (have !== undefined) return have;
    const repairState = RepairState.#get(this.#faults, this.failed, level, this.#all);
    this.#deeper[level] = repairState;
    return repairState;
  }
}

/** sum_f w_f v_f */
export function dot(w: Float64Array, v: Float64Array): number {
  let sum = 0;
  for (let f = 0; f < w.length; f++) sum += (w[f] ?? 0) * (v[f] ?? 0);
  return sum;
}

/** The best stop under weights w, scaled like them. */
function stopNet(compiled: CompiledProblem, w: Float64Array): number {
  let best = Number.NEGATIVE_INFINITY;
  for (const stop of compiled.stops) best = Math.max(best, dot(w, stop));
  return best;
}

/**
 * Upper bound on the net from weights w at a repairState, scaled like w:
 * min(sum_f w_f v_f, max(stop, max over remedies [-c + sum_f w_f (q worth + (1-q) v_f)], -c_min + sum_f w_f v_f)),
 * the mirror image, for a net, of the bound on cost min(T(b), min_a[...], c_min + sum b_f v_f) (derived; the
 * fault known is the classic relaxation used by Warnquist 2010). Access is counted in every term.
 * @param stop best stop under w.
 * @param cheapest cheapest[k]: lowest cost of an unused check of level k, Infinity when there is none.
 */
export function upperFrom(
  repairState: RepairState,
  w: Float64Array,
  stop: number,
  cheapest: Float64Array,
): number {
  const { compiled, level } = repairState;
  let total = 0;
  for (let f = 0; f < w.length; f++) total += w[f] ?? 0;
  let best = stop;
  let hindsight = 0;
  let shallow = Number.POSITIVE_INFINITY;
  for (let k = 0; k <= level; k++) shallow = Math.min(shallow, cheapest[k] ?? Number.POSITIVE_INFINITY);
  const { left } = repairState;
  for (let k = level; k < compiled.levels; k++) {
    const sum = dot(w, repairState.known[k] ?? w);
    if (k === level) hindsight = sum;
    const cost = (k === level ? shallow : (cheapest[k] ?? 0)) + repairState.access(k);
    if (cost < Number.POSITIVE_INFINITY) best = Math.max(best, sum - cost * total);
    for (let i = 0; i < left.length; i++) {
      const r = left[i] ?? 0;
      const remedy = compiled.remedies[r];
      const gain = repairState.gain[r];
      if (remedy === undefined || gain === undefined || Math.max(level, remedy.level) !== k) continue;
      let net = sum - (repairState.cost[r] ?? 0) * total;
      const { fault } = remedy;
      for (let j = 0; j < fault.length; j++) net += (w[fault[j] ?? 0] ?? 0) * (gain[j] ?? 0);
      if (net > best) best = net;
    }
  }
  return Math.min(best, hindsight);
}

/** The tighter upper bound of `upperFrom` at the start of the problem, in the problem's money. */
export function upperBound(problem: Problem): number {
  const compiled = compileProblem(problem);
  const cheapest = new Float64Array(compiled.levels).fill(Number.POSITIVE_INFINITY);
  for (const check of compiled.checks)
    cheapest[check.level] = Math.min(cheapest[check.level] ?? 0, check.cost);
  return upperFrom(
    RepairState.first(compiled, problem.level),
    compiled.prior,
    stopNet(compiled, compiled.prior),
    cheapest,
  );
}
