/**
 * Phones with one, two or three things wrong, walked to their end by the advice shown: by sets of faults, and by the planner
 * for one fault at a time that it took the place of, on the same phones; and what could be had if the faults were known.
 * `npm run node tests/bench/phones.ts -- --phones 500`.
 */
import { pathToFileURL } from 'node:url';
import { fits } from '../../knowledge/features.ts';
import { type Knowledge, loadKnowledge } from '../../knowledge/load.ts';
import { accessLevels, type Check, type Family, type Remedy } from '../../knowledge/schema.ts';
import { defaultSettings } from '../../shared/collective/collective-settings.ts';
import { keepsAfter, packWeights } from '../../shared/diagnosis/family-facts.ts';
import { canTell } from '../../shared/diagnosis/observable.ts';
import { shownUnder } from '../../shared/diagnosis/sets/belief.ts';
import { type BenchEvent, complaintOf, judgedBy, rowsFor } from '../../shared/diagnosis/sets/bench-belief.ts';
import { eventsOfAnswer, nextStep } from '../../shared/diagnosis/sets/next-step.ts';
import { setCaseOf } from '../../shared/diagnosis/sets/set-case.ts';
import { planSets } from '../../shared/diagnosis/sets/set-plan.ts';
import type { SetProblem } from '../../shared/diagnosis/sets/set-problem.ts';
import { type Economics, economicsOf } from '../../shared/economics/economics.ts';
import type { LoggedPhoneEvent } from '../../shared/phone/event.ts';
import { phonePowerOf, phoneStateOf } from '../../shared/phone/intake.ts';
import { actor } from '../actors.ts';
import { seeded } from '../diagnosis/random-problem.ts';
import { decisionProblemOf, type Evidence, planFor } from '../oracles/one-fault/one-fault-case.ts';

/** Shares of phones with two and with three faults. */
const TWO = 0.12;
const THREE = 0.02;
const MOST_STEPS = 40;

/** How one phone ended. */
interface Ended {
  net: number;
  minutes: number;
  /** Sold with a fault left that nothing told to the buyer speaks of. */
  hidden: boolean;
  sold: boolean;
  /** Ids of what was done. */
  steps: string[];
}

/** What a phone truly has; what is wrong with it shows as it is caused by what is left. */
interface Truth {
  family: Family;
  economics: Economics;
  /** Faults that are there. */
  faults: Set<string>;
  /** For each symptom that the phone has, the faults that cause it: it is there for as long as one of them is. */
  causes: Map<string, Set<string>>;
}

const pick = <T>(random: () => number, list: readonly T[], weight: (one: T) => number): T | undefined => {
  let left = random() * list.reduce((sum, one) => sum + weight(one), 0);
  return list.find((one) => {
    left -= weight(one);
    return left < 0;
  });
};

/** A phone of some family that shows something. */
function phone(knowledge: Knowledge, random: () => number): Truth {
  const families = [...knowledge.families.values()];
  for (;;) {
    const family = families[Math.floor(random() * families.length)];
    if (!family) throw new Error('no family');
    const own = packWeights(knowledge, family);
    const roll = random();
    const wanted = roll < THREE ? 3 : roll < THREE + TWO ? 2 : 1;
    const faults = new Set<string>();
    while (faults.size < wanted) faults.add(pick(random, own, ({ weight }) => weight)?.fault.id ?? '');
    const causes = new Map<string, Set<string>>();
    for (const symptom of knowledge.symptoms.values()) {
      if (!fits(family, symptom) || symptom.history) continue;
      for (const fault of faults) {
        const seen = symptom.seen.faults[fault] ?? 0;
        if (random() >= (seen - symptom.seen.otherwise) / (1 - symptom.seen.otherwise)) continue;
        const of = causes.get(symptom.id) ?? new Set<string>();
        causes.set(symptom.id, of.add(fault));
      }
    }
    const economics = economicsOf({
      ...{ knowledge, family, settings: { ...defaultSettings, hourlyRate: 30 }, sightings: [], parts: [] },
      ...{ grade: 0, value: 180, now: new Date('2026-03-02T09:00:00Z') },
    });
    const made = { family, economics, faults, causes };
    const shown = visible(knowledge, made);
    // A cell that may be dangerous is handed over by either.
    if (shown.length && phoneStateOf(knowledge, shown).danger === 'none') return made;
  }
}

/** The symptoms that can be seen of it now. */
function visible(knowledge: Knowledge, { faults, causes }: Truth): string[] {
  const there = [...causes].flatMap(([id, of]) => ([...of].some((fault) => faults.has(fault)) ? [id] : []));
  const now = { power: phonePowerOf(there), open: there };
  return there.filter((id) => canTell(knowledge.symptoms.get(id)?.when, now));
}

