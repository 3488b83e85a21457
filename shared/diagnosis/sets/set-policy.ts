import { Compiled, massOf } from './compiled.ts';
import { SELL, type SetProblem } from './set-problem.ts';

/** A whole plan as a tree; numbers are places in the problem's own lists. Parts may be shared. */
export type SetPolicy =
  /** end: -1 to sell as it is, else a place in `ends`. */
  | { readonly kind: 'end'; readonly end: number }
  /** A branch an outcome; null where it cannot come. */
  | { readonly kind: 'check'; readonly check: number; readonly branches: readonly (SetPolicy | null)[] }
  /** A branch for each mask of what is open after it. */
  | { readonly kind: 'remedy'; readonly remedy: number; readonly branches: ReadonlyMap<number, SetPolicy> };

/** Numbers beside the checks, remedies and access of a problem: minutes, say. */
export interface SetTally {
  readonly checks: readonly number[];
  readonly remedies: readonly number[];
  readonly access: readonly number[];
}

/** One way a job can end. */
export interface SetLeaf {
  /** Chance of ending so; over all leaves they sum to 1. */
  readonly chance: number;
  /** Money spent by then. */
  readonly cost: number;
  /** Mean of the tally spent by then; 0 without a tally. */
  readonly spent: number;
  /** `SELL`, or the id of an end. */
  readonly end: string;
  /** What it then brings: the sale as it is, or the mean value of the end. */
  readonly value: number;
  /** Ids of the complaints that are open then. */
  readonly open: readonly string[];
  /** Ids of the remedies that made something go. */
  readonly did: readonly string[];
  /** Share of the worth that they left. */
  readonly share: number;
  /** Chance of each hypothesis given this end; sums to 1. */
  readonly hypothesisShare: Float64Array;
}

const climb = (list: readonly number[] | undefined, from: number, to: number): number =>
  list?.reduce((sum, one, k) => (k >= from && k < to ? sum + one : sum), 0) ?? 0;

type Policy<K extends SetPolicy['kind']> = Extract<SetPolicy, { kind: K }>;

/** Walks a policy with the weight of each hypothesis, and gathers the ends that it comes to. */
class PolicyWalk {
  readonly found = new Map<string, Ending>();
  private readonly problem: SetProblem;
  private readonly compiled: Compiled;
  private readonly tally: SetTally | undefined;
  private readonly places: ReadonlyMap<number, number>;

  constructor(problem: SetProblem, compiled: Compiled, tally: SetTally | undefined) {
    this.problem = problem;
    this.compiled = compiled;
    this.tally = tally;
    this.places = new Map(compiled.remedies.map((remedy, r) => [remedy.source, r]));
  }

  walk(at: SetPolicy, w: Float64Array, state: State): void {
    if (at.kind === 'end') this.end(at, w, state);
    else if (at.kind === 'check') this.check(at, w, state);
    else this.remedy(at, w, state);
  }

  private end({ end }: Policy<'end'>, w: Float64Array, state: State): void {
    const chance = massOf(w);
    const key = `${end} ${state.open} ${Math.round(state.cost * 1e9)} ${state.did.join()}`;
    const have = this.found.get(key);
    if (have === undefined) {
      this.found.set(key, { ...state, end, chance, w: w.slice(), spent: state.spent * chance });
      return;
    }
    have.chance += chance;
    have.spent += state.spent * chance;
    for (let h = 0; h < w.length; h++) have.w[h] = (have.w[h] ?? 0) + (w[h] ?? 0);
  }

