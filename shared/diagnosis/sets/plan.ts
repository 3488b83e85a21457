import { Compiled, dot, massOf } from './compiled.ts';
import { Clearing, Stage } from './known-set.ts';
import type { SetPolicy } from './policy.ts';
import { MOST_OUTCOMES, SELL, type SetAction, type SetProblem } from './problem.ts';
import { RepairPolicy } from './repair-policy.ts';

/** Money in the problem's unit. */
export interface SetPlan {
  readonly problem: SetProblem;
  /** Expected net of `policy`: what can be achieved for certain. */
  readonly value: number;
  /**
   * What following the advice is reckoned to bring when the plan is made again after each answer: between `value` and `upper`,
   * and the same as both where `exact`.
   */
  readonly expected: number;
  /** No policy whatever can expect more than this. */
  readonly upper: number;
  /** upper - value, >= 0. */
  readonly gap: number;
  /** True when the gap is nothing but rounding: `value` is the optimum. */
  readonly exact: boolean;
  /** The first step of `policy`. */
  readonly action: SetAction;
  /**
   * What can be done first, best `lower` first and the chosen action before its equals: expected net of doing it and
   * following the best plan found (`lower`), and a limit nobody can pass (`upper`).
   */
  readonly alternatives: readonly {
    readonly action: SetAction;
    readonly lower: number;
    readonly expected: number;
    readonly upper: number;
  }[];
  /** Nodes expanded. */
  readonly expansions: number;
  /** The whole plan, written down when it is asked for. */
  readonly policy: SetPolicy;
}

export interface SetPlanOptions {
  /** Most nodes to expand, >= 1; the answer depends on this count and never on time. */
  readonly expansions?: number;
  /** Most remedies weighed in repair policies, what a plan's time goes into; no limit when left out. */
  readonly steps?: number;
  /** Stop when upper - value <= epsilon (money). 0 searches for the exact optimum. */
  readonly epsilon?: number;
}

/** Where the truth is taken to be between the bounds of a node not yet expanded, when the search picks where to look. */
const CREDIT = 0.8;
/** Ways on looked at when a node is expanded, and each time the search comes by again. */
const FIRST_LOOKS = 8;
const LATER_LOOKS = 2;
type Sight = 'guess' | 'upper';
const CYCLE: readonly Sight[] = ['guess', 'upper'];
/**
 * Share of the way from what a plan is sure of, where it was not followed further, to the set known, that planning again
 * makes good. Chosen by measurement, so that what is stated is what is got.
 */
const REPLANNING = 0.18;
/** Rounding, against the dearest amount in the problem. */
const ROUNDING = 1e-10;
const DEFAULT_EXPANSIONS = 200;
/** Share of the steps that goes into following the plan found to its ends, where steps are limited. Chosen by measurement. */
const FOLLOWING = 0.8;
/** Nodes whose weights share one array. */
const SLAB = 128;
/** More outcomes than any check has. */
const SEGMENT = MOST_OUTCOMES + 1;

/**
 * The best next step and the plan behind it where several faults may be present: anytime best-first search of the AND/OR
 * graph of what was seen, what was done and what is open, in the manner of AO* and of bounded real-time dynamic programming;
 * lower bound from the repair policy, upper bound from the set known (Warnquist 2010 for iterative bounding; Jensen et al.
 * 2001 and Heckerman, Breese & Rommelse 1995 for the model). Deterministic: the budget counts expansions.
 * @throws RangeError from `assertSetProblem`, or when an option is out of range.
 */
export function planSets(problem: SetProblem, options: SetPlanOptions = {}): SetPlan {
  const budget = options.expansions ?? DEFAULT_EXPANSIONS;
  const epsilon = options.epsilon ?? 0;
  if (!(budget >= 1)) throw new RangeError(`expansions must be at least 1, not ${budget}`);
  if (!(epsilon >= 0)) throw new RangeError(`epsilon must be at least 0, not ${epsilon}`);
  const steps = options.steps ?? Number.POSITIVE_INFINITY;
  return new Search(problem).run(budget, epsilon, steps);
}

