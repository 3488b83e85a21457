/** 1 / the standard normal 0.75 quantile: makes the MAD of normal data estimate their standard deviation. */
export const MAD_TO_SD = 1.482602218505602;

/** The middle value, or the mean of the two middle ones. Throws RangeError for no values. */
export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const upper = sorted[Math.floor(sorted.length / 2)];
  const lower = sorted[Math.floor((sorted.length - 1) / 2)];
  if (upper === undefined || lower === undefined) throw new RangeError('the median of no values');
  return (lower + upper) / 2;
}

/**
 * Median absolute deviation about `centre` (default: the median), unscaled; times {@link MAD_TO_SD} it is a robust
 * standard deviation (Rousseeuw & Croux, J. Am. Stat. Assoc. 88, 1993, 1273). Throws RangeError for no values.
 */
export function mad(values: readonly number[], centre = median(values)): number {
  return median(values.map((value) => Math.abs(value - centre)));
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
