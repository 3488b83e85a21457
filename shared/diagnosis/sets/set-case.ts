/**
 * A phone on the bench as a decision with several possible faults: `setCaseOf` reads what was said, seen and done into belief
 * (`bench-belief.ts`) and lays out what can be done as a `SetProblem`; `planOf` plans it.
 *
 * Hypotheses are sets of the faults that can show something open; other faults change nothing that is sold and are left out
 * of the plan, not of the belief. Known damage (glass that is seen to be cracked) is open work under every hypothesis: it is
 * priced once, mended or told to the buyer, and is no evidence of anything else.
 */
import { LRUCache } from 'lru-cache';
import type { Check, Remedy } from '../../../knowledge/schema.ts';
import type { Economics } from '../../economics/economics.ts';
import { phonePowerOf } from '../../phone/intake.ts';
import type { PhoneState } from '../../phone/state.ts';
import { hasAll, keepsAfter } from '../family-facts.ts';
import { canTell, type Observable } from '../observable.ts';
import { type Rows, shownUnder } from './belief.ts';
import {
  type BenchBelief,
  beliefOf,
  complaintOf,
  judgedBy,
  rowsFor,
  SUBSTITUTE_SLIP,
} from './bench-belief.ts';
import { type Limits, limitsOf } from './limits.ts';
import type { SetCaseQuestion } from './set-case-question.ts';
import { planSets, type SetPlan } from './set-plan.ts';
import type { SetTally } from './set-policy.ts';
import type {
  Applies,
  CheckForm,
  Hypothesis,
  OpenComplaint,
  SetCheck,
  SetProblem,
  SetRemedy,
} from './set-problem.ts';
import { openMinutes, strippingOf } from './stripping.ts';

/** A way to see what is open in the problem: a symptom, or a component known to be broken. */
export interface OpenWork {
  /** Id in the problem: of the symptom, or `damage:` and the component. */
  readonly id: string;
  readonly kind: 'symptom' | 'damage';
  /** Id of the symptom or of the component. */
  readonly ref: string;
}

export interface SetCase {
  readonly belief: BenchBelief;
  /** The state as given, with the danger that the odds add to it. */
  readonly state: PhoneState;
  /** Why a step must not be done as the phone is now; null where nothing speaks against it. */
  readonly barOn: (step: Check | Remedy) => 'cell' | 'wet' | null;
  /** The remedy that cleans a wet phone inside; null where it is not wet, or none fits. */
  readonly cleaning: Remedy | null;
  /** How far it is taken apart: an index of `accessLevels`. */
  readonly reached: number;
  /** What is open, in the order of the bits of the problem's masks. */
  readonly open: readonly OpenWork[];
  readonly problem: SetProblem;
  /** Bench minutes, and money for parts, of each step of the problem. */
  readonly minutes: SetTally;
  readonly parts: SetTally;
  /** Share of the belief in sets too unlikely to plan for. */
  readonly leftOut: number;
  /** What stripping leaves after the cost of selling and the time, under today's belief. */
  readonly stripValue: number;
  readonly stripMinutes: number;
  /** True when every check that could tell something is planned with at this step. */
  readonly uncut: boolean;
}

const DAMAGE = 'damage:';

/** Sets are planned with, likeliest first, until this share of the belief is there, or so many of them. Chosen by measurement. */
const KEPT_SHARE = 0.995;
const MOST_HYPOTHESES = 110;
/** More than this open are not told apart: those that cost least of the worth are taken to stay. */
const MOST_OPEN_PLANNED = 6;
/** Most checks that are planned with at one step: those that tell most for their cost. Chosen by measurement. */
const FOCUS = 14;
/** A check that tells less than this (bits) tells nothing. */
const TELLS_NOTHING = 1e-6;
/** Opening the phone serves more than one check: each bears this share of it when they are compared. */
const OPENING_SHARE = 0.3;
/** A fault shows a symptom when it does so more often than nothing does, by this. */
const SHOWS = 1e-9;
/** A symptom tells of a fault that shows it so much more often than nothing does. Chosen. */
const TELLS_OF = 0.2;
/** A remedy for known damage mends a fault of the component at least this often. */
const MENDS = 0.5;

