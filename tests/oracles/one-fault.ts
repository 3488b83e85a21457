/**
 * A decision with one hidden fault, as published results have it and as bare numbers: checks that tell faults apart, remedies
 * that may mend it, and stopping. `as-sets.ts` puts it to the planner.
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

interface CheckSpec {
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
