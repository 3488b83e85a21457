/**
 * What is believed of a phone on the bench, where several faults may be present: exact belief over sets of up to three of the
 * faults its family can have, after what was shown, denied, checked and done. Between two changes (a remedy, or an outcome
 * that clears a complaint) the order of what is said does not matter.
 */
import type { Knowledge } from '../../../knowledge/load.ts';
import type { Check, Family, Fault, Symptom } from '../../../knowledge/schema.ts';
import { phonePowerOf } from '../../phone/intake.ts';
import { isCellFact, type PhoneState } from '../../phone/state.ts';
import { CELL, packWeights } from '../family-facts.ts';
import { canTell, type Observable } from '../observable.ts';
import {
  afterRemedy,
  type CheckRows,
  type Complaint,
  complaintTerms,
  marginals,
  massBeyond,
  normalised,
  outcomeTerms,
  presence,
  priorFromOdds,
  Rows,
  removedShares,
  shownChances,
  total,
  weighComplaint,
  weighOutcome,
} from './belief.ts';
import { type FaultSets, faultSets, MOST_PRESENT } from './fault-sets.ts';

/** One thing that was said, seen or done, oldest first. */
export type BenchEvent =
  /** The phone does this (id of a symptom). */
  | { readonly kind: 'shown'; readonly id: string }
  /** It does not, where it could have been seen. */
  | { readonly kind: 'denied'; readonly id: string }
  | { readonly kind: 'check'; readonly id: string; readonly outcome: string }
  /** A remedy, and which of the symptoms that were open are gone after it or still there; one in neither was not looked at. */
  | {
      readonly kind: 'remedy';
      readonly id: string;
      readonly gone: readonly string[];
      readonly left: readonly string[];
    }
  /** A component that is known to be good. */
  | { readonly kind: 'good'; readonly id: string }
  /** How far the phone lies open, said by somebody: an access level. Moves no belief. */
  | { readonly kind: 'reached'; readonly id: string }
  /** A step that cannot be done here. */
  | { readonly kind: 'cannot'; readonly id: string };

export interface BeliefQuestion {
  readonly knowledge: Knowledge;
  readonly family: Family;
  readonly events: readonly BenchEvent[];
  readonly state?: PhoneState;
  /** Weights of the faults in this family, learnt from closed jobs; without them the pack's own. */
  readonly weights?: ReadonlyMap<string, number>;
  /** Components known to be broken, over and above what symptoms say. */
  readonly damage?: readonly string[];
  /** Mean number of faults of a phone, > 0; without it the pack's. */
  readonly rate?: number;
  /** Most faults held present at once, 1..3. With 1 exactly one is present, with the weights as its odds. */
  readonly most?: number;
}

export interface BenchBelief {
  /** The faults that the family can have. */
  readonly faults: readonly Fault[];
  readonly sets: FaultSets;
  /** P(set), one a set of `sets`; sums to 1. */
  readonly weights: Float64Array;
  /** P(present) of each fault, likeliest first. */
  readonly odds: readonly { readonly fault: Fault; readonly share: number }[];
  /**
   * P(all that was said and seen), up to a factor that depends on the family alone: of two questions that differ in one last
   * event the ratio is the chance of that event.
   */
  readonly held: number;
  /** Upper bound on the belief in sets of more faults than are held. */
  readonly beyond: number;
  /** Ids of the symptoms that are open, in the order of the pack. Those that show known damage are not among them. */
  readonly open: readonly string[];
  /** What each of the faults makes of each of them. */
  readonly complaints: ReadonlyMap<string, Complaint>;
  readonly denied: readonly string[];
  /** Symptoms that are gone: after a remedy, or by an outcome. */
  readonly gone: readonly string[];
  /** What made a symptom go, or mended known damage: id of the symptom or component, and of the remedy or check. */
  readonly goneBy: ReadonlyMap<string, string>;
  /** Symptoms that can not be seen yet: nobody said anything of them, and the phone as it is does not show them. */
  readonly unseen: readonly string[];
  /** Components known to be broken and not mended yet, sorted. */
  readonly damage: readonly string[];
  /** Ids of steps that were done, or cannot be. */
  readonly done: ReadonlySet<string>;
  /** Remedies that made something go, in order. */
  readonly effective: readonly string[];
  /** Of each remedy that made a symptom go: P(it removed the fault), likeliest first. */
  readonly mended: readonly {
    readonly remedy: string;
    readonly shares: readonly { readonly fault: Fault; readonly share: number }[];
  }[];
  /** Outcomes by rows of the pack that were seen of a phone that is not dead, or where that makes no difference. */
  readonly read: readonly { readonly id: string; readonly outcome: string }[];
  /** Answers that could tell nothing of the phone as it was, and moved nothing. */
  readonly idle: readonly BenchEvent[];
}

