/**
 * A phone as a decision with one hidden fault, and the plan for it: how the bot traced before it reckoned with several faults at
 * once. Kept to hold the bot against: odds with one fault possible, and what tracing in that way would bring.
 */

import { fits } from '../../../knowledge/features.ts';
import type { Knowledge } from '../../../knowledge/load.ts';
import { accessLevels, type Check, type Family, type Fault, type Remedy } from '../../../knowledge/schema.ts';
import {
  CELL,
  CELL_SUSPECT,
  cellFaults,
  hasAll,
  keepsAfter,
  packWeights,
  STRIP_MINUTES,
  safetyOf,
  salvage,
} from '../../../shared/diagnosis/family-facts.ts';
import { canTell } from '../../../shared/diagnosis/observable.ts';
import type { Economics } from '../../../shared/economics/economics.ts';
import { phonePowerOf } from '../../../shared/phone/intake.ts';
import { barOn, isCellFact, type PhoneState } from '../../../shared/phone/state.ts';
import { upperBound } from './bounds.ts';
import { type Plan, plan } from './plan.ts';
import { condition, entropy, outcomeChances } from './posterior.ts';
import type { CheckSpec, Problem, Tally } from './problem.ts';

/** One thing that happened in a trace. */
export type Evidence =
  | { kind: 'check'; id: string; outcome: string }
  | { kind: 'failed'; id: string }
  | { kind: 'cannot'; id: string };

export interface DecisionQuestion {
  knowledge: Knowledge;
  family: Family;
  symptoms: readonly string[];
  evidence: readonly Evidence[];
  economics: Economics;
  /** What is settled about the phone, whatever the odds say. */
  state: PhoneState;
  /** Weights of the faults in this family, learnt from closed jobs; without them the pack's own. */
  weights?: ReadonlyMap<string, number>;
}

export interface DecisionProblem {
  /** All faults the family can have, likeliest first; shares sum to 1. */
  odds: readonly { fault: Fault; share: number }[];
  /** The state as given, with the danger that the odds add to it. */
  state: PhoneState;
  /** Why a step must not be done as the phone is now; null where nothing speaks against it. */
  barOn: (step: Check | Remedy) => 'cell' | 'wet' | null;
  /** The remedy that cleans a wet phone inside; null where it is not wet, or none fits. */
  cleaning: Remedy | null;
  /** How far it is taken apart: an index of `accessLevels`. */
  reached: number;
  problem: Problem;
  /** Bench minutes, and money for parts, of each step of the problem. */
  minutes: Tally;
  parts: Tally;
  /** Share of the belief in faults too unlikely to plan for. */
  leftOut: number;
  /** What stripping leaves after the cost of selling and the time, under today's odds. */
  stripValue: number;
  stripMinutes: number;
  /** True when every check that could tell something is planned with at this step. */
  uncut: boolean;
  /** No plan whatever, with all the checks, can expect more than this. */
  limit: number;
}

/** Faults below this share are left out of the plan (not of the odds). Chosen by measurement, as the next. */
const LIVE = 0.005;
/** Most checks that are planned with at one step: those that tell most for their cost. */
const FOCUS = 14;
/** A check that tells less than this (bits) tells nothing. */
const TELLS_NOTHING = 1e-6;
/** Opening the phone serves more than one check: each bears this share of it when they are compared. */
const OPENING_SHARE = 0.3;
/**
 * Belief over all faults of the family: its weight there, times P(symptom | fault) for each symptom,
 * times P(outcome | fault) for each check and 1 - P(works | fault) for each remedy that failed (Bayes' rule; one fault at
 * a time). Null when nothing in the pack can explain what was seen.
 */
export function oddsOf(
  question: Omit<DecisionQuestion, 'economics' | 'state'> & { state?: PhoneState },
): { fault: Fault; share: number }[] | null {
  const { knowledge, family, evidence, weights, state } = question;
  // A new cell takes the old one's faults with it, and the signs that spoke of them.
  const newCell = state?.newCell ?? false;
  const symptoms = newCell
    ? question.symptoms.filter((id) => !knowledge.symptoms.get(id)?.means.some(isCellFact))
    : question.symptoms;
  const own = packWeights(knowledge, family).filter(({ fault }) => !newCell || fault.component !== CELL);
  const faults = own.map(({ fault }) => fault);
  const prior = own.map(({ fault, weight }) => weights?.get(fault.id) ?? weight);
  const likelihood = faults.map((fault) => {
    let chance = 1;
    for (const id of symptoms) {
      const seen = knowledge.symptoms.get(id)?.seen;
      if (seen) chance *= seen.faults[fault.id] ?? seen.otherwise;
    }
    for (const step of evidence) {
      if (step.kind === 'check') {
        const check = knowledge.checks.get(step.id);
        const index = check?.outcomes.findIndex((outcome) => outcome.id === step.outcome) ?? -1;
        if (check && index >= 0)
          chance *= (check.given.faults[fault.id] ?? check.given.otherwise)[index] ?? 0;
      } else if (step.kind === 'failed') {
        chance *= 1 - (knowledge.remedies.get(step.id)?.works[fault.id] ?? 0);
      }
    }
    return chance;
  });
  const belief = condition(prior, likelihood);
  if (!belief) return null;
  return faults
    .map((fault, i) => ({ fault, share: belief[i] ?? 0 }))
    .sort((a, b) => b.share - a.share || (a.fault.id < b.fault.id ? -1 : 1));
}