/** The outcome of a check on the phone as it truly is. */
function outcomeOf(knowledge: Knowledge, truth: Truth, check: Check, random: () => number): string {
  const faults = packWeights(knowledge, truth.family).map(({ fault }) => fault);
  const members = faults.flatMap((fault, i) => (truth.faults.has(fault.id) ? [i] : []));
  const open = visible(knowledge, truth);
  const judged = judgedBy(check, open);
  if (check.substitutes && judged !== undefined) {
    const { component } = check.substitutes;
    const left = [...(truth.causes.get(judged) ?? [])].filter(
      (id) => truth.faults.has(id) && knowledge.faults.get(id)?.component !== component,
    );
    return (left.length ? check.outcomes.at(-1) : check.outcomes[0])?.id ?? '';
  }
  const { rows } = rowsFor(check, faultsKept(truth.family, faults), phonePowerOf(open) === 'dead');
  const chances = check.outcomes.map((_, o) =>
    rows.chance(o, members[0] ?? -1, members[1] ?? -1, members[2] ?? -1),
  );
  return (
    pick(
      random,
      check.outcomes.map((outcome, o) => ({ outcome, o })),
      ({ o }) => chances[o] ?? 0,
    )?.outcome.id ?? ''
  );
}
const keptFaults = new Map<string, ReturnType<typeof packWeights>[number]['fault'][]>();
/** The same list of a family's faults each time: rows are laid out once for it. */
function faultsKept(family: Family, faults: ReturnType<typeof packWeights>[number]['fault'][]) {
  const have = keptFaults.get(family.id) ?? faults;
  keptFaults.set(family.id, have);
  return have;
}

/** A remedy removes each of its faults with its own chance. */
function mend(truth: Truth, remedy: Remedy, random: () => number): void {
  for (const fault of [...truth.faults])
    if (random() < (remedy.works[fault] ?? 0)) truth.faults.delete(fault);
}

const copyOf = (truth: Truth): Truth => ({ ...truth, faults: new Set(truth.faults) });

/** Money and minutes of a step from a level: the parts and time of the step, and of getting there. */
class Spent {
  cost = 0;
  minutes = 0;
  level = 0;
  readonly steps: string[] = [];
  readonly #truth: Truth;
  constructor(truth: Truth) {
    this.#truth = truth;
  }
  step(step: Check | Remedy): void {
    this.steps.push(step.id);
    const { family, economics } = this.#truth;
    const to = accessLevels.indexOf(step.access);
    const seal =
      family.open.breaks && 'gasket' in family.components ? economics.part('gasket', 'original').price : 0;
    const opening = [family.open.minutes + family.close.minutes, family.board.minutes];
    for (let k = this.level; k < to; k++) {
      this.minutes += opening[k] ?? 0;
      this.cost += (opening[k] ?? 0) * economics.minute + (k === 0 ? seal : 0);
    }
    this.level = Math.max(this.level, to);
    this.minutes += step.minutes;
    this.cost += step.minutes * economics.minute;
    if ('outcomes' in step) return;
    for (const { component, grade } of step.parts) this.cost += economics.part(component, grade).price;
    this.cost += step.consumables * economics.partBase;
  }
}

/** True where a fault is left that no symptom told to the buyer comes from. */
const hides = ({ faults, causes }: Truth, told: readonly string[]): boolean =>
  [...faults].some((fault) => !told.some((id) => causes.get(id)?.has(fault)));

/** What stripping it brings, by what is truly left. */
const stripOf = (problem: SetProblem, truth: Truth): number => {
  const end = problem.ends.find(({ id }) => id === 'strip');
  const places = new Set(problem.faults.flatMap((id, i) => (truth.faults.has(id) ? [i] : [])));
  let best = 0;
  let common = -1;
  problem.hypotheses.forEach(({ faults }, h) => {
    const same = faults.filter((i) => places.has(i)).length - faults.filter((i) => !places.has(i)).length;
    if (same > common) {
      common = same;
      best = end?.value[h] ?? 0;
    }
  });
  return best;
};

