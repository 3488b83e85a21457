import type { RegressionPrior } from '../../shared/market/regression.ts';

/** A prior that adds nothing, so that the posterior holds the ordinary least-squares results. */
export function flatPrior(columns: number): RegressionPrior {
  const zeros = new Array<number>(columns).fill(0);
  return { mean: zeros, precision: zeros, shape: -columns / 2, rate: 0 };
}