/** Null when what was seen cannot be explained by any faults of the pack. */
export function setCaseOf(question: SetCaseQuestion): SetCase | null {
  const { knowledge, economics } = question;
  const belief = beliefOf(question);
  if (!belief) return null;
  const limits = limitsOf(question, belief);
  const all = openWork(question, belief);
  const open = all.slice(0, MOST_OPEN_PLANNED);
  const stay = all.slice(MOST_OPEN_PLANNED).reduce((keeps, one) => keeps * one.keeps, 1);
  const stateOf = observablesOf(open);
  const { hypotheses, leftOut } = hypothesesOf(belief, knowledgeComplaints(question, belief));

  const fitting = fittingRemedies(question, limits);
  const cleaning = limits.wet ? (fitting.find(({ cleans }) => cleans) ?? null) : null;
  const way = wayIn(question, limits.reached, cleaning);
  const wanted = new Set(firstsOf(question, belief).flatMap(({ check, isWish }) => (isWish ? [] : [check])));
  const { chosen, uncut } = focus(
    checksOf(question, belief, limits, { open, stateOf, hypotheses }),
    hypotheses,
    {
      access: way.costs,
      level: way.level,
      minute: economics.minute,
      wanted,
    },
  );
  const remedies = usefulRemedies(question, belief, fitting, { open, hypotheses });
  const strip = strippingOf(question, belief, limits.reached);
  const ends = [{ id: 'pass', value: hypotheses.map(() => 0) }];
  if (limits.deepest === 2)
    ends.unshift({ id: 'strip', value: hypotheses.map(({ faults }) => strip.leaves(faults)) });

  return {
    belief,
    state: limits.state,
    barOn: limits.barred,
    cleaning,
    reached: limits.reached,
    open,
    problem: {
      faults: belief.faults.map(({ id }) => id),
      hypotheses,
      complaints: open.map((one) => complaintIn(one, belief, hypotheses)),
      checks: chosen,
      remedies: remedies.map((remedy) => remedyIn(question, belief, limits, { remedy, open, stateOf })),
      access: way.costs,
      level: way.level,
      value: economics.takings * shareLeft(question, belief) * stay,
      ends,
    },
    minutes: {
      checks: chosen.map(({ id }) => knowledge.checks.get(id)?.minutes ?? 0),
      remedies: remedies.map((remedy) => remedy.minutes),
      access: way.minutes,
    },
    parts: {
      checks: chosen.map(() => 0),
      remedies: remedies.map((remedy) => partsOf(remedy, economics)),
      access: way.parts,
    },
    leftOut,
    stripValue: hypotheses.reduce((sum, { faults, weight }) => sum + weight * strip.leaves(faults), 0),
    stripMinutes: strip.minutes,
    uncut,
  };
}

/** What can be observed of the phone with some of its open work left, one a mask of it. */
function observablesOf(open: readonly PlannedWork[]): Observable[] {
  return Array.from({ length: 1 << open.length }, (_, mask) => {
    const ids = open.flatMap(({ kind, ref }, k) => (kind === 'symptom' && (mask >> k) & 1 ? [ref] : []));
    // A symptom that stays while known damage is told counts by its name as well.
    const named = open.flatMap(({ kind, says }, k) => (kind === 'damage' && (mask >> k) & 1 ? says : []));
    return { power: phonePowerOf(ids), open: [...ids, ...named] };
  });
}

function complaintIn(
  { id, kind, ref, keeps }: PlannedWork,
  belief: BenchBelief,
  hypotheses: readonly Hypothesis[],
): OpenComplaint {
  const complaint = kind === 'symptom' ? belief.complaints.get(ref) : undefined;
  return {
    ...{ id, keeps },
    chance: hypotheses.map(({ faults }) => (complaint ? shownUnder(complaint, faults) : 1)),
  };
}

const partsOf = (remedy: Remedy, economics: Economics): number =>
  remedy.parts.reduce((sum, { component, grade }) => sum + economics.part(component, grade).price, 0) +
  remedy.consumables * economics.partBase;

