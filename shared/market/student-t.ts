/**
 * Student's t distribution with `degrees` > 0 degrees of freedom (need not be whole; checked up to 1e6). Written here
 * because ready-made packages take longer to load than the whole program may take to start.
 *
 * Formulas: Abramowitz & Stegun, Handbook of Mathematical Functions, 26.7.1 (distribution function by the incomplete
 * beta function), 26.5.8 (its continued fraction), 6.1.47 (ratio of gamma functions).
 */

/** Density at t. */
export function tDensity(t: number, degrees: number): number {
  const constant = gammaRatio(degrees / 2) / Math.sqrt(degrees * Math.PI);
  return constant * Math.exp(-((degrees + 1) / 2) * Math.log1p((t * t) / degrees));
}

/** P(T <= t). */
export function tCdf(t: number, degrees: number): number {
  const tail = upperTail(Math.abs(t), degrees);
  return t > 0 ? 1 - tail : tail;
}

/** The t below which the share `p` lies; -Infinity at 0, Infinity at 1. Throws RangeError for p outside 0 to 1. */
export function tQuantile(p: number, degrees: number): number {
  if (!(p >= 0 && p <= 1)) throw new RangeError(`a share must be 0 to 1, got ${p}`);
  if (p === 0.5) return 0;
  if (p === 0 || p === 1) return p === 0 ? -Infinity : Infinity;
  const share = Math.min(p, 1 - p);
  // The upper tail is convex for t >= 0, so Newton's steps from 0 climb to the root and never pass it.
  let t = 0;
  for (let step = 0; step < 1000; step += 1) {
    const next = t + (upperTail(t, degrees) - share) / tDensity(t, degrees);
    if (!(next > t * (1 + 2 * Number.EPSILON))) break;
    t = next;
  }
  return p < 0.5 ? -t : t;
}

/** P(T > t) for t >= 0: half of I_x(degrees/2, 1/2) at x = degrees/(degrees + t^2). */
function upperTail(t: number, degrees: number): number {
  if (!(degrees > 0) || !Number.isFinite(degrees))
    throw new RangeError(`degrees must be above 0, got ${degrees}`);
  if (Number.isNaN(t)) throw new RangeError('t is not a number');
  if (t === 0) return 0.5;
  if (t === Infinity) return 0;
  const a = degrees / 2;
  const x = 1 / (1 + (t * t) / degrees);
  const y = 1 / (1 + degrees / (t * t)); // 1 - x without cancellation
  // x^a (1-x)^(1/2) / B(a, 1/2)
  const front =
    (Math.exp(-a * Math.log1p((t * t) / degrees)) * Math.sqrt(y) * gammaRatio(a)) / Math.sqrt(Math.PI);
  return x < (a + 1) / (a + 2.5)
    ? (front * betaFraction(x, a, 0.5)) / (2 * a)
    : 0.5 - front * betaFraction(y, 0.5, a);
}

/** The continued fraction of the incomplete beta function (A&S 26.5.8), by Lentz's method (Applied Optics 15, 1976, 668). */
function betaFraction(x: number, a: number, b: number): number {
  let c = 1;
  let d = 1 / (1 - ((a + b) * x) / (a + 1));
  let h = d;
  for (let m = 1; m <= 20_000; m += 1) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / (1 + even * d);
    c = 1 + even / c;
    h *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / (1 + odd * d);
    c = 1 + odd / c;
    h *= d * c;
    if (Math.abs(d * c - 1) < 1e-15) return h;
  }
  throw new RangeError('the incomplete beta function did not settle');
}

/** Gamma(z + 1/2) / Gamma(z), z > 0: the asymptotic series (A&S 6.1.47) from z = 30 on, recurrence below. */
function gammaRatio(z: number): number {
  let shift = 1;
  let x = z;
  for (; x < 30; x += 1) shift *= x / (x + 0.5);
  const r = 1 / (8 * x);
  // In powers of 1/(8x): 1 - r + r^2/2 + 5r^3/2 - 21r^4/8 - 399r^5/8 + 869r^6/16
  const series = 1 + r * (-1 + r * (1 / 2 + r * (5 / 2 + r * (-21 / 8 + r * (-399 / 8 + (r * 869) / 16)))));
  return shift * Math.sqrt(x) * series;
}
