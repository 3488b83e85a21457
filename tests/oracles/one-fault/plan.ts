import { dot, RepairState, upperFrom } from './bounds.ts';
import { type CompiledProblem, compileProblem } from './compiled-problem.ts';
import type { Policy } from './policy.ts';
import type { PlanAction, Problem } from './problem.ts';
import { RepairOrder } from './repair-order.ts';

/** Money in the problem's unit. */
export interface Plan {
  readonly problem: Problem;
  /** Expected net of `policy`: what can be achieved for certain. */
  readonly value: number;
  /** No policy whatever can expect more than this. */
  readonly upper: number;
  /** upper - value, >= 0. */
  readonly gap: number;
  /** True when the gap is nothing but rounding: `value` is the optimum. */
  readonly exact: boolean;
  /** The first step of `policy`. */
  readonly action: PlanAction;
  /**
   * What can be done first, best `lower` first and the chosen action before its equals: expected net of doing it
   * and following the best plan found (`lower`), and a limit nobody can pass (`upper`). A check that cannot tell
   * the faults apart and a remedy that never works are not listed.
   */
  readonly alternatives: readonly {
    readonly action: PlanAction;
    readonly lower: number;
    readonly upper: number;
  }[];
  /** Nodes expanded. */
  readonly expansions: number;
  readonly policy: Policy;
}

export interface PlanOptions {
  /** Most nodes to expand, >= 1; the answer depends on this count and never on time. */
  readonly expansions?: number;
  /** Stop when upper - value <= epsilon (money). 0 searches for the exact optimum. */
  readonly epsilon?: number;
}

/**
 * Expansions when the caller names none: fewer for bigger problems, whose nodes cost more, so that a plan takes
 * much the same time whatever its size. Chosen by measurement.
 */
function defaultExpansions(problem: Problem): number {
  const size = problem.faults.length + problem.checks.length + problem.remedies.length;
  return Math.min(200, Math.max(25, Math.round(1700 / size)));
}

/** Where the truth is taken to be between the bounds of a node not yet expanded, when the search picks where to look. */
const CREDIT = 0.8;
/** Ways on looked at when a node is expanded, and each time the search comes by again. */
const FIRST_LOOKS = 8;
const LATER_LOOKS = 2;
type Sight = 'guess' | 'upper';
/** What the search goes by, in turn: the upper bound closes the gap, the guess finds good plans. */
const CYCLE: readonly Sight[] = ['upper', 'guess'];
/** Rounding, against the dearest amount in the problem. */
const ROUNDING = 1e-10;

/**
 * The best next step and the plan behind it: anytime best-first search of the AND/OR graph of (outcomes so far,
 * failed remedies, access level), in the manner of AO* and of bounded real-time dynamic programming; lower bound
 * from the repair order, upper bound from the fault known (Warnquist 2010 for iterative bounding; Jensen et al.
 * 2001 and Heckerman, Breese & Rommelse 1995 for the model). Deterministic: the budget counts expansions.
 * @throws RangeError from `assertProblem`, or when an option is out of range.
 */
export function plan(problem: Problem, options: PlanOptions = {}): Plan {
  const budget = options.expansions ?? defaultExpansions(problem);
  const epsilon = options.epsilon ?? 0;
  if (!(budget >= 1)) throw new RangeError(`expansions must be at least 1, not ${budget}`);
  if (!(epsilon >= 0)) throw new RangeError(`epsilon must be at least 0, not ${epsilon}`);
  return new Search(problem).run(budget, epsilon);
}

/** One way on from a node. `step` is a check (>= 0) or, as its complement, a remedy (< 0). */
interface Branch {
  readonly step: number;
  lower: number;
  upper: number;
  /** Where in between the truth is expected; it only steers the search. */
  guess: number;
  /** What is certain before the outcome: -cost, plus worth where a remedy works; scaled by reach. */
  readonly base: number;
  /** False while only the cheapest bound is known. */
  looked: boolean;
  /** One node an outcome (null: cannot come); made when the search first goes this way. */
  next: (Node | null)[] | null;
}

