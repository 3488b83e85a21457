import type { LogStudentT } from './value.ts';

/**
 * Normal-Inverse-Gamma prior with independent coefficients: coefficient j given s2 is N(mean_j, s2 / precision_j), and
 * s2 is IG(shape, rate). A precision of 0 says nothing about that coefficient.
 */
export interface RegressionPrior {
  mean: readonly number[];
  precision: readonly number[];
  shape: number;
  rate: number;
}

export interface RegressionPosterior {
  mean: number[];
  /** a_n and b_n of the inverse gamma; b_n/a_n is the estimate of the error variance. */
  shape: number;
  rate: number;
  /** x' V_n x: the variance of x'b in units of the error variance. */
  leverage(x: readonly number[]): number;
}

/**
 * Bayesian linear regression y = X b + e with the conjugate prior, e_i ~ N(0, s2/w_i). Standard results (derived, see
 * any text on conjugate analysis): V_n^-1 = V_0^-1 + X'WX, m_n = V_n (V_0^-1 m_0 + X'Wy), a_n = a_0 + n/2,
 * b_n = b_0 + (y'Wy + m_0'V_0^-1 m_0 - m_n'V_n^-1 m_n)/2.
 *
 * The prior enters as further rows of a least-squares problem, solved by modified Gram-Schmidt on the matrix bordered by
 * y: then b_n is half a plain sum of squares and nothing cancels (Bjorck, BIT 7, 1967, 1).
 * @param rows the design matrix, one row an observation. @param weights one an observation, above 0; default 1.
 * @param count how many observations the rows count as in a_n; default all of them.
 * Throws RangeError if shapes do not match or the data and prior leave a coefficient undetermined.
 */
export function regress(
  rows: readonly (readonly number[])[],
  y: readonly number[],
  prior: RegressionPrior,
  weights: readonly number[] = y.map(() => 1),
  count: number = y.length,
): RegressionPosterior {
  const size = prior.mean.length;
  if (prior.precision.length !== size || rows.some((row) => row.length !== size)) {
    throw new RangeError(`every row and the prior must have ${size} columns`);
  }
  if (rows.length !== y.length || weights.length !== y.length) {
    throw new RangeError('as many rows as values and weights are needed');
  }
  // Columns of the bordered matrix; the last one is y.
  const columns = Array.from({ length: size + 1 }, (_, j) => [
    ...rows.map((row, i) => Math.sqrt(at(weights, i)) * at(j < size ? row : [...row, at(y, i)], j)),
    ...prior.precision.map((p, k) => Math.sqrt(p) * (j < size ? Number(j === k) : at(prior.mean, k))),
  ]);
  const last = columns.pop() ?? [];
  const { upper, projected, residual } = gramSchmidt(columns, last);
  const mean = solveUpper(upper, projected);
  return {
    mean,
    shape: prior.shape + count / 2,
    rate: prior.rate + dot(residual, residual) / 2,
    leverage: (x) => {
      const half = solveUpperTransposed(upper, x);
      return dot(half, half);
    },
  };
}

/**
 * The predictive distribution of a new observation at x: Student-t with 2 a_n degrees, location x'm_n and squared scale
 * (b_n/a_n)(1 + x'V_n x). As a log price it is a log-Student-t price.
 */
export function predictAt(posterior: RegressionPosterior, x: readonly number[]): LogStudentT {
  const variance = posterior.rate / posterior.shape;
  return {
    location: dot(x, posterior.mean),
    scale: Math.sqrt(variance * (1 + posterior.leverage(x))),
    degrees: 2 * posterior.shape,
  };
}

/** The residuals y - Xb. */
export function residuals(
  rows: readonly (readonly number[])[],
  y: readonly number[],
  coefficients: readonly number[],
): number[] {
  return rows.map((row, i) => at(y, i) - dot(row, coefficients));
}

/** Q and R of the columns, kept as R (rows of the upper triangle), Q'y and what of y is left over. */
function gramSchmidt(columns: number[][], y: number[]) {
  const upper: number[][] = [];
  const projected: number[] = [];
  columns.forEach((column, j) => {
    const before = Math.sqrt(dot(column, column));
    const row = new Array<number>(columns.length).fill(0);
    for (const [k, done] of columns.slice(0, j).entries()) {
      const share = dot(done, column);
      at(upper, k)[j] = share;
      subtractMultiple(column, done, share);
    }
    const norm = Math.sqrt(dot(column, column));
    if (!(norm > 1e-12 * before)) throw new RangeError(`nothing determines coefficient ${j}`);
    column.forEach((value, i) => {
      column[i] = value / norm;
    });
    row[j] = norm;
    upper.push(row);
    const share = dot(column, y);
    projected.push(share);
    subtractMultiple(y, column, share);
  });
  return { upper, projected, residual: y };
}

function solveUpper(upper: readonly number[][], right: readonly number[]): number[] {
  const solution = new Array<number>(right.length).fill(0);
  for (let j = right.length - 1; j >= 0; j -= 1) {
    const row = at(upper, j);
    solution[j] = (at(right, j) - dot(row.slice(j + 1), solution.slice(j + 1))) / at(row, j);
  }
  return solution;
}

function solveUpperTransposed(upper: readonly number[][], right: readonly number[]): number[] {
  const solution: number[] = [];
  for (const [j, value] of right.entries()) {
    const known = solution.reduce((total, part, k) => total + at(at(upper, k), j) * part, 0);
    solution.push((value - known) / at(at(upper, j), j));
  }
  return solution;
}

function dot(a: readonly number[], b: readonly number[]): number {
  return a.reduce((total, value, i) => total + value * at(b, i), 0);
}

function subtractMultiple(target: number[], column: readonly number[], factor: number): void {
  target.forEach((value, i) => {
    target[i] = value - factor * at(column, i);
  });
}

function at<T>(list: readonly T[], index: number): T {
  const value = list[index];
  if (value === undefined) throw new RangeError(`no element ${index} in a list of ${list.length}`);
  return value;
}
