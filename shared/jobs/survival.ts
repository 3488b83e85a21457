/** How long things last, where most have not failed yet: the product-limit estimate. Pure. */

/** One thing that was watched: for how many days, and whether it failed at the end of them or was only watched so long. */
export interface Watched {
  /** Whole days, 0 or more. */
  days: number;
  failed: boolean;
}

export interface SurvivalStep {
  /** Days after which at least one failed. */
  days: number;
  /** Watched for at least so long. */
  atRisk: number;
  failed: number;
  /** Share that lasts longer than that. */
  lasts: number;
  /** Greenwood's standard error of it. */
  error: number;
  /** Ends of its 95 % interval on the scale of log(-log), which stays within 0 and 1. */
  low: number;
  high: number;
}

const Z = 1.959963984540054;

/**
 * The product-limit estimate S(t) = prod (1 - d_i / n_i) over the days on which something failed (E. L. Kaplan and P. Meier,
 * Journal of the American Statistical Association 53, 1958), with Greenwood's variance S^2 sum d_i / (n_i (n_i - d_i)) and the
 * interval S^exp(+-z sqrt(V) / ln S) on the log(-log) scale (J. D. Kalbfleisch and R. L. Prentice, The Statistical Analysis of
 * Failure Time Data, 1980). What is censored on a day on which others fail was still at risk then.
 * @throws RangeError for days that are negative or no number.
 */
export function productLimit(watched: readonly Watched[]): SurvivalStep[] {
  for (const { days } of watched) if (!(days >= 0)) throw new RangeError(`days are 0 or more, not ${days}`);
  const times = [...new Set(watched.filter(({ failed }) => failed).map(({ days }) => days))];
  let lasts = 1;
  let sum = 0;
  return times
    .sort((a, b) => a - b)
    .map((days) => {
      const atRisk = watched.filter((one) => one.days >= days).length;
      const failed = watched.filter((one) => one.failed && one.days === days).length;
      lasts *= 1 - failed / atRisk;
      sum += failed / (atRisk * (atRisk - failed));
      const inside = lasts > 0 && lasts < 1;
      const spread = inside ? (Z * Math.sqrt(sum)) / Math.log(lasts) : 0;
      return {
        days,
        atRisk,
        failed,
        lasts,
        error: lasts > 0 ? lasts * Math.sqrt(sum) : 0,
        low: inside ? lasts ** Math.exp(-spread) : lasts,
        high: inside ? lasts ** Math.exp(spread) : lasts,
      };
    });
}

export interface Lasting {
  /** Of how many. */
  fitted: number;
  failed: number;
  /** Days for which it is told: the longest of `horizons` that at least `FEWEST_LEFT` were watched for. */
  days: number;
  lasts: number;
  low: number;
  high: number;
}

/** Fewer than so many tell nothing yet; and so many have to be watched to the day that is told. Chosen. */
export const FEWEST_WATCHED = 8;
const FEWEST_LEFT = 4;
const horizons = [365, 180, 90, 30] as const;

/** What lasts, in one figure; null while there is too little. Without a failure the interval is that of the rule of three. */
export function lastingOf(watched: readonly Watched[]): Lasting | null {
  if (watched.length < FEWEST_WATCHED) return null;
  const days = horizons.find((one) => watched.filter((each) => each.days >= one).length >= FEWEST_LEFT);
  if (days === undefined) return null;
  const step = productLimit(watched).findLast((one) => one.days <= days);
  const failed = watched.filter((one) => one.failed).length;
  const left = watched.filter((each) => each.days >= days).length;
  // None failed: the 95 % limit of 0 of n is about 3/n (J. A. Hanley and A. Lippman-Hand, JAMA 249, 1983).
  const none = { lasts: 1, low: Math.max(0, 1 - 3 / left), high: 1 };
  const { lasts, low, high } = step ?? none;
  return { fitted: watched.length, failed, days, lasts, low, high };
}
