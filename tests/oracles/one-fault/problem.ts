/**
 * What fault tracing has to decide, as bare numbers: one hidden fault, checks that tell faults apart, remedies
 * that may mend it, and stopping. Nothing here knows where the numbers come from.
 */

/** All money in one unit (major units of any currency) as plain numbers; chances 0..1. */
export interface Problem {
  /** Exactly one of them is true. Priors > 0 and sum to 1 within 1e-9 (symptoms already taken in). */
  readonly faults: readonly { readonly id: string; readonly prior: number }[];
  readonly checks: readonly CheckSpec[];
  readonly remedies: readonly RemedySpec[];
  /** Cost of getting from one access level to a deeper one, paid once: access[k] = cost of going from level k to k+1 (0 closed, 1 open, 2 board out). */
  readonly access: readonly number[];
  /** Access level already reached, 0..access.length. */
  readonly level: number;
  /** Value of stopping that way under each fault; the belief-weighted best is taken. At least one. */
  readonly stops: readonly { readonly id: string; readonly byFault: readonly number[] }[];
}

export interface CheckSpec {
  readonly id: string;
  readonly cost: number;
  readonly level: number;
  readonly outcomes: readonly string[];
  /** given[fault][outcome]; rows sum to 1 within 1e-9. A check is used at most once. */
  readonly given: readonly (readonly number[])[];
}

interface RemedySpec {
  readonly id: string;
  readonly cost: number;
  readonly level: number;
  /** Net value of the phone when this remedy works; the job then ends. */
  readonly worth: number;
  /** P(works | fault). A remedy that failed is not offered again. */
  readonly works: readonly number[];
}

/** One step that can be taken. */
export type PlanAction =
  | { readonly kind: 'check'; readonly id: string }
  | { readonly kind: 'remedy'; readonly id: string }
  | { readonly kind: 'stop'; readonly id: string };

/** Numbers beside `problem.checks`, `problem.remedies` and `problem.access`, in the same order: minutes, say. */
export interface Tally {
  readonly checks: readonly number[];
  readonly remedies: readonly number[];
  readonly access: readonly number[];
}

const TOLERANCE = 1e-9;

/**
 * Refuses a problem whose numbers do not hang together.
 * @throws RangeError naming the part and what is wrong with it.
 */
export function assertProblem(problem: Problem): void {
  const { faults, checks, remedies, access, level, stops } = problem;
  const refuse = (what: string): never => {
    throw new RangeError(`problem: ${what}`);
  };
  if (faults.length === 0) refuse('no faults');
  if (stops.length === 0) refuse('no way of stopping');
  let sum = 0;
  for (const fault of faults) {
    if (!(fault.prior > 0)) refuse(`fault ${fault.id}: prior must be above 0`);
    sum += fault.prior;
  }
  if (!(Math.abs(sum - 1) <= TOLERANCE)) refuse(`priors sum to ${sum}, not 1`);
  if (!access.every((cost) => cost >= 0 && Number.isFinite(cost))) refuse('an access cost is below 0');
  const isLevel = (value: number) => Number.isInteger(value) && value >= 0 && value <= access.length;
  if (!isLevel(level)) refuse(`level ${level} is not one of 0..${access.length}`);
  for (const stop of stops) {
    if (stop.byFault.length !== faults.length || !stop.byFault.every(Number.isFinite))
      refuse(`stop ${stop.id}: needs one number a fault`);
  }
  for (const check of checks) {
    const name = `check ${check.id}`;
    if (!(check.cost >= 0 && Number.isFinite(check.cost))) refuse(`${name}: cost below 0`);
    if (!isLevel(check.level)) refuse(`${name}: level ${check.level}`);
    if (check.given.length !== faults.length) refuse(`${name}: needs one row a fault`);
    for (const row of check.given) {
      let total = 0;
      for (const chance of row) {
        if (!(chance >= 0)) refuse(`${name}: a chance below 0`);
        total += chance;
      }
      if (row.length !== check.outcomes.length) refuse(`${name}: needs one chance an outcome`);
      if (!(Math.abs(total - 1) <= TOLERANCE)) refuse(`${name}: a row sums to ${total}, not 1`);
    }
  }
  for (const remedy of remedies) {
    const name = `remedy ${remedy.id}`;
    if (!(remedy.cost >= 0 && Number.isFinite(remedy.cost))) refuse(`${name}: cost below 0`);
    if (!Number.isFinite(remedy.worth)) refuse(`${name}: worth is not a number`);
    if (!isLevel(remedy.level)) refuse(`${name}: level ${remedy.level}`);
    if (remedy.works.length !== faults.length) refuse(`${name}: needs one chance a fault`);
    if (!remedy.works.every((chance) => chance >= 0 && chance <= 1)) refuse(`${name}: a chance outside 0..1`);
  }
}