/** One way on from a node. `step` is a check (>= 0) or, as its complement, a remedy (< 0). */
interface Branch {
  readonly step: number;
  lower: number;
  upper: number;
  guess: number;
  /** -cost, scaled by reach. */
  readonly base: number;
  /** One node an outcome, or a mask that can be open after; made when it is first looked at. */
  next: { readonly outcome: number; readonly node: Node }[] | null;
}

/** What was seen and done, in order where order matters: checks and remedies between two changes commute. */
interface History {
  /** For each check 0, or 1 + outcome + SEGMENT * segment. */
  readonly seen: Uint16Array;
  /** Everything before the current run of remedies. */
  readonly past: string;
  /** Remedies that changed nothing, one after the other without a check between, ascending. */
  readonly run: readonly number[];
  readonly segment: number;
}

/** A state of the trace. All money is scaled by the chance of reaching it, so bounds of children just add up. */
interface Node {
  readonly w: Float64Array;
  readonly mass: number;
  readonly open: number;
  /** Share of the worth left by the remedies that made something go. */
  readonly share: number;
  readonly stage: Stage;
  readonly history: History;
  /** Net of the repair policy from here, and the first remedy of it (-1: stops at once). */
  readonly repair: number;
  readonly first: number;
  /** Net if the set were known, without what checks might clear. */
  readonly hope: number;
  lower: number;
  upper: number;
  guess: number;
  branches: Branch[] | null;
  ranking: readonly number[];
  pass: number;
  expected: number | null;
  policy: SetPolicy | null;
  visits: number;
}

class Search {
  readonly #problem: SetProblem;
  readonly #compiled: Compiled;
  readonly #repair: RepairPolicy;
  readonly #clearing: Clearing;
  readonly #nodes = new Map<string, Node>();
  readonly #root: Node;
  readonly #rounding: number;
  #pass = 0;
  #changes = 0;
  #slab = new Float64Array(0);
  #at = 0;

