/** Evidence for Bayes' rule, piece by piece, to hold the bot's odds against. */
import { condition } from './one-fault/posterior.ts';

/**
 * Takes in several pieces of evidence that are independent once the fault is known; their order does not matter.
 * @returns the belief, or null when they are impossible together.
 */
export function conditionAll(
  prior: ArrayLike<number>,
  likelihoods: readonly ArrayLike<number>[],
): Float64Array | null {
  let belief = condition(prior, new Float64Array(prior.length).fill(1));
  for (const likelihood of likelihoods) {
    if (belief === null) return null;
    belief = condition(belief, likelihood);
  }
  return belief;
}
