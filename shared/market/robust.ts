/** 1 / the standard normal 0.75 quantile: makes the MAD of normal data estimate their standard deviation. */
export const MAD_TO_SD = 1.482602218505602;

const alike = (values: readonly number[]): number[] => values.map(() => 1);

/**
 * The value that splits the total weight in two halves, or the mean of the two between which it is split: with equal
 * weights the middle value, or the mean of the two middle ones. Throws RangeError for no values.
 * @param weights one a value, above 0; default: all alike.
 */
export function median(values: readonly number[], weights: readonly number[] = alike(values)): number {
  const sorted = values
    .map((value, i) => ({ value, weight: weights[i] ?? 0 }))
    .sort((a, b) => a.value - b.value);
  const half = sorted.reduce((total, { weight }) => total + weight, 0) / 2;
  let below = 0;
  for (const [i, { value, weight }] of sorted.entries()) {
    below += weight;
    // Sums of shares such as 1/3 miss the half by rounding.
    if (Math.abs(below - half) <= 1e-9 * half) return (value + (sorted[i + 1]?.value ?? value)) / 2;
    if (below > half) return value;
  }
  throw new RangeError('the median of no values');
}

/**
 * Median absolute deviation about the median, unscaled; times {@link MAD_TO_SD} it is a robust standard deviation
 * (Rousseeuw & Croux, J. Am. Stat. Assoc. 88, 1993, 1273). Throws RangeError for no values. @param weights as for
 * {@link median}.
 */
export function mad(values: readonly number[], weights: readonly number[] = alike(values)): number {
  const centre = median(values, weights);
  return median(
    values.map((value) => Math.abs(value - centre)),
    weights,
  );
}

/**
 * Weights of maximum likelihood under Student-t errors, (nu + 1)/(nu + e^2/s^2) (Lange, Little & Taylor, J. Am. Stat.
 * Assoc. 84, 1989, 881). Above 1 for small residuals, near 0 for outliers; all 1 for nu = Infinity (normal errors).
 * @param scale s > 0, in the unit of the residuals. @param nu degrees of freedom of the errors, above 0.
 */
export function studentWeights(residuals: readonly number[], scale: number, nu = 4): number[] {
  if (nu === Infinity) return residuals.map(() => 1);
  return residuals.map((e) => (nu + 1) / (nu + (e / scale) ** 2));
}
