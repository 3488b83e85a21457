import { RepairState } from '../../shared/diagnosis/bounds.ts';
import { compileProblem } from '../../shared/diagnosis/compiled-problem.ts';
import { policyMeans } from '../../shared/diagnosis/leaves.ts';
import type { Policy } from '../../shared/diagnosis/policy.ts';
import type { Problem, Tally } from '../../shared/diagnosis/problem.ts';
import { RepairOrder } from '../../shared/diagnosis/repair-order.ts';

/**
 * What a fixed checklist costs: the checks in the order given, each skipped once it cannot tell the faults still
 * possible apart, then repair in the repair order with its best give-up point. Something to compare a plan with.
 * Its size grows with the product of the outcomes: for a dozen checks at most.
 * @param order ids of checks.
 * @param sure leave the checklist as soon as one fault stands at this chance or above; 1 (default) does all.
 * @param tally minutes, say; `spent` is their mean.
 * @throws RangeError for an id that is no check of the problem, or named twice.
 */
export function fixedOrder(
  problem: Problem,
  order: readonly string[],
  tally?: Tally,
  sure = 1,
): { net: number; cost: number; spent: number; policy: Policy } {
  const compiled = compileProblem(problem);
  const repair = new RepairOrder(compiled);
  const places = order.map((id) => {
    const place = problem.checks.findIndex((check) => check.id === id);
    if (place < 0) throw new RangeError(`no check ${id}`);
    return place;
  });
  if (new Set(places).size < places.length) throw new RangeError('a check is named twice');
  const walk = (at: number, w: Float64Array, repairState: RepairState): Policy => {
    const total = w.reduce((sum, weight) => sum + weight, 0);
    const place = places[at];
    if (place === undefined || w.some((weight) => weight >= sure * total)) {
      repair.run(repairState, w);
      return repair.policy(problem, w);
    }
    const check = compiled.checks.find((one) => one.source === place);
    const live = (given: Float64Array) => given.filter((_, f) => (w[f] ?? 0) > 0);
    if (check === undefined || check.given.every((given) => new Set(live(given)).size === 1))
      return walk(at + 1, w, repairState);
    const branches = check.given.map((given) => {
      const left = w.map((weight, f) => weight * (given[f] ?? 0));
      return left.some((weight) => weight > 0) ? walk(at + 1, left, repairState.deeper(check.level)) : null;
    });
    return { kind: 'check', check: place, branches };
  };
  const policy = walk(0, compiled.prior, RepairState.first(compiled, problem.level));
  return { ...policyMeans(problem, policy, tally), policy };
}
