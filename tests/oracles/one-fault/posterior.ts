/**
 * Belief in each fault after the prior and a likelihood, by Bayes' rule: b'_f = b_f L_f / sum_g b_g L_g.
 * @param prior weights >= 0, one a fault; they need not sum to 1.
 * @param likelihood P(what was seen | fault), one a fault.
 * @returns chances that sum to 1, or null when what was seen is impossible under every live fault.
 * @throws RangeError when the two lengths differ.
 */
export function condition(prior: ArrayLike<number>, likelihood: ArrayLike<number>): Float64Array | null {
  if (prior.length !== likelihood.length)
    throw new RangeError(`${prior.length} faults but ${likelihood.length} likelihoods`);
  const belief = new Float64Array(prior.length);
  let total = 0;
  for (let f = 0; f < belief.length; f++) {
    const weight = (prior[f] ?? 0) * (likelihood[f] ?? 0);
    belief[f] = weight;
    total += weight;
  }
  if (!(total > 0)) return null;
  for (let f = 0; f < belief.length; f++) belief[f] = (belief[f] ?? 0) / total;
  return belief;
}

/** P(outcome) for each outcome of a check under a belief that sums to 1. */
export function outcomeChances(
  belief: ArrayLike<number>,
  given: readonly (readonly number[])[],
): Float64Array {
  const chances = new Float64Array(given[0]?.length ?? 0);
  given.forEach((row, f) => {
    row.forEach((chance, o) => {
      chances[o] = (chances[o] ?? 0) + (belief[f] ?? 0) * chance;
    });
  });
  return chances;
}

/** Shannon's entropy of a belief that sums to 1, in bits: 0 (sure) to log2(number of faults). */
export function entropy(belief: ArrayLike<number>): number {
  let bits = 0;
  for (let f = 0; f < belief.length; f++) {
    const b = belief[f] ?? 0;
    if (b > 0) bits -= b * Math.log2(b);
  }
  return bits;
}
