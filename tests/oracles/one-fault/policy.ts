import type { Problem } from './problem.ts';

/** A whole plan of action as a tree; numbers are places in the problem's own lists. Parts may be shared. */
export type Policy =
  | { readonly kind: 'stop'; readonly stop: number }
  | { readonly kind: 'remedy'; readonly remedy: number; readonly failed: Policy }
  /** A branch is null where its outcome cannot come. */
  | { readonly kind: 'check'; readonly check: number; readonly branches: readonly (Policy | null)[] };

/** The stop with the highest belief-weighted value; `weights` need not sum to 1 and `value` is scaled like them. */
export function bestStop(problem: Problem, weights: ArrayLike<number>): { stop: number; value: number } {
  let best = { stop: 0, value: Number.NEGATIVE_INFINITY };
  problem.stops.forEach((stop, s) => {
    let value = 0;
    stop.byFault.forEach((worth, f) => {
      value += (weights[f] ?? 0) * worth;
    });
    if (value > best.value) best = { stop: s, value };
  });
  return best;
}
