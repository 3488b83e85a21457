/**
 * What is believed of a phone on the bench, where several faults may be present: exact belief over sets of up to three of the
 * faults its family can have, after what was shown, denied, checked and done. Between two changes (a remedy, or an outcome
 * that clears a complaint) the order of what is said does not matter.
 */
import type { Knowledge } from '../../../knowledge/load.ts';
import type { Check, Family, Fault, Symptom } from '../../../knowledge/schema.ts';
import { phonePowerOf } from '../../phone/intake.ts';
import { isCellFact, type PhoneState } from '../../phone/state.ts';
import { CELL, packWeights } from '../decision-problem.ts';
import { canTell } from '../observable.ts';
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
  const { knowledge, family, state } = question;
  const most = question.most ?? MOST_PRESENT;
  const rate = question.rate ?? knowledge.rates.get(RATE)?.value ?? DEFAULT_RATE;
  // A new cell takes the old one's faults with it, and the signs that spoke of them.
  const newCell = state?.newCell ?? false;
  const counts = (symptom: Symptom) => !newCell || !symptom.means.some(isCellFact);
  const { faults, weights: ownWeights } = faultsOf(knowledge, family, newCell);
  const frequency = faults.map((fault, i) => question.weights?.get(fault.id) ?? ownWeights[i] ?? 0);
  const sets = faultSets(faults.length, Math.min(most, faults.length));
  const chances = presence(frequency, rate);
  let weights = priorFromOdds(
    sets,
    sets.most === 1 ? frequency : chances.map((chance) => chance / (1 - chance)),
  );
  const terms: Parameters<typeof massBeyond>[2][number][] = [];

  const complaints = new Map<string, Complaint>();
  const complaintIn = (symptom: Symptom): Complaint => {
    const made = complaints.get(symptom.id) ?? complaintOf(symptom, faults);
    complaints.set(symptom.id, made);
    return made;
  };
  const open = new Set<string>();
  const denied = new Set<string>();
  const gone = new Set<string>();
  const goneBy = new Map<string, string>();
  const good = new Set<string>();
  const damage = new Set(question.damage ?? []);
  const done = new Set<string>();
  const effective: string[] = [];
  const idle: BenchEvent[] = [];
  const mended: { remedy: string; shares: { fault: Fault; share: number }[] }[] = [];
  const read: { id: string; outcome: string }[] = [];

  for (const { said, change } of stretches(knowledge, question.events)) {
    for (const event of said) {
      const symptom = event.kind === 'shown' ? knowledge.symptoms.get(event.id) : undefined;
      if (!symptom || !counts(symptom)) continue;
      if (symptom.damage !== undefined) {
        damage.add(symptom.damage);
        continue;
      }
      if (open.has(symptom.id)) continue;
      open.add(symptom.id);
      weighComplaint(sets, weights, complaintIn(symptom), true);
      terms.push(complaintTerms(complaintIn(symptom), true));
    }
    const now = { power: phonePowerOf([...open]), open: [...open] };
    const dead = now.power === 'dead';
    for (const event of said) {
      if (event.kind === 'cannot') done.add(event.id);
      if (event.kind === 'good' && !good.has(event.id)) {
        good.add(event.id);
        weighGood(sets, weights, faults, event.id);
      }
      if (event.kind === 'denied') {
        const symptom = knowledge.symptoms.get(event.id);
        if (!symptom || open.has(symptom.id) || denied.has(symptom.id)) continue;
        if (!canTell(symptom.when, now)) {
          idle.push(event);
          continue;
        }
        denied.add(symptom.id);
        weighComplaint(sets, weights, complaintIn(symptom), false);
        terms.push(complaintTerms(complaintIn(symptom), false));
      }
      if (event.kind !== 'check') continue;
      done.add(event.id);
      const check = knowledge.checks.get(event.id);
      const outcome = check?.outcomes.findIndex(({ id }) => id === event.outcome) ?? -1;
      if (!check || outcome < 0) continue;
      if (!canTell(check.when, now)) {
        idle.push(event);
        continue;
      }
      const judged = judgedBy(check, now.open);
      const symptom = judged === undefined ? undefined : knowledge.symptoms.get(judged);
      if (check.substitutes && symptom) {
        const { component } = check.substitutes;
        const goes = substituteChances(
          sets,
          shownChances(sets, complaintIn(symptom)),
          faults.map((fault) => fault.component === component),
        );
        if (outcome === 0) multiply(weights, goes);
        else multiplyAbsent(weights, goes);
        continue;
      }
      const { plain, rows } = rowsFor(check, faults, dead);
      if (!(dead && check.given.dead !== undefined)) read.push({ id: check.id, outcome: event.outcome });
      weighOutcome(sets, weights, rows, outcome);
      if (!plain.deciding) terms.push(outcomeTerms(plain, outcome));
    }
    if (change?.kind === 'check') {
      const outcome = knowledge.checks.get(change.id)?.outcomes.find(({ id }) => id === change.outcome);
      if (canTell(knowledge.checks.get(change.id)?.when, now)) {
        for (const id of outcome?.clears ?? []) {
          if (!open.delete(id)) continue;
          gone.add(id);
          goneBy.set(id, change.id);
        }
      }
    }
    if (change?.kind !== 'remedy') continue;
    done.add(change.id);
    const remedy = knowledge.remedies.get(change.id);
    const wentOf = (id: string) => change.gone.includes(id);
    const looks = [...open].flatMap((id) => {
      const complaint = complaints.get(id);
      if (!complaint || !(wentOf(id) || change.left.includes(id))) return [];
      return [{ shown: shownChances(sets, complaint), gone: wentOf(id) }];
    });
    const works = faults.map(({ id }) => remedy?.works[id] ?? 0);
    if (looks.some((look) => look.gone)) {
      const removed = removedShares(sets, weights, works, looks);
      const shares = faults.flatMap((fault, i) => {
        const share = removed[i] ?? 0;
        return share > 0 ? [{ fault, share }] : [];
      });
      mended.push({ remedy: change.id, shares: shares.sort((a, b) => b.share - a.share) });
    }
    weights = afterRemedy(sets, weights, works, looks);
    let changed = false;
    for (const id of change.gone) {
      const broken = knowledge.symptoms.get(id)?.damage ?? id;
      if (damage.delete(broken)) {
        goneBy.set(broken, change.id);
        changed = true;
      }
      if (open.delete(id)) {
        gone.add(id);
        goneBy.set(id, change.id);
        changed = true;
      }
    }
    if (changed) effective.push(change.id);
  }

  const held = total(weights);
  const belief = normalised(weights);
  if (!belief) return null;
  const each = marginals(sets, belief);
  const now = { power: phonePowerOf([...open]), open: [...open] };
  const symptoms = [...knowledge.symptoms.values()];
  return {
    faults,
    sets,
    weights: belief,
    odds: faults
      .map((fault, i) => ({ fault, share: each[i] ?? 0 }))
      .sort((a, b) => b.share - a.share || (a.fault.id < b.fault.id ? -1 : 1)),
    held,
    // After a remedy what it showed is taken to be certain under the larger sets: a bound all the same.
    beyond: sets.most === 1 ? 0 : massBeyond(sets, chances, terms, held),
    open: symptoms.flatMap(({ id }) => (open.has(id) ? [id] : [])),
    complaints,
    denied: [...denied],
    gone: [...gone],
    goneBy,
    unseen: symptoms.flatMap((symptom) =>
      !open.has(symptom.id) && !denied.has(symptom.id) && !gone.has(symptom.id) && !canTell(symptom.when, now)
        ? [symptom.id]
        : [],
    ),
    damage: [...damage].sort(),
    done,
    effective,
    mended,
    read,
    idle,
  };
}
