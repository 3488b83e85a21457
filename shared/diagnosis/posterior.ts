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