/** Remedies that can be done here. An outcome may rule one out, whatever the odds: a cell far too low is not charged in part. */
function fittingRemedies({ knowledge, family, events }: SetCaseQuestion, { usable }: Limits): Remedy[] {
  const ruledOut = new Set(
    events.flatMap((event) =>
      event.kind === 'check'
        ? (knowledge.checks.get(event.id)?.outcomes.find(({ id }) => id === event.outcome)?.bars ?? [])
        : [],
    ),
  );
  return [...knowledge.remedies.values()].filter(
    (one) => usable(one) && hasAll(family, one) && !ruledOut.has(one.id),
  );
}

/** Of the remedies those that mend something that may be wrong, or damage that is known. */
function usefulRemedies(
  question: SetCaseQuestion,
  belief: BenchBelief,
  fitting: readonly Remedy[],
  { open, hypotheses }: { open: readonly PlannedWork[]; hypotheses: readonly Hypothesis[] },
): Remedy[] {
  const live = new Set(hypotheses.flatMap((one) => one.faults));
  return fitting.filter(
    (remedy) =>
      belief.faults.some((fault, i) => live.has(i) && (remedy.works[fault.id] ?? 0) > 0) ||
      open.some(({ kind, ref }) => kind === 'damage' && mendsDamage(question, remedy, ref) > 0),
  );
}

/**
 * What the way in costs, by level: minutes, parts, and both in money. A wet phone is opened and cleaned before anything that
 * puts current through it: paid once, with the opening. What has been reached already costs nothing more.
 */
function wayIn(question: SetCaseQuestion, reached: number, cleaning: Remedy | null) {
  const { family, economics } = question;
  const sealPrice =
    family.open.breaks && 'gasket' in family.components ? economics.part('gasket', 'original').price : 0;
  const left = openMinutes(question).map((minutes, k) => (cleaning && k < reached ? 0 : minutes));
  const minutes = [(left[0] ?? 0) + (cleaning?.minutes ?? 0), left[1] ?? 0];
  const parts = [
    (cleaning && reached > 0 ? 0 : sealPrice) + (cleaning ? partsOf(cleaning, economics) : 0),
    0,
  ];
  return {
    ...{ minutes, parts },
    costs: minutes.map((some, k) => some * economics.minute + (parts[k] ?? 0)),
    // With liquid inside, opening alone does not open the way to what needs current.
    level: cleaning ? 0 : reached,
  };
}

interface Layout {
  readonly open: readonly PlannedWork[];
  readonly stateOf: readonly Observable[];
}

function checksOf(
  { knowledge, economics }: SetCaseQuestion,
  belief: BenchBelief,
  { usable, levelOf }: Limits,
  { open, stateOf, hypotheses }: Layout & { hypotheses: readonly Hypothesis[] },
): SetCheck[] {
  const rows = new RowTable(belief, hypotheses);
  return [...knowledge.checks.values()].filter(usable).flatMap((check): SetCheck[] => {
    const forms = rows.forms(check, stateOf);
    if (forms.length === 0) return [];
    const clears = check.outcomes.map((outcome) =>
      open.reduce((mask, one, k) => (outcome.clears?.includes(one.ref) ? mask | (1 << k) : mask), 0),
    );
    return [
      {
        id: check.id,
        cost: check.minutes * economics.minute,
        level: levelOf(check),
        outcomes: check.outcomes.map(({ id }) => id),
        forms,
        ...(clears.some((mask) => mask > 0) ? { clears } : {}),
      },
    ];
  });
}

function remedyIn(
  question: SetCaseQuestion,
  belief: BenchBelief,
  { levelOf }: Limits,
  { remedy, open, stateOf }: Layout & { remedy: Remedy },
): SetRemedy {
  const { knowledge, family, economics } = question;
  const can = (): Applies[] =>
    stateOf.flatMap((now, mask) =>
      canTell(remedy.when, now) ? [{ needs: mask, not: ~mask & (stateOf.length - 1) }] : [],
    );
  const fixes = open.map(({ kind, ref }) => (kind === 'damage' ? mendsDamage(question, remedy, ref) : 0));
  return {
    id: remedy.id,
    cost: remedy.minutes * economics.minute + partsOf(remedy, economics),
    level: levelOf(remedy),
    keeps: keepsAfter(knowledge, family, remedy),
    works: belief.faults.map(({ id }) => remedy.works[id] ?? 0),
    ...(remedy.when ? { when: can() } : {}),
    ...(fixes.some((chance) => chance > 0) ? { fixes } : {}),
  };
}