/** By sets of faults: what is gone, what is left and what shows now is said after each step. */
function bySets(knowledge: Knowledge, start: Truth, random: () => number): Ended {
  const truth = copyOf(start);
  const spent = new Spent(truth);
  const shown = visible(knowledge, truth);
  const events: BenchEvent[] = shown.map((id) => ({ kind: 'shown', id }));
  const said = new Set(shown);
  // What was seen of danger and liquid, and the cleaning.
  const logged: LoggedPhoneEvent[] = [];
  const log = (step: Check | Remedy, outcome: string) => {
    for (const event of eventsOfAnswer(step, outcome))
      logged.push({ seq: logged.length + 1, event, by: actor('Ines'), at: new Date(0), withdrawn: null });
  };
  let keeps = 1;
  for (let step = 0; step < MOST_STEPS; step++) {
    const question = {
      ...{ knowledge, family: truth.family, economics: truth.economics, events },
      state: phoneStateOf(knowledge, shown, logged, undefined, spent.level),
    };
    const found = setCaseOf(question);
    if (!found) break;
    const next = nextStep(question, found);
    if (next.kind === 'check') {
      spent.step(next.check);
      const outcome = outcomeOf(knowledge, truth, next.check, random);
      events.push({ kind: 'check', id: next.check.id, outcome });
      log(next.check, outcome);
      continue;
    }
    if (next.kind === 'remedy') {
      spent.step(next.remedy);
      const before = visible(knowledge, truth);
      mend(truth, next.remedy, random);
      log(next.remedy, '');
      const after = visible(knowledge, truth);
      const gone = before.filter((id) => !after.includes(id));
      events.push({
        kind: 'remedy',
        id: next.remedy.id,
        gone,
        left: before.filter((id) => after.includes(id)),
      });
      if (gone.length) keeps *= keepsAfter(knowledge, truth.family, next.remedy);
      for (const id of after) {
        if (said.has(id)) continue;
        said.add(id);
        events.push({ kind: 'shown', id });
      }
      continue;
    }
    const symptoms = visible(knowledge, truth).filter((id) => said.has(id));
    if (next.kind === 'done' || (next.kind === 'stop' && next.action.id === 'sell')) {
      const share = symptoms.reduce((left, id) => left * (knowledge.symptoms.get(id)?.keeps ?? 0), keeps);
      const brings = truth.economics.takings * share;
      return {
        net: brings - spent.cost,
        minutes: spent.minutes,
        steps: spent.steps,
        sold: brings > 0,
        hidden: brings > 0 && hides(truth, symptoms),
      };
    }
    const strips = next.kind === 'stop' && next.action.id === 'strip' ? stripOf(found.problem, truth) : 0;
    return {
      net: strips - spent.cost,
      minutes: spent.minutes,
      steps: spent.steps,
      sold: false,
      hidden: false,
    };
  }
  return { net: -spent.cost, minutes: spent.minutes, steps: spent.steps, sold: false, hidden: false };
}

/**
 * By one fault at a time: it works when what was said is gone. What is left then is a new trace, which knows nothing of the
 * one before it.
 */
function byOne(knowledge: Knowledge, start: Truth, random: () => number): Ended {
  const truth = copyOf(start);
  const spent = new Spent(truth);
  let symptoms = visible(knowledge, truth);
  let evidence: Evidence[] = [];
  let keeps = 1;
  for (let step = 0; step < MOST_STEPS; step++) {
    const found = decisionProblemOf({
      ...{ knowledge, family: truth.family, economics: truth.economics, symptoms, evidence },
      state: phoneStateOf(knowledge, symptoms),
    });
    if (found?.state.danger !== 'none') break;
    const { action } = planFor(found);
    if (action.kind === 'stop') {
      const set = setCaseOf({
        ...{ knowledge, family: truth.family, economics: truth.economics },
        events: symptoms.map((id) => ({ kind: 'shown', id }) as const),
        state: phoneStateOf(knowledge, symptoms),
      });
      const brings = action.id === 'strip' && set ? stripOf(set.problem, truth) : 0;
      return {
        net: brings - spent.cost,
        minutes: spent.minutes,
        steps: spent.steps,
        sold: false,
        hidden: false,
      };
    }
    const check = action.kind === 'check' ? knowledge.checks.get(action.id) : undefined;
    if (check) {
      spent.step(check);
      evidence.push({ kind: 'check', id: check.id, outcome: outcomeOf(knowledge, truth, check, random) });
      continue;
    }
    const remedy = knowledge.remedies.get(action.id);
    if (!remedy) break;
    spent.step(remedy);
    const before = visible(knowledge, truth);
    mend(truth, remedy, random);
    const after = visible(knowledge, truth);
    const gone = before.filter((id) => !after.includes(id));
    if (gone.length) keeps *= keepsAfter(knowledge, truth.family, remedy);
    if (!gone.length) {
      evidence.push({ kind: 'failed', id: remedy.id });
      continue;
    }
    if (!after.length) {
      const net = truth.economics.takings * keeps - spent.cost;
      return { net, minutes: spent.minutes, steps: spent.steps, sold: true, hidden: truth.faults.size > 0 };
    }
    symptoms = after;
    evidence = [];
    spent.level = 0;
  }
  return { net: -spent.cost, minutes: spent.minutes, steps: spent.steps, sold: false, hidden: false };
}