  constructor(problem: SetProblem) {
    this.#problem = problem;
    this.#compiled = new Compiled(problem);
    const stage = Stage.first(this.#compiled);
    this.#repair = new RepairPolicy(this.#compiled, stage);
    this.#clearing = new Clearing(this.#compiled);
    this.#rounding = ROUNDING * this.#compiled.scale;
    const seen = new Uint16Array(problem.checks.length);
    const history = { seen, past: '', run: [], segment: 0 };
    this.#root = this.#node(this.#compiled.prior, this.#compiled.masks - 1, 1, stage, history);
  }

  run(budget: number, epsilon: number, steps: number): SetPlan {
    const root = this.#root;
    const enough = Math.max(epsilon, this.#rounding);
    let expansions = 0;
    const path: Node[] = [];
    const limited = steps < Number.POSITIVE_INFINITY;
    const search = limited ? steps * (1 - FOLLOWING) : steps;
    while (
      expansions < budget &&
      (root.branches === null || (root.upper - root.lower > enough && this.#repair.steps < search))
    ) {
      path.length = 0;
      let node: Node | null = root;
      const before = this.#changes;
      while (node !== null) {
        path.push(node);
        if (node.branches === null) {
          this.#expand(node, path[path.length - 2] ?? null);
          break;
        }
        node = this.#descend(node, CYCLE[expansions % CYCLE.length] ?? 'guess');
      }
      expansions++;
      for (let i = path.length - 1; i >= 0; i--) {
        const at = path[i];
        if (at !== undefined) this.#refresh(at);
      }
      // Nothing opened and no bound moved: the rest of the gap is rounding.
      if (node === null && this.#changes === before) break;
    }
    while (limited && expansions < budget && this.#repair.steps < steps && this.#follow()) expansions++;
    this.#settle(root);
    return this.#report(expansions, enough);
  }

  /** Weights of a new node, out of one large array: many small ones take the collector's time. */
  #fresh(): Float64Array {
    const { hypotheses } = this.#compiled;
    if (this.#at + hypotheses > this.#slab.length) {
      this.#slab = new Float64Array(hypotheses * SLAB);
      this.#at = 0;
    }
    const made = this.#slab.subarray(this.#at, this.#at + hypotheses);
    this.#at += hypotheses;
    return made;
  }

  #node(w: Float64Array, open: number, share: number, stage: Stage, history: History): Node {
    const key = `${keyOf(history)}/${open}/${stage.id}`;
    const have = this.#nodes.get(key);
    if (have !== undefined) return have;
    const mass = massOf(w);
    const repair = this.#repair.run(stage, w, mass, open, share);
    const { first } = this.#repair;
    const bound = this.#bound(w, mass, open, share, stage, history.seen);
    const upper = open === 0 ? repair : Math.max(repair, bound);
    // What a check might clear is a bound and no hope: it would draw the search to where such checks are put off.
    const hope = open === 0 ? repair : Math.max(repair, Math.min(upper, share * dot(w, stage.values(open))));
    const node: Node = {
      ...{ w, mass, open, share, stage, history, repair, first, hope, lower: repair, upper },
      ...{ guess: repair + CREDIT * (hope - repair), branches: null, ranking: [] },
      ...{ pass: 0, expected: null, policy: null, visits: 0 },
    };
    this.#nodes.set(key, node);
    return node;
  }

  /** The net is convex in the worth: with a share of it left, it lies below the line from all to none. */
  #bound(
    w: Float64Array,
    mass: number,
    open: number,
    share: number,
    stage: Stage,
    seen: ArrayLike<number>,
  ): number {
    const whole = this.#clearing.bound(w, open, stage, seen);
    if (share === 1) return whole;
    let none = 0;
    const { bestEnd } = this.#compiled;
    for (let h = 0; h < w.length; h++) none += (w[h] ?? 0) * Math.max(0, bestEnd[h] ?? 0);
    return Math.min(whole, share * whole + (1 - share) * Math.min(whole, Math.max(none, 0 * mass)));
  }

  /** Lists every way that may still beat the repair policy and looks along the most promising. */
  #expand(node: Node, parent: Node | null): void {
    const compiled = this.#compiled;
    const { w, mass, open, stage, history } = node;
    const all = parent === null;
    const branches: Branch[] = [];
    const hindsight: (number | undefined)[] = [];
    const known = (level: number): number => {
      const have = hindsight[level];
      if (have !== undefined) return have;
      const made = this.#bound(w, mass, open, node.share, stage.deeper(level), history.seen);
      hindsight[level] = made;
      return made;
    };
    const add = (step: number, base: number, upper: number): void => {
      if (!all && upper <= node.lower) return;
      const lower = Number.NEGATIVE_INFINITY;
      const branch: Branch = { step, lower, upper, guess: lower, base, next: null };
      // The repair policy's own first step is the likeliest rival of the checks.
      if (step < 0 && ~step === node.first) branches.unshift(branch);
      else branches.push(branch);
    };
    for (const c of open === 0 ? [] : (parent?.ranking ?? compiled.checks.keys())) {
      const check = compiled.checks[c];
      if (check === undefined || history.seen[c] !== 0) continue;
      const form = compiled.form(c, open);
      if (form === null) continue;
      if (check.clears === null && !tellsApart(form.given, w)) continue;
      const level = Math.max(stage.level, check.level);
      const base = -(check.cost + stage.access(level)) * mass;
      add(c, base, base + known(level));
    }
    for (const r of open === 0 ? [] : compiled.applicable(open)) {
      const remedy = compiled.remedies[r];
      if (remedy === undefined || stage.used[r] === 1) continue;
      if (!all && remedy.fixes === null && !remedy.moves.from.some((h) => (w[h] ?? 0) > 0)) continue;
      // A known set would choose the best remedy, so none is better than what is known to be possible.
      add(~r, -(remedy.cost + stage.access(remedy.level)) * mass, known(stage.level));
    }
    node.branches = branches;
    if (all) for (const branch of branches) this.#look(node, branch);
    else this.#widen(node, FIRST_LOOKS);
    // Below the root the checks stand as they did there; those that could not be done there come last.
    node.ranking = all
      ? [
          ...branches
            .filter((one) => one.step >= 0)
            .sort((a, b) => b.guess - a.guess)
            .map((one) => one.step),
          ...[...compiled.checks.keys()].filter((c) => !branches.some((one) => one.step === c)),
        ]
      : (parent?.ranking ?? []);
  }

  /** Looks one step ahead along the next ways of a node that are still waiting; false when there are none. */
  #widen(node: Node, most: number): boolean {
    let done = 0;
    for (const branch of node.branches ?? []) {
      if (branch.next !== null || branch.upper <= node.lower) continue;
      if (done >= most) break;
      done++;
      this.#look(node, branch);
    }
    if (done > 0) this.#changes++;
    return done > 0;
  }

  /** Makes the nodes that a branch leads to. */
  #look(node: Node, branch: Branch): void {
    branch.next =
      branch.step < 0 ? this.#afterRemedy(node, ~branch.step) : this.#afterCheck(node, branch.step);
    this.#sum(branch);
  }