/** The pack's mean number of faults. */
const RATE = 'faults-per-phone';
/** Where a pack has none. Assumed. */
const DEFAULT_RATE = 0.22;

/** A symptom's chances for these faults. */
export const complaintOf = ({ seen }: Symptom, faults: readonly Fault[]): Complaint => ({
  leak: Math.min(seen.otherwise, 1 - 1e-9),
  seen: faults.map(({ id }) => seen.faults[id] ?? seen.otherwise),
});

/** A check's rows for these faults, of a phone that is dead or one that is not. */
function rowsOf(check: Check, faults: readonly Fault[], dead: boolean): CheckRows {
  const { otherwise, faults: named } = check.given;
  const own = dead ? check.given.dead : undefined;
  const deciding = check.masks?.flatMap((id) => {
    const at = faults.findIndex((fault) => fault.id === id);
    return at < 0 ? [] : [at];
  });
  return {
    otherwise: own?.otherwise ?? otherwise,
    given: faults.map(({ id }) => own?.faults?.[id] ?? named[id] ?? null),
    ...(deciding?.length ? { deciding } : {}),
  };
}

interface LaidOut {
  readonly plain: CheckRows;
  readonly rows: Rows;
}
const laidOut = new WeakMap<readonly Fault[], Map<Check, { alive?: LaidOut; dead?: LaidOut }>>();

/** The same, laid out once for each list of faults and each check: a trace asks for them at every step. */
export function rowsFor(check: Check, faults: readonly Fault[], dead: boolean): LaidOut {
  const checks = laidOut.get(faults) ?? new Map<Check, { alive?: LaidOut; dead?: LaidOut }>();
  laidOut.set(faults, checks);
  const forms = checks.get(check) ?? {};
  checks.set(check, forms);
  const form = dead && check.given.dead !== undefined ? 'dead' : 'alive';
  const have = forms[form];
  if (have !== undefined) return have;
  const plain = rowsOf(check, faults, dead);
  const made = { plain, rows: new Rows(plain) };
  forms[form] = made;
  return made;
}

interface FamilyFaults {
  readonly faults: readonly Fault[];
  readonly weights: readonly number[];
}
interface OfFamily {
  readonly any: FamilyFaults;
  readonly withoutCell: FamilyFaults;
}
const ofFamily = new WeakMap<Knowledge['faults'], WeakMap<Family, OfFamily>>();

/** The faults that a family can have; a new cell has taken those of the old one with it. */
function faultsOf(knowledge: Knowledge, family: Family, newCell: boolean): FamilyFaults {
  const families = ofFamily.get(knowledge.faults) ?? new WeakMap<Family, OfFamily>();
  ofFamily.set(knowledge.faults, families);
  const known = families.get(family);
  if (known !== undefined) return newCell ? known.withoutCell : known.any;
  const own = packWeights(knowledge, family);
  const listed = (list: typeof own): FamilyFaults => ({
    faults: list.map(({ fault }) => fault),
    weights: list.map(({ weight }) => weight),
  });
  const made = { any: listed(own), withoutCell: listed(own.filter(({ fault }) => fault.component !== CELL)) };
  families.set(family, made);
  return newCell ? made.withoutCell : made.any;
}

/** The part of a phone's chance that a known-good part, or the judging of it, goes wrong. Common practice, no source. */
export const SUBSTITUTE_SLIP = 0.03;

/**
 * P(the first outcome) of trying a known-good part, one a set: that the symptom goes once the faults of the component are
 * gone, (1 - P(S') / P(S)), with a small slip.
 */
function substituteChances(
  sets: FaultSets,
  shown: Float64Array,
  ofComponent: readonly boolean[],
): Float64Array {
  const chances = new Float64Array(sets.count);
  const stays = (fault: number): number => (fault >= 0 && !ofComponent[fault] ? fault : -1);
  for (let s = 0; s < sets.count; s++) {
    const to = sets.indexOfThree(
      stays(sets.first[s] ?? -1),
      stays(sets.second[s] ?? -1),
      stays(sets.third[s] ?? -1),
    );
    const goes = 1 - Math.min(1, (shown[to] ?? 0) / (shown[s] ?? 1));
    chances[s] = SUBSTITUTE_SLIP + (1 - 2 * SUBSTITUTE_SLIP) * (Number.isFinite(goes) ? goes : 0);
  }
  return chances;
}

