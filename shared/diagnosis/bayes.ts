/**
 * Learning from closed jobs: conjugate updates (Dirichlet for several outcomes, Beta for two). Counts may be
 * fractions, where a job's fault was not confirmed. Feed every job, stripped and passed ones too: counting only
 * confirmed ones is verification bias (Begg & Greenes). An abandoned repair is no count at all.
 */

/** No learnt likelihood goes below this: a small bench has not seen everything. */
const FLOOR = 0.01;
/** Strength of the pooled weights for one family, in jobs, while there are too few families to choose it. */
const DEFAULT_STRENGTH = 20;
const FEWEST_FAMILIES = 5;
const GRID = Array.from({ length: 99 }, (_, i) => i + 2);

/**
 * Posterior mean of a Dirichlet: (strength * mean_i + n_i) / (strength + N); the standard conjugate result.
 * @param mean prior mean, sums to 1.
 * @param strength what the prior weighs, in jobs, > 0.
 * @param counts n_i >= 0.
 */
export function dirichletMean(
  mean: readonly number[],
  strength: number,
  counts: readonly number[],
): number[] {
  if (mean.length !== counts.length) throw new RangeError('needs one count for each prior weight');
  if (!(strength > 0)) throw new RangeError(`strength must be above 0, not ${strength}`);
  const total = counts.reduce((sum, n) => sum + n, 0);
  return mean.map((m, i) => (strength * m + (counts[i] ?? 0)) / (strength + total));
}

/** Beta(a, b) after `worked` of `tried`: Beta(a + worked, b + tried - worked). Its mean is a / (a + b). */
export function betaUpdate(
  prior: { a: number; b: number },
  worked: number,
  tried: number,
): { a: number; b: number; mean: number } {
  if (!(worked >= 0 && worked <= tried)) throw new RangeError(`${worked} of ${tried} is not possible`);
  const a = prior.a + worked;
  const b = prior.b + tried - worked;
  return { a, b, mean: a / (a + b) };
}

/**
 * P(outcome | fault) learnt for one fault and one check: Dirichlet mean, then nothing below the floor; the rest
 * is scaled down so that they still sum to 1.
 */
export function learnOutcomes(
  mean: readonly number[],
  strength: number,
  counts: readonly number[],
  floor = FLOOR,
): number[] {
  return withFloor(dirichletMean(mean, strength, counts), floor);
}

/** P(works | fault) learnt: the Beta mean kept within floor..1-floor. */
export function learnSuccess(
  mean: number,
  strength: number,
  worked: number,
  tried: number,
  floor = FLOOR,
): number {
  const learnt = betaUpdate({ a: mean * strength, b: (1 - mean) * strength }, worked, tried).mean;
  return Math.min(1 - floor, Math.max(floor, learnt));
}

/** Raises what is below the floor to it and scales the others, until they sum to 1 again. */
export function withFloor(chances: readonly number[], floor = FLOOR): number[] {
  if (floor * chances.length > 1) throw new RangeError('floor too high for that many outcomes');
  const low = new Set<number>();
  for (;;) {
    const high = chances.reduce((sum, chance, i) => (low.has(i) ? sum : sum + chance), 0);
    const scale = (1 - floor * low.size) / high;
    const sunk = chances.flatMap((chance, i) => (!low.has(i) && chance * scale < floor ? [i] : []));
    if (sunk.length === 0) return chances.map((chance, i) => (low.has(i) ? floor : chance * scale));
    for (const i of sunk) low.add(i);
  }
}

/**
 * Log of the chance of the counts under a Dirichlet, in any one order of the jobs (Dirichlet-multinomial without
 * its multinomial coefficient): lnG(A) - lnG(A + N) + sum_i [lnG(a_i + n_i) - lnG(a_i)].
 */
export function logMarginal(alpha: readonly number[], counts: readonly number[]): number {
  let a = 0;
  let n = 0;
  let sum = 0;
  alpha.forEach((weight, i) => {
    const count = counts[i] ?? 0;
    a += weight;
    n += count;
    if (count > 0) sum += logGamma(weight + count) - logGamma(weight);
  });
  return sum + logGamma(a) - logGamma(a + n);
}

/** What the families share: the knowledge's own weights, their strength in jobs, and each family's counts. */
export interface Pool {
  /** means[family][fault]: fault weights of the knowledge pack, sum to 1 in each family; 0 where it cannot have the fault. */
  readonly means: readonly (readonly number[])[];
  /** Strength of the pack, in jobs (kappa_0). */
  readonly strength: number;
  /** counts[family][fault] */
  readonly counts: readonly (readonly number[])[];
}

/**
 * Prior mean for one family from the pack and all *other* families. Where families have the same faults and weights it is
 * (k0 pi_f + n_f without g)/(k0 + N without g). A family that cannot have a fault tells nothing of it, so each fault's
 * weight is moved by what was seen of it over what was to be expected: pi_f (k0 pi_f + n_f)/(k0 pi_f + E_f), E_f being
 * the sum over the other families of their jobs times their own pi_f (posterior mean of a Gamma-Poisson rate), and the
 * weights are scaled to 1 again.
 */
