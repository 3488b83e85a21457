/**
 * The next step for a phone where several faults may be present: the plan's, held to two rules of the bench. The closed looks
 * that belong to a complaint come before a closed phone is opened or money is spent on it; and no part is bought or fitted before the
 * closed look at the same component. What a rule costs against the plan is told.
 */

import { fits } from '../../../knowledge/features.ts';
import { accessLevels, type Check, type Remedy } from '../../../knowledge/schema.ts';
import { phonePowerOf } from '../../phone/intake.ts';
import { canTell } from '../observable.ts';
import { planOf } from './kept-plans.ts';
import { firstsOf } from './planned-checks.ts';
import type { SetCase } from './set-case.ts';
import type { SetCaseQuestion } from './set-case-question.ts';
import type { SetPlan } from './set-plan.ts';
import type { SetAction } from './set-problem.ts';

export interface SetStep {
  readonly action: SetAction;
  /** `plan`: it pays most. `first`: a look that comes first. `eyes`: a look at the component before money goes into it. */
  readonly why: 'plan' | 'first' | 'eyes';
  /** Expected net that the rule costs, >= 0, in the problem's money; 0 for the plan's own step. */
  readonly price: number;
  readonly plan: SetPlan;
}

/** Looks longer than this are not asked for before money is spent, in minutes. */
const SHORT_LOOK = 2;
/** A check looks at a component when one of its faults moves the chance of some outcome by at least this. */
const LOOKS = 0.4;

/** How much a check would part the faults as they are believed: sum of P(fault) times the largest move of an outcome. */
const tells = ({ given }: Check, { belief }: SetCase): number =>
  belief.odds.reduce((sum, { fault, share }) => {
    const row = given.faults[fault.id];
    return row
      ? sum + share * Math.max(...row.map((chance, o) => Math.abs(chance - (given.otherwise[o] ?? 0))))
      : sum;
  }, 0);

/** True where a closed, short check tells a fault of the component from none. */
export const looksAt = (knowledge: SetCaseQuestion['knowledge'], check: Check, component: string): boolean =>
  check.access === 'closed' &&
  check.minutes <= SHORT_LOOK &&
  Object.entries(check.given.faults).some(
    ([fault, row]) =>
      knowledge.faults.get(fault)?.component === component &&
      row.some((chance, o) => Math.abs(chance - (check.given.otherwise[o] ?? 0)) >= LOOKS),
  );

export function nextSetStep(question: SetCaseQuestion, found: SetCase): SetStep {
  const { knowledge, family, economics } = question;
  const plan = planOf(found);
  const { action } = plan;
  const own: SetStep = { action, why: 'plan', price: 0, plan };
  const step: Check | Remedy | undefined =
    action.kind === 'check' ? knowledge.checks.get(action.id) : knowledge.remedies.get(action.id);
  if (action.kind === 'end' || !step) return own;
  const parts = 'parts' in step ? step.parts : [];
  const opens = accessLevels.indexOf(step.access) > found.reached;
  if (!opens && parts.length === 0) return own;

  const open = found.open.flatMap(({ kind, ref }) => (kind === 'symptom' ? [ref] : []));
  const now = { power: phonePowerOf(open), open };
  const can = (check: Check): boolean =>
    fits(family, check) &&
    check.access === 'closed' &&
    found.barOn(check) === null &&
    !found.belief.done.has(check.id) &&
    canTell(check.when, now);
  const rule = (check: Check, why: 'first' | 'eyes'): SetStep => {
    const known = plan.alternatives.find((one) => one.action.kind === 'check' && one.action.id === check.id);
    const price = known ? plan.value - known.lower : check.minutes * economics.minute;
    return { action: { kind: 'check', id: check.id }, why, price: Math.max(0, price), plan };
  };
  // Once it lies open they have missed their time: the plan asks those that still tell something.
  for (const { check: id, isWish } of found.reached === 0 ? firstsOf(question, found.belief) : []) {
    const check = knowledge.checks.get(id);
    const planned = isWish || found.problem.checks.some((one) => one.id === id);
    if (check && planned && can(check)) return rule(check, 'first');
  }
  for (const { component } of parts) {
    const looks = [...knowledge.checks.values()].filter((check) => looksAt(knowledge, check, component));
    // One look is enough, done or declined.
    if (looks.some(({ id }) => found.belief.done.has(id))) continue;
    const [look] = looks
      .filter(can)
      .sort((a, b) => tells(b, found) - tells(a, found) || (a.id < b.id ? -1 : 1));
    if (look) return rule(look, 'eyes');
  }
  return own;
}