/** Share of the worth that the remedies leave that were done already. */
const shareLeft = ({ knowledge, family }: SetCaseQuestion, { effective }: BenchBelief): number =>
  effective.reduce((keeps, id) => {
    const remedy = knowledge.remedies.get(id);
    return remedy ? keeps * keepsAfter(knowledge, family, remedy) : keeps;
  }, 1);

interface PlannedWork extends OpenWork {
  readonly keeps: number;
  /** Symptoms that say the same as known damage. */
  readonly says: readonly string[];
}

/** What is open, that which costs most of the worth first. */
function openWork({ knowledge, family }: SetCaseQuestion, belief: BenchBelief): PlannedWork[] {
  const symptoms = belief.open.map((id): PlannedWork => {
    const keeps = knowledge.symptoms.get(id)?.keeps ?? 0;
    return { id, kind: 'symptom', ref: id, keeps, says: [id] };
  });
  const damage = belief.damage.flatMap((component): PlannedWork[] => {
    if (!(component in family.components)) return [];
    const saying = [...knowledge.symptoms.values()].filter((symptom) => symptom.damage === component);
    const keeps = saying.length
      ? saying.reduce((most, symptom) => Math.max(most, symptom.keeps ?? 0), 0)
      : keepsOfBroken(knowledge, component);
    return [
      {
        id: `${DAMAGE}${component}`,
        kind: 'damage',
        ref: component,
        keeps,
        says: saying.map(({ id }) => id),
      },
    ];
  });
  // What happened to a phone is no defect of its own, but where nothing else is to be found something is taken to be wrong.
  const defects = symptoms.filter(({ id }) => !knowledge.symptoms.get(id)?.history);
  const known = defects.length + belief.gone.length > 0;
  return [...(known ? defects : symptoms), ...damage].sort(
    (a, b) => a.keeps - b.keeps || (a.id < b.id ? -1 : 1),
  );
}

/**
 * What a phone keeps of its worth with this component known to be broken and told, where no symptom says so in as many words:
 * as much as with the symptom that a fault of it most shows, of the faults the one that costs most. 0 where none shows.
 */
function keepsOfBroken({ faults, symptoms }: SetCaseQuestion['knowledge'], component: string): number {
  const keeps = [...faults.values()]
    .filter((fault) => fault.component === component)
    .flatMap(({ id }) => {
      const shown = [...symptoms.values()]
        .filter(({ history, seen }) => !history && (seen.faults[id] ?? 0) > seen.otherwise + TELLS_OF)
        .sort((a, b) => (b.seen.faults[id] ?? 0) - (a.seen.faults[id] ?? 0))[0];
      return shown ? [shown.keeps ?? 0] : [];
    });
  return keeps.length ? Math.min(...keeps) : 0;
}

/** P(a remedy mends a component that is known to be broken): its best chance with a fault of it, with a part of it. */
function mendsDamage({ knowledge }: SetCaseQuestion, remedy: Remedy, component: string): number {
  if (!remedy.parts.some((part) => part.component === component)) return 0;
  const best = Object.entries(remedy.works).reduce(
    (most, [fault, works]) =>
      knowledge.faults.get(fault)?.component === component ? Math.max(most, works) : most,
    0,
  );
  return best >= MENDS ? best : 0;
}

/** The symptoms that are open, as complaints over all faults. */
const knowledgeComplaints = ({ knowledge }: SetCaseQuestion, { open, faults }: BenchBelief) =>
  open.flatMap((id) => {
    const symptom = knowledge.symptoms.get(id);
    return symptom ? [complaintOf(symptom, faults)] : [];
  });

