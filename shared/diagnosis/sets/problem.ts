/**
 * What is to be decided when several faults may be present, as bare numbers: hypotheses are sets of present faults, and
 * complaints that are open are seen to go or stay after each remedy. Checks, remedies, and ends: sell as it is with what
 * is open disclosed, or stop some other way. Nothing here knows where the numbers come from.
 */

/** All money in one unit (major units of any currency) as plain numbers; chances 0..1. */
export interface SetProblem {
  /** Ids of the faults. */
  readonly faults: readonly string[];
  /**
   * Sets of present faults (places in `faults`, ascending) and their weights: >= 0, summing to 1 within 1e-9. Closed under
   * taking faults away: what a remedy leaves is always in the list.
   */
  readonly hypotheses: readonly Hypothesis[];
  /** What is open now, at most MOST_OPEN; bit k of a mask stands for the k-th. */
  readonly complaints: readonly OpenComplaint[];
  readonly checks: readonly SetCheck[];
  readonly remedies: readonly SetRemedy[];
  /** Cost of getting from one access level to the next deeper one, paid once. */
  readonly access: readonly number[];
  /** Access level already reached, 0..access.length. */
  readonly level: number;
  /** What a phone with nothing open sells for. */
  readonly value: number;
  /** Ways of stopping other than selling, each with its value under each hypothesis. May be empty. */
  readonly ends: readonly { readonly id: string; readonly value: readonly number[] }[];
}

export interface Hypothesis {
  readonly faults: readonly number[];
  readonly weight: number;
}

export interface OpenComplaint {
  readonly id: string;
  /** What a phone sells for with this open, told to the buyer, as a share of a sound one. */
  readonly keeps: number;
  /** P(shown | hypothesis), one a hypothesis; > 0 where the hypothesis has weight. */
  readonly chance: ArrayLike<number>;
}

/** When a step can be done: all complaints of `needs` are open and none of `not` is. Masks over `complaints`. */
export interface Applies {
  readonly needs: number;
  readonly not: number;
}

export interface SetCheck {
  readonly id: string;
  readonly cost: number;
  readonly level: number;
  readonly outcomes: readonly string[];
  /** Its chances, in one or more forms by what is open; the first that applies counts, and where none does it cannot be done. Used at most once. */
  readonly forms: readonly CheckForm[];
  /** For each outcome the complaints (mask) that are gone when it comes: it starts, so it is not dead. None when left out. */
  readonly clears?: readonly number[];
}

export interface CheckForm extends Applies {
  /** given[outcome][hypothesis]; over the outcomes they sum to 1 within 1e-9. */
  readonly given: readonly ArrayLike<number>[];
}

export interface SetRemedy {
  readonly id: string;
  readonly cost: number;
  readonly level: number;
  /** P(this fault is removed), one a fault, independently of the others. Done at most once. */
  readonly works: readonly number[];
  /** Share of the worth that is left once it has made a complaint go. One that changes nothing is taken back. */
  readonly keeps: number;
  /** When it can be done: in any of these cases. Always, where it is left out. */
  readonly when?: readonly Applies[];
  /** P(it makes this complaint go), one a complaint, whatever is believed: damage that is seen and known. None when left out. */
  readonly fixes?: readonly number[];
}

const MOST_OPEN = 8;
export const MOST_OUTCOMES = 15;
/** The id of the end that every problem has: sell as it is, with what is open told. */
export const SELL = 'sell';

export type SetAction =
  | { readonly kind: 'check'; readonly id: string }
  | { readonly kind: 'remedy'; readonly id: string }
  | { readonly kind: 'end'; readonly id: string };

const TOLERANCE = 1e-9;

export const applies = ({ needs, not }: Applies, open: number): boolean =>
  (open & needs) === needs && (open & not) === 0;

/**
 * Refuses a problem whose numbers do not hang together.
 * @throws RangeError naming the part and what is wrong with it.
 */