/** In place: a component that is known to be good has no fault, but for the slip of whoever says so. */
function weighGood(
  sets: FaultSets,
  weights: Float64Array,
  faults: readonly Fault[],
  component: string,
): void {
  const its = (fault: number): boolean => fault >= 0 && faults[fault]?.component === component;
  for (let s = 0; s < sets.count; s++) {
    if (its(sets.first[s] ?? -1) || its(sets.second[s] ?? -1) || its(sets.third[s] ?? -1))
      weights[s] = (weights[s] ?? 0) * SUBSTITUTE_SLIP;
  }
}

/** The symptom that a substitution is judged by now: the first of its list that is open. */
export const judgedBy = (check: Check, open: readonly string[]): string | undefined =>
  check.substitutes?.shows.find((id) => open.includes(id));

/** In place: the weights are the caller's own, and large. */
function multiply(weights: Float64Array, likelihood: Float64Array): void {
  for (let s = 0; s < weights.length; s++) weights[s] = (weights[s] ?? 0) * (likelihood[s] ?? 0);
}

function multiplyAbsent(weights: Float64Array, shown: Float64Array): void {
  for (let s = 0; s < weights.length; s++) weights[s] = (weights[s] ?? 0) * (1 - (shown[s] ?? 0));
}

const sortKey = (event: BenchEvent): string =>
  `${event.kind} ${event.id} ${event.kind === 'check' ? event.outcome : ''}`;

/** The symptoms that are open after some events, those that show known damage among them. */
export function openAfter(
  { checks, symptoms }: Pick<Knowledge, 'checks' | 'symptoms'>,
  events: readonly BenchEvent[],
): Set<string> {
  const open = new Set<string>();
  for (const event of events) {
    if (event.kind === 'shown') open.add(event.id);
    if (event.kind === 'remedy')
      for (const id of open)
        if (event.gone.includes(id) || event.gone.includes(symptoms.get(id)?.damage ?? id)) open.delete(id);
    if (event.kind !== 'check') continue;
    const outcome = checks.get(event.id)?.outcomes.find(({ id }) => id === event.outcome);
    for (const id of outcome?.clears ?? []) open.delete(id);
  }
  return open;
}

/** A stretch of what was said between two changes. */
interface Stretch {
  said: BenchEvent[];
  change: (BenchEvent & { kind: 'remedy' | 'check' }) | null;
}

/** Cuts what was said at each remedy, and at each outcome that makes a symptom go. */
function stretches(knowledge: Knowledge, events: readonly BenchEvent[]): Stretch[] {
  const found: Stretch[] = [];
  let said: BenchEvent[] = [];
  for (const event of events) {
    if (event.kind === 'remedy') {
      found.push({ said, change: event });
      said = [];
      continue;
    }
    said.push(event);
    if (event.kind !== 'check') continue;
    const outcome = knowledge.checks.get(event.id)?.outcomes.find(({ id }) => id === event.outcome);
    if (!outcome?.clears?.length) continue;
    found.push({ said, change: event });
    said = [];
  }
  found.push({ said, change: null });
  for (const one of found) one.said.sort((a, b) => (sortKey(a) < sortKey(b) ? -1 : 1));
  return found;
}

/**
 * Belief after all events. A phone that shows known damage (a symptom with `damage`) is no evidence of anything else, and the
 * damage is work to do; that it is *denied* is evidence like any other.
 * @returns null when nothing in the pack can explain what was seen.
 */
export function beliefOf(question: BeliefQuestion): BenchBelief | null {
  const fold = new BeliefFold(question);
  for (const stretch of stretches(question.knowledge, question.events)) fold.add(stretch);
  return fold.belief();
}

type CheckEvent = BenchEvent & { kind: 'check' };
type RemedyEvent = BenchEvent & { kind: 'remedy' };
type Look = Parameters<typeof removedShares>[3][number];

