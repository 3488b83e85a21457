import { tCdf, tDensity, tQuantile } from './student-t.ts';

/**
 * A price whose logarithm is Student-t: ln V = location + scale * T. Its mean does not exist (the exponential of a
 * Student-t has none), so ask for quantiles, chances, or the mean of min(V, cap).
 */
export interface LogStudentT {
  /** ln of the median price (major units). */
  location: number;
  /** In log units, above 0. */
  scale: number;
  /** Degrees of freedom, above 0. */
  degrees: number;
}

/** The price below which the share p (0 to 1) lies. */
export function valueQuantile(value: LogStudentT, p: number): number {
  return Math.exp(value.location + value.scale * tQuantile(p, value.degrees));
}

/** P(V <= price); 0 for a price of 0 or less. */
export function valueCdf(value: LogStudentT, price: number): number {
  return price <= 0 ? 0 : tCdf((Math.log(price) - value.location) / value.scale, value.degrees);
}

/**
 * E[min(V, cap)], cap in major units; 0 for a cap of 0 or less. The limited expected value
 * integral_{-inf}^{c} e^(location + scale t) f(t) dt + cap P(T > c), c = (ln cap - location)/scale.
 * With t = sinh y the integrand is smooth on the scale of 1 whatever the tails, so panels of a 16-point Gauss-Legendre
 * rule give it to about 1e-13 of the cap. Derived. No sampling: the same input gives the same answer.
 */
export function expectedMin(value: LogStudentT, cap: number): number {
  if (cap <= 0) return 0;
  const c = (Math.log(cap) - value.location) / value.scale;
  const integrand = (y: number) => {
    const t = Math.sinh(y);
    return Math.exp(value.location + value.scale * t) * tDensity(t, value.degrees) * Math.cosh(y);
  };
  // Below c - 40/scale the price is under 1e-17 of the cap.
  const from = Math.asinh(c - 40 / value.scale);
  const to = Math.asinh(c);
  const panels = Math.ceil((to - from) / PANEL);
  const width = (to - from) / panels;
  const rule = gaussLegendre16();
  let total = 0;
  for (let panel = 0; panel < panels; panel += 1) {
    const middle = from + (panel + 0.5) * width;
    for (const { node, weight } of rule) {
      total += (weight * width * integrand(middle + (node * width) / 2)) / 2;
    }
  }
  return total + cap * tCdf(-c, value.degrees);
}

const PANEL = 0.5;
const POINTS = 16;
let kept: { node: number; weight: number }[] | undefined;

/** Nodes are the roots of the Legendre polynomial, weights 2/((1 - x^2) P'(x)^2) (Abramowitz & Stegun 25.4.29). */
function gaussLegendre16(): { node: number; weight: number }[] {
  kept ??= Array.from({ length: POINTS }, (_, i) => {
    let x = Math.cos((Math.PI * (i + 0.75)) / (POINTS + 0.5));
    let slope = 1;
    for (let step = 0; step < 8; step += 1) {
      let [before, here] = [1, x];
      for (let n = 2; n <= POINTS; n += 1)
        [before, here] = [here, ((2 * n - 1) * x * here - (n - 1) * before) / n];
      slope = (POINTS * (x * here - before)) / (x * x - 1);
      x -= here / slope;
    }
    return { node: x, weight: 2 / ((1 - x * x) * slope * slope) };
  });
  return kept;
}