/** The best that could be had if the faults were known: no check is needed, and no remedy is in vain for want of knowing. */
function known(knowledge: Knowledge, truth: Truth): number {
  const symptoms = visible(knowledge, truth);
  const found = setCaseOf({
    ...{ knowledge, family: truth.family, economics: truth.economics },
    events: symptoms.map((id) => ({ kind: 'shown', id }) as const),
    state: phoneStateOf(knowledge, symptoms),
  });
  if (!found) return 0;
  const { problem, belief, open } = found;
  const places = problem.faults.flatMap((id, i) => (truth.faults.has(id) ? [i] : []));
  const sets = Array.from({ length: 1 << places.length }, (_, mask) =>
    places.filter((_, at) => (mask >> at) & 1),
  );
  const hypotheses = sets.map((faults) => ({ faults, weight: faults.length === places.length ? 1 : 0 }));
  const strip = stripOf(problem, truth);
  return planSets(
    {
      ...problem,
      hypotheses,
      complaints: open.map(({ id, kind, ref }, k) => {
        const symptom = knowledge.symptoms.get(ref);
        const complaint = kind === 'symptom' && symptom ? complaintOf(symptom, belief.faults) : undefined;
        return {
          ...{ id, keeps: problem.complaints[k]?.keeps ?? 0 },
          chance: hypotheses.map(({ faults }) =>
            complaint ? Math.max(1e-9, shownUnder(complaint, faults)) : 1,
          ),
        };
      }),
      checks: [],
      ends: problem.ends.map(({ id }) => ({ id, value: hypotheses.map(() => (id === 'strip' ? strip : 0)) })),
    },
    { expansions: 60 },
  ).value;
}

export interface PhoneWalks {
  phones: number;
  several: number;
  /** Of each phone its family, what it truly has, and what it shows at first. */
  truths: { family: string; faults: string[]; shows: string[] }[];
  sets: Ended[];
  one: Ended[];
  known: number[];
}

export function walkPhones(knowledge: Knowledge, count: number): PhoneWalks {
  const random = seeded(20261129);
  const walks: PhoneWalks = { phones: count, several: 0, truths: [], sets: [], one: [], known: [] };
  for (let at = 0; at < count; at++) {
    const truth = phone(knowledge, random);
    if (truth.faults.size > 1) walks.several++;
    walks.truths.push({
      family: truth.family.id,
      faults: [...truth.faults],
      shows: visible(knowledge, truth),
    });
    // The same luck for both.
    walks.sets.push(bySets(knowledge, truth, seeded(at + 1)));
    walks.one.push(byOne(knowledge, truth, seeded(at + 1)));
    walks.known.push(known(knowledge, truth));
  }
  return walks;
}

export const meanOf = (values: readonly number[]): number =>
  values.reduce((sum, one) => sum + one, 0) / Math.max(1, values.length);

/** Figures by name: mean net and minutes, and phones sold with an open hidden fault in a hundred. */
export function phoneFigures(walks: PhoneWalks): Record<string, number> {
  const share = (ended: readonly Ended[]) => meanOf(ended.map(({ hidden }) => (hidden ? 1 : 0)));
  return {
    'several.phones': walks.phones,
    'several.phones.several': walks.several,
    'several.net': meanOf(walks.sets.map(({ net }) => net)),
    'several.net.oneFault': meanOf(walks.one.map(({ net }) => net)),
    'several.net.known': meanOf(walks.known),
    'several.minutes': meanOf(walks.sets.map(({ minutes }) => minutes)),
    'several.minutes.oneFault': meanOf(walks.one.map(({ minutes }) => minutes)),
    'several.hidden.share': share(walks.sets),
    'several.hidden.share.oneFault': share(walks.one),
    'several.sold.share': meanOf(walks.sets.map(({ sold }) => (sold ? 1 : 0))),
    'several.sold.share.oneFault': meanOf(walks.one.map(({ sold }) => (sold ? 1 : 0))),
  };
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const at = process.argv.indexOf('--phones');
  const from = Date.now();
  const figures = phoneFigures(walkPhones(loadKnowledge(), at < 0 ? 500 : Number(process.argv[at + 1])));
  for (const [name, value] of Object.entries(figures))
    console.log(`${name.padEnd(32)}${value.toFixed(3).padStart(12)}`);
  console.log(`${Math.round((Date.now() - from) / 1000)} s`);
}
