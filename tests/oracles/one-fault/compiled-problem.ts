import { assertProblem, type Problem } from './problem.ts';

/** A problem in flat typed arrays, without what can never matter; the searching code reads only this. */
export interface CompiledProblem {
  readonly faults: number;
  readonly levels: number;
  readonly prior: Float64Array;
  /** reach[k]: cost of coming from level 0 to level k. */
  readonly reach: Float64Array;
  readonly checks: readonly CompiledCheck[];
  readonly remedies: readonly CompiledRemedy[];
  /** The remedies' cost, worth and level once more, side by side for the inner loop. */
  readonly cost: Float64Array;
  readonly worth: Float64Array;
  readonly depth: Int32Array;
  /** For each fault the remedies that can mend it, and how often. */
  readonly mends: readonly { readonly remedy: Int32Array; readonly works: Float64Array }[];
  readonly stops: readonly Float64Array[];
  /** The dearest single amount in the problem: what "a rounding error" is measured against. */
  readonly scale: number;
}

interface CompiledCheck {
  /** Place in problem.checks. */
  readonly source: number;
  readonly cost: number;
  readonly level: number;
  /** given[outcome][fault] */
  readonly given: readonly Float64Array[];
}

interface CompiledRemedy {
  /** Place in problem.remedies. */
  readonly source: number;
  readonly cost: number;
  readonly level: number;
  readonly worth: number;
  /** Faults it can mend (P > 0), ascending, and P(works | fault) beside each. */
  readonly fault: Int32Array;
  readonly works: Float64Array;
}

/**
 * Lays a problem out compiled. Left out, because they can change nothing: checks with the same chances under every
 * fault, and remedies that never work.
 * @throws RangeError from `assertProblem`.
 */
export function compileProblem(problem: Problem): CompiledProblem {
  assertProblem(problem);
  const faults = problem.faults.length;
  const reach = new Float64Array(problem.access.length + 1);
  problem.access.forEach((cost, k) => {
    reach[k + 1] = (reach[k] ?? 0) + cost;
  });
  const checks: CompiledCheck[] = [];
  problem.checks.forEach((check, source) => {
    const first = check.given[0] ?? [];
    if (check.given.every((row) => row.every((chance, o) => chance === first[o]))) return;
    const given = check.outcomes.map((_, o) => Float64Array.from(check.given, (row) => row[o] ?? 0));
    checks.push({ source, cost: check.cost, level: check.level, given });
  });
  const remedies: CompiledRemedy[] = [];
  problem.remedies.forEach((remedy, source) => {
    const fault = remedy.works.flatMap((chance, f) => (chance > 0 ? [f] : []));
    if (fault.length === 0) return;
    const { cost, level, worth } = remedy;
    const works = Float64Array.from(fault, (f) => remedy.works[f] ?? 0);
    remedies.push({ source, cost, level, worth, fault: Int32Array.from(fault), works });
  });
  const mends = problem.faults.map((_, f) => {
    const able = remedies.flatMap((remedy, r) => {
      const at = remedy.fault.indexOf(f);
      return at < 0 ? [] : [{ r, works: remedy.works[at] ?? 0 }];
    });
    return { remedy: Int32Array.from(able, (a) => a.r), works: Float64Array.from(able, (a) => a.works) };
  });
  const amounts = [
    ...problem.access,
    ...problem.checks.map((check) => check.cost),
    ...problem.remedies.flatMap((remedy) => [remedy.cost, Math.abs(remedy.worth)]),
    ...problem.stops.flatMap((stop) => stop.byFault.map(Math.abs)),
  ];
  return {
    faults,
    levels: reach.length,
    prior: Float64Array.from(problem.faults, (fault) => fault.prior),
    reach,
    checks,
    remedies,
    cost: Float64Array.from(remedies, (remedy) => remedy.cost),
    worth: Float64Array.from(remedies, (remedy) => remedy.worth),
    depth: Int32Array.from(remedies, (remedy) => remedy.level),
    mends,
    stops: problem.stops.map((stop) => Float64Array.from(stop.byFault)),
    scale: amounts.reduce((most, amount) => Math.max(most, amount), 1e-300),
  };
}