  private check(at: Policy<'check'>, w: Float64Array, state: State): void {
    const { problem, tally } = this;
    const check = problem.checks[at.check];
    const form = this.compiled.form(at.check, state.open);
    if (check === undefined || form === null) throw new RangeError('the policy names a check it cannot do');
    const level = Math.max(state.level, check.level);
    const next = {
      ...state,
      level,
      cost: state.cost + check.cost + climb(problem.access, state.level, level),
      spent: state.spent + (tally?.checks[at.check] ?? 0) + climb(tally?.access, state.level, level),
    };
    at.branches.forEach((branch, o) => {
      const left = w.map((weight, h) => weight * (form.given[o]?.[h] ?? 0));
      if (branch === null || !(massOf(left) > 0)) return;
      this.walk(branch, left, { ...next, open: state.open & ~(check.clears?.[o] ?? 0) });
    });
  }

  private remedy(at: Policy<'remedy'>, w: Float64Array, state: State): void {
    const { problem, compiled, tally } = this;
    const remedy = problem.remedies[at.remedy];
    const r = this.places.get(at.remedy);
    if (remedy === undefined || r === undefined)
      throw new RangeError('the policy names a remedy it cannot do');
    const level = Math.max(state.level, remedy.level);
    const effect = compiled.effect(r, state.open);
    const into: Float64Array[] = [];
    compiled.apply(r, w, effect, into);
    for (const [j, open] of effect.masks.entries()) {
      const left = into[j];
      const branch = at.branches.get(open);
      if (left === undefined || !(massOf(left) > 0)) continue;
      const changed = open !== state.open;
      this.walk(branch ?? { kind: 'end', end: -1 }, left, {
        level,
        open,
        cost: state.cost + remedy.cost + climb(problem.access, state.level, level),
        spent: state.spent + (tally?.remedies[at.remedy] ?? 0) + climb(tally?.access, state.level, level),
        share: changed ? state.share * remedy.keeps : state.share,
        did: changed ? [...state.did, remedy.id] : state.did,
      });
    }
  }
}

function leafOf(
  problem: SetProblem,
  compiled: Compiled,
  { w, chance, cost, spent, end, open, did, share }: Ending,
): SetLeaf {
  const hypothesisShare = w.map((weight) => weight / chance);
  const values = end < 0 ? null : problem.ends[end];
  return {
    chance,
    cost,
    spent: spent / chance,
    end: values?.id ?? SELL,
    value: values
      ? values.value.reduce((sum, value, h) => sum + value * (hypothesisShare[h] ?? 0), 0)
      : problem.value * share * (compiled.keeps[open] ?? 0),
    open: problem.complaints.flatMap(({ id }, k) => ((open >> k) & 1 ? [id] : [])),
    did,
    share,
    hypothesisShare,
  };
}

/**
 * The exact distribution of how a policy ends. Ends alike in cost, end, what is open and what was done are one leaf; the sum
 * of chance * (value - cost) is the policy's expected net.
 */
export function setPolicyLeaves(problem: SetProblem, policy: SetPolicy, tally?: SetTally): SetLeaf[] {
  const compiled = new Compiled(problem);
  const walking = new PolicyWalk(problem, compiled, tally);
  walking.walk(policy, compiled.prior, {
    level: problem.level,
    open: compiled.masks - 1,
    cost: 0,
    spent: 0,
    share: 1,
    did: [],
  });
  return [...walking.found.values()].map((ending) => leafOf(problem, compiled, ending));
}

/** Expected net of a policy, and the mean cost and tally that it takes. */
export function setPolicyMeans(
  problem: SetProblem,
  policy: SetPolicy,
  tally?: SetTally,
): { net: number; cost: number; spent: number } {
  const means = { net: 0, cost: 0, spent: 0 };
  for (const leaf of setPolicyLeaves(problem, policy, tally)) {
    means.net += leaf.chance * (leaf.value - leaf.cost);
    means.cost += leaf.chance * leaf.cost;
    means.spent += leaf.chance * leaf.spent;
  }
  return means;
}

interface State {
  level: number;
  open: number;
  cost: number;
  spent: number;
  share: number;
  did: readonly string[];
}

interface Ending extends State {
  end: number;
  chance: number;
  w: Float64Array;
}
