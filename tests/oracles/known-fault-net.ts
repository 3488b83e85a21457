import { dot, RepairState } from '../../shared/diagnosis/bounds.ts';
import { compileProblem } from '../../shared/diagnosis/compiled-problem.ts';
import type { Problem } from '../../shared/diagnosis/problem.ts';

/** Expected net if the fault were known at once: an upper bound on any policy, in the problem's money. */
export function knownFaultNet(problem: Problem): number {
  const compiled = compileProblem(problem);
  const repairState = RepairState.first(compiled, problem.level);
  return dot(compiled.prior, repairState.known[problem.level] ?? compiled.prior);
}