  #afterRemedy(node: Node, r: number): NonNullable<Branch['next']> {
    const { w, open, share, stage, history } = node;
    const keeps = this.#compiled.remedies[r]?.keeps ?? 1;
    const next = stage.after(r);
    const effect = this.#compiled.effect(r, open);
    const into: Float64Array[] = [];
    this.#compiled.apply(r, w, effect, into, () => this.#fresh());
    return effect.masks.flatMap((mask, j) => {
      const left = into[j];
      if (left === undefined || !(massOf(left) > 0)) return [];
      const changed = mask !== open;
      const run = changed ? [] : [...history.run, r].sort((a, b) => a - b);
      const after: History = changed
        ? {
            seen: history.seen,
            past: `${history.past}${runOf(history)}(${r}:${mask})`,
            run,
            // Two on after a run, as if a check had stood between: else one key would mean two histories.
            segment: history.segment + (history.run.length > 0 ? 2 : 1),
          }
        : { ...history, run };
      return [{ outcome: mask, node: this.#node(left, mask, changed ? share * keeps : share, next, after) }];
    });
  }

  #afterCheck(node: Node, c: number): NonNullable<Branch['next']> {
    const { w, open, share, stage, history } = node;
    const check = this.#compiled.checks[c];
    const form = this.#compiled.form(c, open);
    if (check === undefined || form === null) return [];
    const deeper = stage.deeper(check.level);
    // A remedy since the last check starts a new segment: what is seen now is of another phone.
    const fresh = history.run.length > 0;
    const segment = history.segment + (fresh ? 1 : 0);
    const past = fresh ? history.past + runOf(history) : history.past;
    return form.given.flatMap((given, outcome) => {
      const left = this.#fresh();
      let any = 0;
      for (let h = 0; h < w.length; h++) {
        const weight = (w[h] ?? 0) * (given[h] ?? 0);
        left[h] = weight;
        any += weight;
      }
      if (!(any > 0)) return [];
      const seen = history.seen.slice();
      seen[c] = 1 + outcome + SEGMENT * segment;
      const mask = open & ~(check.clears?.[outcome] ?? 0);
      return [{ outcome, node: this.#node(left, mask, share, deeper, { seen, past, run: [], segment }) }];
    });
  }

  #sum(branch: Branch): void {
    let lower = branch.base;
    let upper = branch.base;
    let guess = branch.base;
    for (const { node } of branch.next ?? []) {
      lower += node.lower;
      upper += node.upper;
      guess += node.guess;
    }
    upper = Math.max(lower, Math.min(branch.upper, upper));
    if (lower !== branch.lower || upper !== branch.upper) this.#changes++;
    branch.lower = lower;
    branch.upper = upper;
    branch.guess = Math.min(upper, guess);
  }

  /** The node to look at next below an expanded one: null when nothing below can change its bounds. */
  #descend(node: Node, by: Sight): Node | null {
    // At the 1st, 2nd, 4th, 8th... visit.
    node.visits++;
    if ((node.visits & (node.visits - 1)) === 0) this.#widen(node, LATER_LOOKS);
    for (;;) {
      this.#refresh(node);
      const best = this.#promising(node, by);
      if (best === null) {
        if (this.#widen(node, LATER_LOOKS)) continue;
        return null;
      }
      let pick: Node | null = null;
      let widest = 0;
      for (const { node: next } of best.next ?? []) {
        if (next.upper - next.lower > widest) {
          widest = next.upper - next.lower;
          pick = next;
        }
      }
      return pick;
    }
  }

  #promising(node: Node, by: Sight): Branch | null {
    let best: Branch | null = null;
    let highest = Number.NEGATIVE_INFINITY;
    for (const branch of node.branches ?? []) {
      const gap = branch.upper - branch.lower;
      if (branch.next === null || branch.upper <= node.lower || gap <= this.#rounding * 1e-4) continue;
      const hope = branch[by];
      if (hope > highest) {
        highest = hope;
        best = branch;
      }
    }
    return best;
  }

  /** Opens the end of the plan as it stands where most may still be gained; false when there is none. */
  #follow(): boolean {
    const path: Node[] = [];
    let best: { at: Node; path: Node[]; gap: number } | null = null;
    const walk = (node: Node): void => {
      path.push(node);
      const branch = node.branches === null ? null : this.#best(node);
      if (branch === null) {
        const gap = node.hope - node.lower;
        const fresh =
          node.branches === null || node.branches.some((one) => one.next === null && one.upper > node.lower);
        if (fresh && node.open !== 0 && gap > this.#rounding && (best === null || gap > best.gap))
          best = { at: node, path: [...path], gap };
      } else for (const { node: next } of branch.next ?? []) walk(next);
      path.pop();
    };
    walk(this.#root);
    const found = best as { at: Node; path: Node[]; gap: number } | null;
    if (found === null) return false;
    const parent = found.path.at(-2) ?? null;
    if (found.at.branches === null) this.#expand(found.at, parent);
    else this.#widen(found.at, LATER_LOOKS * 2);
    for (const node of found.path.reverse()) this.#refresh(node);
    return true;
  }

  /** Brings a node's bounds up to date with what lies directly below it. */
  #refresh(node: Node): void {
    if (node.branches === null) return;
    let lower = node.repair;
    let upper = node.repair;
    let guess = node.repair;
    for (const branch of node.branches) {
      if (branch.next !== null) this.#sum(branch);
      if (branch.lower > lower) lower = branch.lower;
      if (branch.upper > upper) upper = branch.upper;
      if (branch.guess > guess) guess = branch.guess;
    }
    upper = Math.max(lower, Math.min(node.upper, upper));
    if (lower !== node.lower || upper !== node.upper) this.#changes++;
    node.lower = lower;
    node.upper = upper;
    node.guess = guess;
  }

  /** Brings every node below up to date, deepest first. */
  #settle(root: Node): void {
    this.#pass++;
    this.#update(root);
  }