/** A state of the trace. All money is scaled by the chance of reaching it, so bounds of children just add up. */
interface Node {
  /** Chance of coming here with each fault. */
  readonly w: Float64Array;
  /** Outcome + 1 of each check done, 0 for the others. */
  readonly seen: Uint8Array;
  readonly repairState: RepairState;
  /** Net of the repair order from here. */
  readonly repair: number;
  /** The first remedy of that order, -1 when it stops at once. */
  readonly first: number;
  lower: number;
  upper: number;
  guess: number;
  branches: Branch[] | null;
  /** Checks, most promising first, as this node or the root above it saw them. */
  ranking: readonly number[];
  /** Marks the pass that last brought it up to date. */
  pass: number;
  policy: Policy | null;
  visits: number;
}

class Search {
  readonly #problem: Problem;
  readonly #compiled: CompiledProblem;
  readonly #order: RepairOrder;
  readonly #nodes = new Map<string, Node>();
  readonly #root: Node;
  readonly #scratch: Float64Array;
  readonly #cheapest: Float64Array;
  readonly #rounding: number;
  readonly #perKey: number;
  #pass = 0;
  #changes = 0;

  constructor(problem: Problem) {
    this.#problem = problem;
    this.#compiled = compileProblem(problem);
    this.#order = new RepairOrder(this.#compiled);
    this.#scratch = new Float64Array(this.#compiled.faults);
    this.#cheapest = new Float64Array(this.#compiled.levels);
    this.#rounding = ROUNDING * this.#compiled.scale;
    this.#perKey = this.#compiled.checks.every((check) => check.given.length <= 7) ? 5 : 1;
    const seen = new Uint8Array(this.#compiled.checks.length);
    this.#root = this.#node(this.#compiled.prior, seen, RepairState.first(this.#compiled, problem.level));
  }

  run(budget: number, epsilon: number): Plan {
    const root = this.#root;
    const enough = Math.max(epsilon, this.#rounding);
    let expansions = 0;
    const path: Node[] = [];
    while (expansions < budget && (root.branches === null || root.upper - root.lower > enough)) {
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
    this.#settle(root);
    return this.#report(expansions, enough);
  }

  #node(w: Float64Array, seen: Uint8Array, repairState: RepairState): Node {
    const key = this.#key(seen, repairState.id);
    const have = this.#nodes.get(key);
    if (have !== undefined) return have;
    const repair = this.#order.run(repairState, w);
    const first = this.#order.length > 0 ? (this.#order.order[0] ?? -1) : -1;
    this.#countCosts(seen, -1);
    const upper = Math.max(repair, upperFrom(repairState, w, this.#order.stop, this.#cheapest));
    const guess = repair + CREDIT * (upper - repair);
    const node: Node = {
      ...{ w, seen, repairState, repair, first, lower: repair, upper, guess },
      ...{ branches: null, ranking: [], pass: 0, policy: null, visits: 0 },
    };
    this.#nodes.set(key, node);
    return node;
  }

  /** Five checks a character where no check has more than seven outcomes, one a character otherwise. */
  #key(seen: Uint8Array, repairState: number): string {
    let key = String.fromCharCode(repairState & 0xffff, repairState >>> 16);
    for (let c = 0; c < seen.length; c += this.#perKey) {
      let packed = 0;
      for (let k = c; k < c + this.#perKey && k < seen.length; k++) packed = packed * 8 + (seen[k] ?? 0);
      key += String.fromCharCode(packed);
    }
    return key;
  }

  /** Lowest cost of an unused check at each level, for `upperFrom`. */
  #countCosts(seen: Uint8Array, without: number): void {
    this.#cheapest.fill(Number.POSITIVE_INFINITY);
    const { checks } = this.#compiled;
    for (let c = 0; c < checks.length; c++) {
      const check = checks[c];
      if (check === undefined || c === without || seen[c] !== 0) continue;
      if (check.cost < (this.#cheapest[check.level] ?? 0)) this.#cheapest[check.level] = check.cost;
    }
  }

  /**
   * Lists every way that may still beat the repair order and looks one step ahead along the most promising. The
   * others wait, checks in the order in which they stood at the root, until the search comes by again.
   */
  #expand(node: Node, parent: Node | null): void {
    const { checks, remedies } = this.#compiled;
    const { w, seen, repairState } = node;
    const all = parent === null;
    let reach = 0;
    let live = 0;
    for (let f = 0; f < w.length; f++) {
      reach += w[f] ?? 0;
      if ((w[f] ?? 0) > 0) live++;
    }
    const hindsight = repairState.known.map((known) => (known.length === 0 ? 0 : dot(w, known)));
    const branches: Branch[] = [];
    for (const c of parent?.ranking ?? checks.keys()) {
      const check = checks[c];
      if (check === undefined || seen[c] !== 0) continue;
      const level = Math.max(repairState.level, check.level);
      const base = -(check.cost + repairState.access(level)) * reach;
      const upper = base + (hindsight[level] ?? 0);
      if (!all && upper <= node.lower) continue;
      if (live < w.length && !tellsApart(check.given, w)) continue;
      const lower = Number.NEGATIVE_INFINITY;
      branches.push({ step: c, lower, upper, guess: lower, base, looked: false, next: null });
    }
    for (let i = 0; i < repairState.left.length; i++) {
      const r = repairState.left[i] ?? 0;
      const remedy = remedies[r];
      if (remedy === undefined) continue;
      const { fault, works } = remedy;
      const gain = repairState.gain[r];
      let chance = 0;
      let optimism = hindsight[Math.max(repairState.level, remedy.level)] ?? 0;
      for (let j = 0; j < fault.length; j++) {
        const weight = w[fault[j] ?? 0] ?? 0;
        chance += weight * (works[j] ?? 0);
        optimism += weight * (gain?.[j] ?? 0);
      }
      const cost = (repairState.cost[r] ?? 0) * reach;
      const upper = optimism - cost;
      if (!all && (chance <= 0 || upper <= node.lower)) continue;
      const lower = Number.NEGATIVE_INFINITY;
      const base = remedy.worth * chance - cost;
      const waiting: Branch = { step: ~r, lower, upper, guess: lower, base, looked: false, next: null };
      // The repair order's own first step is the likeliest rival of the checks.
      if (r === node.first) branches.unshift(waiting);
      else branches.push(waiting);
    }
    node.branches = branches;
    // The caller is shown every first step, so at the root none is left out.
    if (all) for (const branch of branches) this.#look(node, branch);
    else this.#widen(node, FIRST_LOOKS);
    node.ranking = all
      ? branches
          .filter((one) => one.step >= 0)
          .sort((a, b) => b.guess - a.guess)
          .map((one) => one.step)
      : (parent?.ranking ?? []);
  }

  /** Looks one step ahead along the next ways of a node that are still waiting; false when there are none. */
  #widen(node: Node, most: number): boolean {
    let done = 0;
    for (const branch of node.branches ?? []) {
      if (branch.looked || branch.upper <= node.lower) continue;
      if (done >= most) break;
      done++;
      this.#look(node, branch);
    }
    if (done > 0) this.#changes++;
    return done > 0;
  }

  #look(node: Node, branch: Branch): void {
    const { w, seen, repairState } = node;
    const child = this.#scratch;
    let lower = branch.base;
    let upper = branch.base;
    if (branch.step < 0) {
      const r = ~branch.step;
      const remedy = this.#compiled.remedies[r];
      if (remedy === undefined) return;
      const { fault, works } = remedy;
      child.set(w);
      for (let j = 0; j < fault.length; j++) {
        const f = fault[j] ?? 0;
        child[f] = (w[f] ?? 0) * (1 - (works[j] ?? 0));
      }
      const next = repairState.after(r);
      this.#countCosts(seen, -1);
      const net = this.#order.run(next, child);
      lower += net;
      upper += Math.max(net, upperFrom(next, child, this.#order.stop, this.#cheapest));
    } else {
      const check = this.#compiled.checks[branch.step];
      if (check === undefined) return;
      const next = repairState.deeper(check.level);
      this.#countCosts(seen, branch.step);
      for (const given of check.given) {
        let any = 0;
        for (let f = 0; f < w.length; f++) {
          const weight = (w[f] ?? 0) * (given[f] ?? 0);
          child[f] = weight;
          any += weight;
        }
        if (any <= 0) continue;
        const net = this.#order.run(next, child);
        lower += net;
        upper += Math.max(net, upperFrom(next, child, this.#order.stop, this.#cheapest));
      }
    }
    branch.looked = true;
    branch.lower = lower;
    branch.upper = Math.max(lower, Math.min(upper, branch.upper));
    branch.guess = lower + CREDIT * (branch.upper - lower);
  }

  /** Makes the nodes that a branch leads to. */
  #open(node: Node, branch: Branch): (Node | null)[] {
    if (branch.next !== null) return branch.next;
    const { w, seen, repairState } = node;
    const next: (Node | null)[] = [];
    if (branch.step < 0) {
      const remedy = this.#compiled.remedies[~branch.step];
      const left = w.slice();
      let any = 0;
      remedy?.fault.forEach((f, j) => {
        left[f] = (left[f] ?? 0) * (1 - (remedy.works[j] ?? 0));
      });
      for (let f = 0; f < left.length; f++) any += left[f] ?? 0;
      next.push(any > 0 ? this.#node(left, seen, repairState.after(~branch.step)) : null);
    } else {
      const check = this.#compiled.checks[branch.step];
      const deeper = repairState.deeper(check?.level ?? 0);
      check?.given.forEach((given, o) => {
        const left = new Float64Array(w.length);
        let any = 0;
        for (let f = 0; f < w.length; f++) {
          const weight = (w[f] ?? 0) * (given[f] ?? 0);
          left[f] = weight;
          any += weight;
        }
        const after = seen.slice();
        after[branch.step] = o + 1;
        next.push(any > 0 ? this.#node(left, after, deeper) : null);
      });
    }
    branch.next = next;
    return next;
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
      const unopened = best.next === null;
      let pick: Node | null = null;
      let widest = 0;
      for (const next of this.#open(node, best)) {
        if (next !== null && next.upper - next.lower > widest) {
          widest = next.upper - next.lower;
          pick = next;
        }
      }
      // A way just opened may lead to nodes that are settled already, reached from another side: look again.
      if (pick !== null || !unopened) return pick;
    }
  }

  #promising(node: Node, by: Sight): Branch | null {
    let best: Branch | null = null;
    let highest = Number.NEGATIVE_INFINITY;
    for (const branch of node.branches ?? []) {
      const gap = branch.upper - branch.lower;
      if (!branch.looked || branch.upper <= node.lower || gap <= this.#rounding * 1e-4) continue;
      const optimism = branch[by];
      if (optimism > highest) {
        highest = optimism;
        best = branch;
      }
    }
    return best;
  }

  /** Brings a node's bounds up to date with what lies directly below it. */
  #refresh(node: Node): void {
    if (node.branches === null) return;
    let lower = node.repair;
    let upper = node.repair;
    let guess = node.repair;
    for (const branch of node.branches) {
      if (branch.next !== null) {
        let low = branch.base;
        let high = branch.base;
        let guess = branch.base;
        for (const next of branch.next) {
          if (next === null) continue;
          guess += next.guess;
          low += next.lower;
          high += next.upper;
        }
        high = Math.max(low, Math.min(branch.upper, high));
        if (low !== branch.lower || high !== branch.upper) this.#changes++;
        branch.lower = low;
        branch.upper = high;
        branch.guess = guess;
      }
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

  /** Brings every node below up to date, deepest first, and then writes the policies down. */
  #settle(root: Node): void {
    this.#pass++;
    this.#update(root);
    this.#write(root);
  }

  #update(node: Node): void {
    if (node.pass === this.#pass) return;
    node.pass = this.#pass;
    for (const branch of node.branches ?? [])
      for (const next of branch.next ?? []) if (next !== null) this.#update(next);
    this.#refresh(node);
    // A way never gone may lead to nodes that are known better by now from another side.
    for (let best = this.#best(node); best !== null && best.next === null; best = this.#best(node)) {
      this.#open(node, best);
      this.#refresh(node);
    }
  }

  #best(node: Node): Branch | null {
    // The repair order wins a tie, so that a check is only proposed when it gains something.
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

  #write(node: Node): Policy {
    if (node.policy !== null) return node.policy;
    const best = this.#best(node);
    let policy: Policy;
    if (best === null) {
      this.#order.run(node.repairState, node.w);
      policy = this.#order.policy(this.#problem, node.w);
    } else {
      const next = this.#open(node, best).map((one) => (one === null ? null : this.#write(one)));
      if (best.step >= 0) {
        const check = this.#compiled.checks[best.step]?.source ?? 0;
        policy = { kind: 'check', check, branches: next };
      } else {
        const remedy = this.#compiled.remedies[~best.step]?.source ?? 0;
        policy = { kind: 'remedy', remedy, failed: next[0] ?? { kind: 'stop', stop: 0 } };
      }
    }
    node.policy = policy;
    return policy;
  }

  #report(expansions: number, enough: number): Plan {
    const root = this.#root;
    const problem = this.#problem;
    const policy = this.#write(root);
    const value = this.#best(root)?.lower ?? root.repair;
    const upper = Math.max(value, root.upper);
    const action = firstStep(problem, policy);
    const alternatives: { action: PlanAction; lower: number; upper: number }[] = [];
    this.#compiled.stops.forEach((stop, s) => {
      const net = dot(root.w, stop);
      alternatives.push({ action: { kind: 'stop', id: problem.stops[s]?.id ?? '' }, lower: net, upper: net });
    });
    for (const branch of root.branches ?? []) {
      const step = this.#stepOf(branch);
      alternatives.push({ action: step, lower: branch.lower, upper: Math.min(branch.upper, upper) });
    }
    const chosen = (one: PlanAction) => (one.kind === action.kind && one.id === action.id ? 0 : 1);
    const almost = this.#rounding * 2e-2;
    alternatives.sort((a, b) =>
      Math.abs(a.lower - b.lower) > almost ? b.lower - a.lower : chosen(a.action) - chosen(b.action),
    );
    const gap = upper - value;
    const exact = gap <= Math.min(enough, this.#rounding);
    return { problem, value, upper, gap, exact, action, alternatives, expansions, policy };
  }

  #stepOf(branch: Branch): PlanAction {
    const { checks, remedies } = this.#problem;
    if (branch.step >= 0)
      return { kind: 'check', id: checks[this.#compiled.checks[branch.step]?.source ?? 0]?.id ?? '' };
    return { kind: 'remedy', id: remedies[this.#compiled.remedies[~branch.step]?.source ?? 0]?.id ?? '' };
  }
}

function firstStep(problem: Problem, policy: Policy): PlanAction {
  if (policy.kind === 'check') return { kind: 'check', id: problem.checks[policy.check]?.id ?? '' };
  if (policy.kind === 'remedy') return { kind: 'remedy', id: problem.remedies[policy.remedy]?.id ?? '' };
  return { kind: 'stop', id: problem.stops[policy.stop]?.id ?? '' };
}

/** False when every fault still possible gives each outcome the same chance. */
function tellsApart(given: readonly Float64Array[], w: Float64Array): boolean {
  for (const chances of given) {
    let first = -1;
    for (let f = 0; f < w.length; f++) {
      if ((w[f] ?? 0) <= 0) continue;
      const chance = chances[f] ?? 0;
      if (first < 0) first = chance;
      else if (chance !== first) return true;
    }
  }
  return false;
}