/** The weights of all sets and what is known of the phone besides, brought up to date one stretch at a time. */
class BeliefFold {
  readonly #question: BeliefQuestion;
  readonly #newCell: boolean;
  readonly #faults: readonly Fault[];
  readonly #sets: FaultSets;
  readonly #chances: readonly number[];
  #weights: Float64Array;
  /** What bounds the belief in larger sets. */
  readonly #terms: Parameters<typeof massBeyond>[2][number][] = [];
  readonly #complaints = new Map<string, Complaint>();
  readonly #open = new Set<string>();
  readonly #denied = new Set<string>();
  readonly #gone = new Set<string>();
  readonly #goneBy = new Map<string, string>();
  readonly #good = new Set<string>();
  readonly #damage: Set<string>;
  readonly #done = new Set<string>();
  readonly #effective: string[] = [];
  readonly #idle: BenchEvent[] = [];
  readonly #mended: { remedy: string; shares: { fault: Fault; share: number }[] }[] = [];
  readonly #read: { id: string; outcome: string }[] = [];

  constructor(question: BeliefQuestion) {
    const { knowledge, family, state } = question;
    this.#question = question;
    // A new cell takes the old one's faults with it, and the signs that spoke of them.
    this.#newCell = state?.newCell ?? false;
    const { faults, weights } = faultsOf(knowledge, family, this.#newCell);
    const frequency = faults.map((fault, i) => question.weights?.get(fault.id) ?? weights[i] ?? 0);
    const rate = question.rate ?? knowledge.rates.get(RATE)?.value ?? DEFAULT_RATE;
    this.#faults = faults;
    this.#sets = faultSets(faults.length, Math.min(question.most ?? MOST_PRESENT, faults.length));
    this.#chances = presence(frequency, rate);
    this.#weights = priorFromOdds(
      this.#sets,
      this.#sets.most === 1 ? frequency : this.#chances.map((chance) => chance / (1 - chance)),
    );
    this.#damage = new Set(question.damage ?? []);
  }

  add({ said, change }: Stretch): void {
    // What it shows comes first: what else can be observed follows from it.
    for (const event of said) if (event.kind === 'shown') this.#shown(event.id);
    const now = this.#now();
    for (const event of said) {
      if (event.kind === 'cannot') this.#done.add(event.id);
      else if (event.kind === 'good') this.#knownGood(event.id);
      else if (event.kind === 'denied') this.#deny(event, now);
      else if (event.kind === 'check') this.#check(event, now);
    }
    if (change?.kind === 'check') this.#clear(change, now);
    else if (change?.kind === 'remedy') this.#remedy(change);
  }