export function assertSetProblem(problem: SetProblem): void {
  const { faults, hypotheses, complaints, checks, remedies, access, level, value, ends } = problem;
  const refuse = (what: string): never => {
    throw new RangeError(`problem: ${what}`);
  };
  const n = hypotheses.length;
  if (n === 0) refuse('no hypotheses');
  if (complaints.length > MOST_OPEN) refuse(`${complaints.length} complaints, at most ${MOST_OPEN}`);
  if (!(value >= 0 && Number.isFinite(value))) refuse('value is below 0');
  const known = new Set(hypotheses.map((one) => one.faults.join()));
  let sum = 0;
  for (const { faults: members, weight } of hypotheses) {
    if (!(weight >= 0)) refuse('a weight below 0');
    sum += weight;
    members.forEach((fault, at) => {
      if (!(fault >= 0 && fault < faults.length)) refuse(`no fault ${fault}`);
      if (at > 0 && fault <= (members[at - 1] ?? 0)) refuse('faults of a hypothesis are not ascending');
      if (!known.has(members.filter((_, i) => i !== at).join()))
        refuse(`hypotheses are not closed: ${members.join()} without ${fault} is missing`);
    });
  }
  if (!(Math.abs(sum - 1) <= TOLERANCE)) refuse(`weights sum to ${sum}, not 1`);
  for (const { id, keeps, chance } of complaints) {
    if (!(keeps >= 0 && keeps <= 1)) refuse(`complaint ${id}: keeps outside 0..1`);
    if (chance.length !== n) refuse(`complaint ${id}: needs one chance a hypothesis`);
    hypotheses.forEach(({ weight }, h) => {
      const shown = chance[h] ?? -1;
      if (!(shown >= 0 && shown <= 1)) refuse(`complaint ${id}: a chance outside 0..1`);
      if (weight > 0 && shown === 0) refuse(`complaint ${id}: open under a hypothesis that cannot show it`);
    });
  }
  if (!access.every((cost) => cost >= 0 && Number.isFinite(cost))) refuse('an access cost is below 0');
  const isLevel = (one: number) => Number.isInteger(one) && one >= 0 && one <= access.length;
  if (!isLevel(level)) refuse(`level ${level} is not one of 0..${access.length}`);
  for (const end of ends) {
    if (end.value.length !== n || !end.value.every(Number.isFinite))
      refuse(`end ${end.id}: needs one number a hypothesis`);
  }
  for (const step of [...checks, ...remedies]) {
    if (!(step.cost >= 0 && Number.isFinite(step.cost))) refuse(`${step.id}: cost below 0`);
    if (!isLevel(step.level)) refuse(`${step.id}: level ${step.level}`);
  }
  for (const { id, outcomes, forms, clears } of checks) {
    if (outcomes.length > MOST_OUTCOMES)
      refuse(`${id}: ${outcomes.length} outcomes, at most ${MOST_OUTCOMES}`);
    if (clears !== undefined && clears.length !== outcomes.length) refuse(`${id}: needs one mask an outcome`);
    for (const { given } of forms) {
      if (given.length !== outcomes.length) refuse(`${id}: needs one row an outcome`);
      for (let h = 0; h < n; h++) {
        let all = 0;
        for (const row of given) {
          const chance = row[h] ?? -1;
          if (!(chance >= 0)) refuse(`${id}: a chance below 0, or none`);
          all += chance;
        }
        if (!(Math.abs(all - 1) <= TOLERANCE)) refuse(`${id}: chances sum to ${all}, not 1`);
      }
    }
  }
  for (const { id, works, keeps, fixes } of remedies) {
    if (fixes !== undefined && fixes.length !== complaints.length)
      refuse(`${id}: needs one chance a complaint`);
    if (fixes?.some((chance) => !(chance >= 0 && chance <= 1))) refuse(`${id}: a chance outside 0..1`);
    if (works.length !== faults.length) refuse(`${id}: needs one chance a fault`);
    if (!works.every((chance) => chance >= 0 && chance <= 1)) refuse(`${id}: a chance outside 0..1`);
    if (!(keeps >= 0 && keeps <= 1)) refuse(`${id}: keeps outside 0..1`);
  }
}