export function pooledMean(pool: Pool, family: number): number[] {
  const own = pool.means[family] ?? [];
  const sizes = pool.counts.map((counts) => counts.reduce((sum, n) => sum + n, 0));
  const moved = own.map((pi, f) => {
    if (pi === 0) return 0;
    let seen = pool.strength * pi;
    let expected = seen;
    pool.counts.forEach((counts, g) => {
      if (g === family) return;
      seen += counts[f] ?? 0;
      expected += (sizes[g] ?? 0) * (pool.means[g]?.[f] ?? 0);
    });
    return (pi * seen) / expected;
  });
  const total = moved.reduce((sum, one) => sum + one, 0);
  return moved.map((one) => one / total);
}

/**
 * Strength of the pooled weights for one family, in jobs: the value of the grid 2..100 under which the counts of
 * all families are likeliest, each given the others; 20 below five families with jobs. Ties go to the smaller.
 */
export function chooseStrength(pool: Pool): number {
  const families = pool.counts.flatMap((counts, g) => (counts.some((n) => n > 0) ? [{ counts, g }] : []));
  if (families.length < FEWEST_FAMILIES) return DEFAULT_STRENGTH;
  const means = families.map(({ g }) => pooledMean(pool, g));
  let best = { strength: DEFAULT_STRENGTH, score: Number.NEGATIVE_INFINITY };
  for (const strength of GRID) {
    let score = 0;
    families.forEach(({ counts }, i) => {
      score += logMarginal(
        (means[i] ?? []).map((m) => m * strength),
        counts,
      );
    });
    if (score > best.score) best = { strength, score };
  }
  return best.strength;
}

/** Strengths a row of chances may have, in jobs that saw it. */
const ROW_GRID = [4, 6, 8, 10, 15, 20, 30, 50, 80, 120, 200];
/** What it is while there are too few outcomes to choose it. Common practice (4 to 10), no source. */
export const ROW_STRENGTH = 10;
const FEWEST_OUTCOMES = 60;

/** Shares of outcomes that are misread or mistyped, in checks of every kind. */
const SLIP_GRID = [0, 0.02, 0.05, 0.08, 0.12, 0.16, 0.2];

/** A row of chances of the pack, and how often each of its outcomes was seen. */
export interface SeenRow {
  readonly mean: readonly number[];
  readonly counts: readonly number[];
}

/** A row when a share of all outcomes is misread: that share falls on every outcome alike. */
export const withSlip = (row: readonly number[], slip: number): number[] =>
  row.map((chance) => (1 - slip) * chance + slip / row.length);

/**
 * How far the pack's rows of chances are trusted: their strength in jobs, and the share of outcomes that is misread. Both
 * are those under which all that was seen is likeliest, one for all rows, since each alone has seen too little (empirical
 * Bayes by the Dirichlet-multinomial marginal). Rows that are too sharp, or too weak against what little was seen, make the
 * odds too sure of themselves.
 */
export function trustInRows(rows: readonly SeenRow[]): { strength: number; slip: number } {
  const seen = rows.reduce((sum, { counts }) => sum + counts.reduce((all, n) => all + n, 0), 0);
  if (seen < FEWEST_OUTCOMES) return { strength: ROW_STRENGTH, slip: 0 };
  const score = (strength: number, slip: number) =>
    rows.reduce(
      (sum, { mean, counts }) =>
        sum +
        logMarginal(
          withFloor(withSlip(mean, slip)).map((m) => m * strength),
          counts,
        ),
      0,
    );
  const best = (grid: readonly number[], scoreOf: (value: number) => number, start: number) =>
    grid.reduce((found, value) => (scoreOf(value) > scoreOf(found) ? value : found), start);
  const slip = best(SLIP_GRID, (value) => score(ROW_STRENGTH, value), 0);
  return { slip, strength: best(ROW_GRID, (value) => score(value, slip), ROW_STRENGTH) };
}

/** Fault weights of one family: its own jobs on top of the pooled weights; sum to 1. */
export function familyWeights(pool: Pool, family: number, strength = chooseStrength(pool)): number[] {
  return dirichletMean(pooledMean(pool, family), strength, pool.counts[family] ?? []);
}

/** ln of the gamma function, x > 0: Stirling's series after stepping up to 10 (Abramowitz & Stegun 6.1.15, 6.1.41). */
export function logGamma(x: number): number {
  let shift = 0;
  let z = x;
  for (; z < 10; z++) shift += Math.log(z);
  const i = 1 / (z * z);
  const series = (1 / 12 - i * (1 / 360 - i * (1 / 1260 - i * (1 / 1680 - i / 1188)))) / z;
  return (z - 0.5) * Math.log(z) - z + 0.5 * Math.log(2 * Math.PI) + series - shift;
}