/** How far the phone is taken apart: as far as the deepest step that was done on it. */
const reachedIn = (knowledge: Knowledge, evidence: readonly Evidence[], state: PhoneState): number =>
  Math.max(
    state.access,
    ...evidence.flatMap((step) =>
      step.kind === 'check' || step.kind === 'failed'
        ? [
            accessLevels.indexOf(
              (knowledge.checks.get(step.id) ?? knowledge.remedies.get(step.id))?.access ?? 'closed',
            ),
          ]
        : [],
    ),
  );

/** Null when what was seen cannot be explained by any fault of the pack. */
export function decisionProblemOf(question: DecisionQuestion): DecisionProblem | null {
  const { knowledge, family, symptoms, evidence, economics } = question;
  const odds = oddsOf(question);
  if (!odds) return null;

  const unsafe = cellFaults(knowledge);
  const suspect = odds.reduce((sum, { fault, share }) => sum + (unsafe.has(fault.id) ? share : 0), 0);
  // Odds may add danger. They never take it away.
  const state: PhoneState =
    question.state.danger === 'none' && suspect >= CELL_SUSPECT
      ? { ...question.state, danger: 'suspect' }
      : question.state;
  const barred = (step: Check | Remedy) => barOn(state, safetyOf(step));

  const live = odds.filter(({ share }) => share >= LIVE);
  const kept = live.reduce((sum, { share }) => sum + share, 0);
  const deepest = state.danger === 'none' ? 2 : 0;
  const done = new Set(evidence.map((step) => step.id));
  const usable = (step: Check | Remedy) =>
    fits(family, step) &&
    barred(step) !== 'cell' &&
    accessLevels.indexOf(step.access) <= deepest &&
    !done.has(step.id);
  // Liquid bars by the state as it is now, and may be cleaned first.
  const now = { power: phonePowerOf(symptoms), open: symptoms };
  const all = [...knowledge.checks.values()].filter((check) => usable(check) && canTell(check.when, now));
  const remedies = [...knowledge.remedies.values()].filter(
    (remedy) =>
      usable(remedy) && hasAll(family, remedy) && live.some(({ fault }) => (remedy.works[fault.id] ?? 0) > 0),
  );

  const partsOf = (remedy: Remedy) =>
    remedy.parts.reduce((sum, { component, grade }) => sum + economics.part(component, grade).price, 0) +
    remedy.consumables * economics.partBase;
  const cleaning =
    state.wet === 'wet'
      ? (remedies.find(({ cleans }) => cleans) ??
        [...knowledge.remedies.values()].find((one) => one.cleans && usable(one) && hasAll(family, one)) ??
        null)
      : null;
  const sealPrice =
    family.open.breaks && 'gasket' in family.components ? economics.part('gasket', 'original').price : 0;
  const reached = reachedIn(knowledge, evidence, state);
  // A wet phone is opened and cleaned before anything that puts current through it: paid once, with the opening. What has
  // been reached already costs nothing more.
  const openMinutes = [family.open.minutes + family.close.minutes, family.board.minutes];
  const leftToOpen = openMinutes.map((minutes, k) => (cleaning && k < reached ? 0 : minutes));
  const accessMinutes = [(leftToOpen[0] ?? 0) + (cleaning?.minutes ?? 0), leftToOpen[1] ?? 0];
  const accessParts = [(cleaning && reached > 0 ? 0 : sealPrice) + (cleaning ? partsOf(cleaning) : 0), 0];
  const levelOf = (step: Check | Remedy) =>
    Math.max(accessLevels.indexOf(step.access), barred(step) === 'wet' ? 1 : 0);
  const access = accessMinutes.map((minutes, k) => minutes * economics.minute + (accessParts[k] ?? 0));
  // With liquid inside, opening alone does not open the way to what needs current.
  const level = cleaning ? 0 : reached;

  const worths = salvage(question);
  const wholeStrip = [...worths.values()].reduce((sum, one) => sum + one, 0);
  const stripMinutes =
    openMinutes.slice(reached).reduce((sum, one) => sum + one, 0) -
    (reached ? 0 : family.close.minutes) +
    STRIP_MINUTES * worths.size;
  const strip = (fault: Fault) =>
    (wholeStrip - (worths.get(fault.component) ?? 0)) * (1 - economics.sellingCost) -
    stripMinutes * economics.minute;
  const stops = [{ id: 'pass', byFault: live.map(() => 0) }];
  if (deepest === 2) stops.unshift({ id: 'strip', byFault: live.map(({ fault }) => strip(fault)) });

  const specOf = (check: Check): CheckSpec => ({
    id: check.id,
    cost: check.minutes * economics.minute,
    level: levelOf(check),
    outcomes: check.outcomes.map((outcome) => outcome.id),
    given: live.map(({ fault }) => check.given.faults[fault.id] ?? check.given.otherwise),
  });
  const whole: Problem = {
    faults: live.map(({ fault, share }) => ({ id: fault.id, prior: share / kept })),
    checks: all.map(specOf),
    remedies: remedies.map((remedy) => ({
      id: remedy.id,
      cost: remedy.minutes * economics.minute + partsOf(remedy),
      level: levelOf(remedy),
      worth: economics.takings * keepsAfter(knowledge, family, remedy),
      works: live.map(({ fault }) => remedy.works[fault.id] ?? 0),
    })),
    access,
    level,
    stops,
  };
  const telling = tellingChecks(whole, economics.minute);
  const checks = telling.slice(0, FOCUS);
  let limit: number | undefined;
  return {
    odds,
    state,
    barOn: barred,
    cleaning,
    reached,
    leftOut: 1 - kept,
    stripValue: live.reduce((sum, { fault, share }) => sum + (share / kept) * strip(fault), 0),
    stripMinutes,
    uncut: telling.length <= FOCUS,
    // Worked out where it is asked for: an appraisal does without.
    get limit() {
      limit ??= upperBound(whole);
      return limit;
    },
    problem: { ...whole, checks },
    minutes: {
      checks: checks.map(({ id }) => knowledge.checks.get(id)?.minutes ?? 0),
      remedies: remedies.map((remedy) => remedy.minutes),
      access: accessMinutes,
    },
    parts: { checks: checks.map(() => 0), remedies: remedies.map(partsOf), access: accessParts },
  };
}