  #update(node: Node): void {
    if (node.pass === this.#pass) return;
    node.pass = this.#pass;
    for (const branch of node.branches ?? []) for (const next of branch.next ?? []) this.#update(next.node);
    this.#refresh(node);
  }

  #best(node: Node): Branch | null {
    // The repair policy wins a tie, so that a check is only proposed when it gains something.
    let lower = node.repair + this.#rounding * 1e-2;
    let best: Branch | null = null;
    for (const branch of node.branches ?? []) {
      if (branch.lower > lower) {
        lower = branch.lower;
        best = branch;
      }
    }
    return best;
  }

  #write(node: Node): SetPolicy {
    if (node.policy !== null) return node.policy;
    const best = this.#best(node);
    let policy: SetPolicy;
    if (best === null) policy = this.#repair.write(node.stage, node.w, node.mass, node.open, node.share);
    else if (best.step >= 0) {
      const branches = new Array<SetPolicy | null>(
        this.#problem.checks[best.step]?.outcomes.length ?? 0,
      ).fill(null);
      for (const { outcome, node: next } of best.next ?? []) branches[outcome] = this.#write(next);
      policy = { kind: 'check', check: best.step, branches };
    } else {
      const remedy = this.#compiled.remedies[~best.step]?.source ?? 0;
      const branches = new Map(
        (best.next ?? []).map(({ outcome, node: next }) => [outcome, this.#write(next)]),
      );
      policy = { kind: 'remedy', remedy, branches };
    }
    node.policy = policy;
    return policy;
  }

  /**
   * What planning again after each answer is reckoned to bring from a node: where the plan was not followed to its end, its
   * net there and a share of what is missing to the set known.
   */
  #expect(node: Node): number {
    if (node.expected !== null) return node.expected;
    const best = node.branches === null ? null : this.#best(node);
    const more = REPLANNING * (node.hope - node.repair);
    // Where no way was found that beats the repair policy less is likely to be missing.
    node.expected =
      node.branches === null
        ? node.repair + more
        : best === null
          ? node.repair + more / 2
          : this.#expectOf(best);
    return Math.min(node.expected, node.upper);
  }

  #expectOf(branch: Branch): number {
    if (branch.next === null) return branch.lower;
    return branch.next.reduce((sum, one) => sum + this.#expect(one.node), branch.base);
  }

  #report(expansions: number, enough: number): SetPlan {
    const root = this.#root;
    const problem = this.#problem;
    const compiled = this.#compiled;
    const best = this.#best(root);
    const value = best?.lower ?? root.repair;
    const upper = Math.max(value, root.upper);
    const alternatives: { action: SetAction; lower: number; expected: number; upper: number }[] = [];
    const end = (id: string, net: number) =>
      alternatives.push({ action: { kind: 'end', id }, lower: net, expected: net, upper: net });
    end(SELL, compiled.value * (compiled.keeps[root.open] ?? 0) * root.mass);
    compiled.ends.forEach((one, e) => {
      end(
        problem.ends[e]?.id ?? '',
        one.reduce((sum, worth, h) => sum + worth * (root.w[h] ?? 0), 0),
      );
    });
    for (const branch of root.branches ?? []) {
      const action = this.#actionOf(branch.step);
      if (branch.next === null) continue;
      const expected = this.#expectOf(branch);
      alternatives.push({ action, lower: branch.lower, expected, upper: Math.min(branch.upper, upper) });
    }
    const action = best ? this.#actionOf(best.step) : this.#firstOfRepair(root);
    const chosen = (one: SetAction) => (one.kind === action.kind && one.id === action.id ? 0 : 1);
    const almost = this.#rounding * 2e-2;
    alternatives.sort((a, b) =>
      Math.abs(a.lower - b.lower) > almost ? b.lower - a.lower : chosen(a.action) - chosen(b.action),
    );
    const gap = upper - value;
    const exact = gap <= Math.min(enough, this.#rounding);
    const expected = exact ? value : Math.min(upper, Math.max(value, this.#expect(root)));
    const write = () => this.#write(root);
    return {
      ...{ problem, value, expected, upper, gap, exact, action, alternatives, expansions },
      // Most callers want the first step alone.
      get policy() {
        return write();
      },
    };
  }

  #firstOfRepair({ first, w, mass, open, share }: Node): SetAction {
    if (first >= 0) return this.#actionOf(~first);
    const which = this.#compiled.stopKind(w, mass, open, share);
    return { kind: 'end', id: which < 0 ? SELL : (this.#problem.ends[which]?.id ?? '') };
  }

  #actionOf(step: number): SetAction {
    const { checks, remedies } = this.#problem;
    if (step >= 0) return { kind: 'check', id: checks[step]?.id ?? '' };
    return { kind: 'remedy', id: remedies[this.#compiled.remedies[~step]?.source ?? 0]?.id ?? '' };
  }
}

const runOf = ({ run }: History): string => (run.length > 0 ? `[${run.join()}]` : '');

const keyOf = (history: History): string =>
  `${String.fromCharCode.apply(null, Array.from(history.seen))}${history.past}${runOf(history)}`;

/** False when every hypothesis still possible gives each outcome the same chance. */
function tellsApart(given: readonly Float64Array[], w: Float64Array): boolean {
  for (const chances of given) {
    let first = -1;
    for (let h = 0; h < w.length; h++) {
      if ((w[h] ?? 0) <= 0) continue;
      const chance = chances[h] ?? 0;
      if (first < 0) first = chance;
      else if (chance !== first) return true;
    }
  }
  return false;
}