  belief(): BenchBelief | null {
    const { symptoms } = this.#question.knowledge;
    const held = total(this.#weights);
    const weights = normalised(this.#weights);
    if (!weights) return null;
    const each = marginals(this.#sets, weights);
    const now = this.#now();
    const said = (id: string) => this.#open.has(id) || this.#denied.has(id) || this.#gone.has(id);
    const idsWhere = (wanted: (symptom: Symptom) => boolean) =>
      [...symptoms.values()].flatMap((symptom) => (wanted(symptom) ? [symptom.id] : []));
    return {
      faults: this.#faults,
      sets: this.#sets,
      weights,
      odds: this.#faults
        .map((fault, i) => ({ fault, share: each[i] ?? 0 }))
        .sort((a, b) => b.share - a.share || (a.fault.id < b.fault.id ? -1 : 1)),
      held,
      // After a remedy what it showed is taken to be certain under the larger sets: a bound all the same.
      beyond: this.#sets.most === 1 ? 0 : massBeyond(this.#sets, this.#chances, this.#terms, held),
      open: idsWhere(({ id }) => this.#open.has(id)),
      complaints: this.#complaints,
      denied: [...this.#denied],
      gone: [...this.#gone],
      goneBy: this.#goneBy,
      unseen: idsWhere(({ id, when }) => !said(id) && !canTell(when, now)),
      damage: [...this.#damage].sort(),
      done: this.#done,
      effective: this.#effective,
      mended: this.#mended,
      read: this.#read,
      idle: this.#idle,
    };
  }

  #now(): Observable {
    const open = [...this.#open];
    return { power: phonePowerOf(open), open };
  }

  #complaintIn(symptom: Symptom): Complaint {
    const made = this.#complaints.get(symptom.id) ?? complaintOf(symptom, this.#faults);
    this.#complaints.set(symptom.id, made);
    return made;
  }

  #weighComplaint(symptom: Symptom, shown: boolean): void {
    const complaint = this.#complaintIn(symptom);
    // What tells nothing moves nothing, not even the last digit: a search between near equals would go another way.
    if (Array.from(complaint.seen).every((chance) => chance === complaint.leak)) return;
    weighComplaint(this.#sets, this.#weights, complaint, shown);
    this.#terms.push(complaintTerms(complaint, shown));
  }

  #shown(id: string): void {
    const symptom = this.#question.knowledge.symptoms.get(id);
    if (!symptom || (this.#newCell && symptom.means.some(isCellFact))) return;
    if (symptom.damage !== undefined) {
      this.#damage.add(symptom.damage);
      return;
    }
    if (this.#open.has(id)) return;
    this.#open.add(id);
    this.#weighComplaint(symptom, true);
  }

  #knownGood(component: string): void {
    if (this.#good.has(component)) return;
    this.#good.add(component);
    weighGood(this.#sets, this.#weights, this.#faults, component);
  }

  #deny(event: BenchEvent, now: Observable): void {
    const symptom = this.#question.knowledge.symptoms.get(event.id);
    if (!symptom || this.#open.has(symptom.id) || this.#denied.has(symptom.id)) return;
    if (!canTell(symptom.when, now)) {
      this.#idle.push(event);
      return;
    }
    this.#denied.add(symptom.id);
    this.#weighComplaint(symptom, false);
  }

  #check(event: CheckEvent, now: Observable): void {
    this.#done.add(event.id);
    const check = this.#question.knowledge.checks.get(event.id);
    const outcome = check?.outcomes.findIndex(({ id }) => id === event.outcome) ?? -1;
    if (!check || outcome < 0) return;
    if (!canTell(check.when, now)) {
      this.#idle.push(event);
      return;
    }
    const judged = judgedBy(check, now.open);
    const symptom = judged === undefined ? undefined : this.#question.knowledge.symptoms.get(judged);
    if (check.substitutes && symptom) {
      this.#substitute(check.substitutes.component, symptom, outcome);
      return;
    }
    const dead = now.power === 'dead';
    const { plain, rows } = rowsFor(check, this.#faults, dead);
    if (!(dead && check.given.dead !== undefined)) this.#read.push({ id: check.id, outcome: event.outcome });
    weighOutcome(this.#sets, this.#weights, rows, outcome);
    if (!plain.deciding) this.#terms.push(outcomeTerms(plain, outcome));
  }

  /** A known-good part was tried: the symptom went (the first outcome), or stayed. */
  #substitute(component: string, symptom: Symptom, outcome: number): void {
    const goes = substituteChances(
      this.#sets,
      shownChances(this.#sets, this.#complaintIn(symptom)),
      this.#faults.map((fault) => fault.component === component),
    );
    if (outcome === 0) multiply(this.#weights, goes);
    else multiplyAbsent(this.#weights, goes);
  }

  #wentBy(symptom: string, step: string): boolean {
    if (!this.#open.delete(symptom)) return false;
    this.#gone.add(symptom);
    this.#goneBy.set(symptom, step);
    return true;
  }

  /** An outcome that makes symptoms go, where it could be observed. */
  #clear(event: CheckEvent, now: Observable): void {
    const check = this.#question.knowledge.checks.get(event.id);
    if (!canTell(check?.when, now)) return;
    const outcome = check?.outcomes.find(({ id }) => id === event.outcome);
    for (const id of outcome?.clears ?? []) this.#wentBy(id, event.id);
  }

  #remedy(event: RemedyEvent): void {
    this.#done.add(event.id);
    const remedy = this.#question.knowledge.remedies.get(event.id);
    const works = this.#faults.map(({ id }) => remedy?.works[id] ?? 0);
    const looks = this.#looksAfter(event);
    if (looks.some((look) => look.gone)) {
      const removed = removedShares(this.#sets, this.#weights, works, looks);
      const shares = this.#faults.flatMap((fault, i) => {
        const share = removed[i] ?? 0;
        return share > 0 ? [{ fault, share }] : [];
      });
      this.#mended.push({ remedy: event.id, shares: shares.sort((a, b) => b.share - a.share) });
    }
    this.#weights = afterRemedy(this.#sets, this.#weights, works, looks);
    const mended = event.gone.map((id) => {
      const broken = this.#question.knowledge.symptoms.get(id)?.damage ?? id;
      const whole = this.#damage.delete(broken);
      if (whole) this.#goneBy.set(broken, event.id);
      return this.#wentBy(id, event.id) || whole;
    });
    if (mended.includes(true)) this.#effective.push(event.id);
  }

  /** Of the open symptoms those that were looked at after a remedy. */
  #looksAfter({ gone, left }: RemedyEvent): Look[] {
    return [...this.#open].flatMap((id) => {
      const complaint = this.#complaints.get(id);
      if (!complaint || !(gone.includes(id) || left.includes(id))) return [];
      return [{ shown: shownChances(this.#sets, complaint), gone: gone.includes(id) }];
    });
  }
}