/**
 * The checks that can tell something, those first that tell most for their cost: mutual information of outcome and fault
 * (Shannon 1948) over minutes and a share of the opening. One minute is added so that a free check is not boundless.
 */
function tellingChecks({ faults, checks, access, level }: Problem, minute: number): CheckSpec[] {
  const prior = faults.map((fault) => fault.prior);
  const rank = (check: CheckSpec) => {
    const chances = outcomeChances(prior, check.given);
    const told =
      entropy(chances) - prior.reduce((sum, one, f) => sum + one * entropy(check.given[f] ?? []), 0);
    const opening = access.slice(level, check.level).reduce((sum, cost) => sum + cost, 0);
    return { check, told, merit: told / (check.cost + OPENING_SHARE * opening + minute) };
  };
  return checks
    .map(rank)
    .filter(({ told }) => told > TELLS_NOTHING)
    .sort((a, b) => b.merit - a.merit || (a.check.id < b.check.id ? -1 : 1))
    .map(({ check }) => check);
}

const kept = new Map<string, Plan>();
const KEPT_MOST = 300;
/**
 * Nodes to expand: an expansion takes about size^1.25 (measured), so that a step stays near 15 ms on two slow cores. A budget
 * many times as large was seen to add little, and the plan is made again after each answer anyway.
 */
const budgetFor = ({ faults, checks, remedies }: Problem): number =>
  Math.min(150, Math.max(7, Math.round(2600 / (faults.length + checks.length + remedies.length) ** 1.25)));

/** The plan for a case. The same problem gives the same plan, so recent ones are kept. */
export function planFor({ problem }: DecisionProblem): Plan {
  const key = JSON.stringify(problem);
  const found = kept.get(key) ?? plan(problem, { expansions: budgetFor(problem) });
  kept.delete(key);
  kept.set(key, found);
  const oldest = kept.keys().next().value;
  if (kept.size > KEPT_MOST && oldest !== undefined) kept.delete(oldest);
  return found;
}