/** The likeliest sets of the faults that can show what is open, closed under taking faults away. */
function hypothesesOf(
  { sets, weights }: BenchBelief,
  complaints: readonly ReturnType<typeof complaintOf>[],
): { hypotheses: Hypothesis[]; leftOut: number } {
  const matters = new Uint8Array(sets.faults);
  for (const { leak, seen } of complaints)
    for (let i = 0; i < sets.faults; i++) if ((seen[i] ?? 0) > leak + SHOWS) matters[i] = 1;
  const keep = (fault: number): number => (fault >= 0 && matters[fault] === 1 ? fault : -1);
  const merged = new Float64Array(sets.count);
  for (let s = 0; s < sets.count; s++) {
    const weight = weights[s] ?? 0;
    if (weight === 0) continue;
    const to = sets.indexOfThree(
      keep(sets.first[s] ?? -1),
      keep(sets.second[s] ?? -1),
      keep(sets.third[s] ?? -1),
    );
    merged[to] = (merged[to] ?? 0) + weight;
  }
  const candidates: number[] = [];
  for (let s = 0; s < sets.count; s++) if ((merged[s] ?? 0) > 1e-6) candidates.push(s);
  candidates.sort((a, b) => (merged[b] ?? 0) - (merged[a] ?? 0) || a - b);
  const kept = new Set<number>([0]);
  let share = 0;
  for (const s of candidates) {
    if (share >= KEPT_SHARE || kept.size >= MOST_HYPOTHESES) break;
    share += merged[s] ?? 0;
    // A remedy may leave any part of it.
    const [i, j, k] = [sets.first[s] ?? -1, sets.second[s] ?? -1, sets.third[s] ?? -1];
    for (let out = 0; out < 8; out++)
      kept.add(sets.indexOfThree(out & 1 ? -1 : i, out & 2 ? -1 : j, out & 4 ? -1 : k));
  }
  const places = [...kept].sort((a, b) => a - b);
  const held = places.reduce((sum, s) => sum + (merged[s] ?? 0), 0);
  return {
    hypotheses: places.map((s) => ({ faults: sets.members(s), weight: (merged[s] ?? 0) / held })),
    leftOut: Math.max(0, 1 - held),
  };
}

const NOBODY: Hypothesis = { faults: [], weight: 0 };

/** Rows of checks by hypothesis, each made once. */
class RowTable {
  readonly #belief: BenchBelief;
  readonly #hypotheses: readonly Hypothesis[];

  constructor(belief: BenchBelief, hypotheses: readonly Hypothesis[]) {
    this.#belief = belief;
    this.#hypotheses = hypotheses;
  }

  /** The forms of a check over the masks of what is open: one a mask in which it can tell something. */
  forms(
    check: Check,
    stateOf: readonly { power: ReturnType<typeof phonePowerOf>; open: readonly string[] }[],
  ): CheckForm[] {
    const made = new Map<string, Float64Array[]>();
    const last = stateOf.length - 1;
    return stateOf.flatMap((now, mask) => {
      if (!canTell(check.when, now)) return [];
      const judged = judgedBy(check, now.open);
      const dead = now.power === 'dead' && check.given.dead !== undefined;
      const key = judged ?? (dead ? 'dead' : 'alive');
      let given = made.get(key);
      if (given === undefined) {
        given =
          judged === undefined
            ? this.#rows(check, rowsFor(check, this.#belief.faults, dead).rows)
            : this.#substituted(check, judged);
        made.set(key, given);
      }
      return [{ needs: mask, not: ~mask & last, given }];
    });
  }

  #rows(check: Check, rows: Rows): Float64Array[] {
    return check.outcomes.map((_, o) => {
      const row = new Float64Array(this.#hypotheses.length);
      for (let h = 0; h < row.length; h++) {
        const { faults } = this.#hypotheses[h] ?? NOBODY;
        row[h] = rows.chance(o, faults[0] ?? -1, faults[1] ?? -1, faults[2] ?? -1);
      }
      return row;
    });
  }

  #substituted(check: Check, symptom: string): Float64Array[] {
    const { faults, complaints } = this.#belief;
    const complaint = complaints.get(symptom);
    const component = check.substitutes?.component;
    const given = check.outcomes.map(() => new Float64Array(this.#hypotheses.length));
    this.#hypotheses.forEach(({ faults: members }, h) => {
      const left = members.filter((i) => faults[i]?.component !== component);
      const before = complaint ? shownUnder(complaint, members) : 1;
      const stays = complaint && before > 0 ? Math.min(1, shownUnder(complaint, left) / before) : 1;
      const goes = SUBSTITUTE_SLIP + (1 - 2 * SUBSTITUTE_SLIP) * (1 - stays);
      const [first] = given;
      const last = given.at(-1);
      if (first !== undefined) first[h] = goes;
      if (last !== undefined) last[h] = 1 - goes;
    });
    return given;
  }
}

