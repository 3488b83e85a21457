/**
 * A phone on the bench as a decision with several possible faults: `setCaseOf` reads what was said, seen and done into belief
 * (`bench-belief.ts`) and lays out what can be done as a `SetProblem`; `planOf` (`kept-plans.ts`) plans it.
 *
 * Hypotheses are sets of the faults that can show something open; other faults change nothing that is sold and are left out
 * of the plan, not of the belief. Known damage (glass that is seen to be cracked) is open work under every hypothesis: it is
 * priced once, mended or told to the buyer, and is no evidence of anything else.
 */

import type { Check, Remedy } from '../../../knowledge/schema.ts';
import type { PhoneState } from '../../phone/state.ts';
import { shownUnder } from './belief.ts';
import { type BenchBelief, beliefOf } from './bench-belief.ts';
import { limitsOf } from './limits.ts';
import { type OpenWork, observablesOf, openWork, type PlannedWork } from './open-work.ts';
import { checksOf, firstsOf, focus } from './planned-checks.ts';
import { fittingRemedies, partsOf, remedyIn, shareLeft, usefulRemedies, wayIn } from './planned-remedies.ts';
import { hypothesesOf, knowledgeComplaints } from './planned-sets.ts';
import type { SetCaseQuestion } from './set-case-question.ts';
import type { SetTally } from './set-policy.ts';
import type { Hypothesis, OpenComplaint, SetProblem } from './set-problem.ts';
import { strippingOf } from './stripping.ts';

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

/** More than this open are not told apart: those that cost least of the worth are taken to stay. */
const MOST_OPEN_PLANNED = 6;

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