/** A closed look that comes first for what is open. */
export interface FirstLook {
  readonly check: string;
  /** For a wish (its data off it first): it is done whether it tells of a fault or not, and changes nothing of the plan. */
  readonly isWish: boolean;
}

/** The closed looks that come first for what is open and have not been done. */
export function firstsOf(
  { knowledge }: Pick<SetCaseQuestion, 'knowledge'>,
  belief: BenchBelief,
): FirstLook[] {
  return belief.open.flatMap((id) => {
    const symptom = knowledge.symptoms.get(id);
    const isWish = symptom !== undefined && Object.keys(symptom.seen.faults).length === 0;
    return (symptom?.first ?? [])
      .filter((check) => !belief.done.has(check))
      .map((check) => ({ check, isWish }));
  });
}

/**
 * The checks that can tell something, those first that tell most for their cost: mutual information of outcome and hypothesis
 * (Shannon 1948) over minutes and a share of the opening. One minute is added so that a free check is not boundless.
 */
function focus(
  checks: readonly SetCheck[],
  hypotheses: readonly Hypothesis[],
  {
    access,
    level,
    minute,
    wanted,
  }: { access: readonly number[]; level: number; minute: number; wanted: ReadonlySet<string> },
): { chosen: SetCheck[]; uncut: boolean } {
  const ranked = checks
    .map((check) => {
      // The last form is that of the most that is open; a check that can only be done later is judged by what it tells then.
      const form = check.forms.at(-1);
      const told = form ? information(form.given, hypotheses) : 0;
      const opening = access.slice(level, check.level).reduce((sum, cost) => sum + cost, 0);
      return { check, told, merit: told / (check.cost + OPENING_SHARE * opening + minute) };
    })
    .filter(({ check, told }) => told > TELLS_NOTHING || check.clears !== undefined)
    .sort((a, b) => b.merit - a.merit || (a.check.id < b.check.id ? -1 : 1))
    .map(({ check }) => check);
  const chosen = ranked.filter((check, place) => place < FOCUS || wanted.has(check.id));
  return { chosen, uncut: chosen.length === ranked.length };
}

/** Mutual information of the outcome of a check and the hypothesis, in bits. */
function information(given: CheckForm['given'], hypotheses: readonly Hypothesis[]): number {
  let told = 0;
  for (const row of given) {
    let chance = 0;
    let within = 0;
    for (let h = 0; h < hypotheses.length; h++) {
      const weight = hypotheses[h]?.weight ?? 0;
      const p = row[h] ?? 0;
      if (weight === 0 || p === 0) continue;
      chance += weight * p;
      within += weight * p * Math.log2(p);
    }
    if (chance > 0) told += within - chance * Math.log2(chance);
  }
  return told;
}

/** Some 0.8 MB each, with what their policies are written from. */
const KEPT_MOST = 60;
const kept = new LRUCache<string, SetPlan>({ max: KEPT_MOST });
/** The same again, by the problem itself: its key takes longer to write than many a plan to look up. */
const keptByProblem = new WeakMap<SetProblem, SetPlan>();

/**
 * Remedies weighed for one plan, so that a step of a trace takes much the same time whatever the size of the problem. A budget
 * many times as large was seen to add little, and the plan is made again after each answer anyway. Chosen by measurement.
 */
const STEPS = 1200;
const MOST_EXPANSIONS = 400;

/** The plan for a case. The same problem gives the same plan, so recent ones are kept. */
export function planOf({ problem }: Pick<SetCase, 'problem'>): SetPlan {
  const known = keptByProblem.get(problem);
  if (known) return known;
  const key = keyOf(problem);
  const found = kept.get(key) ?? planSets(problem, { expansions: MOST_EXPANSIONS, steps: STEPS });
  kept.set(key, found);
  keptByProblem.set(problem, found);
  return found;
}

/** Typed arrays as plain lists, so that equal problems have equal keys. */
const keyOf = (problem: SetProblem): string =>
  JSON.stringify(problem, (_, value: unknown) => (value instanceof Float64Array ? Array.from(value) : value));
