/** What comes next for a phone: the best step of the plan, held to the rules of the bench and to what its state allows. */
import {
  accessLevels,
  type Check,
  type Family,
  type Hazard,
  type Remedy,
} from '../../../knowledge/schema.ts';
import type { PhoneEvent } from '../../phone/event.ts';
import { factsOf } from '../../phone/state.ts';
import { planOf } from './kept-plans.ts';
import { nextSetStep, type SetStep } from './next-set-step.ts';
import type { SetCase } from './set-case.ts';
import type { SetCaseQuestion } from './set-case-question.ts';
import type { SetPlan } from './set-plan.ts';
import { SELL, type SetAction } from './set-problem.ts';

export type NextStep =
  /** The cell comes before everything else. */
  | { kind: 'danger' }
  /** `why`: the plan's own step, a look that comes first, or a look at the component before money goes into it. */
  | { kind: 'check'; check: Check; action: SetAction; plan: SetPlan; why: SetStep['why'] }
  /** `first`: it is wet, and is cleaned before the step that would pay most. */
  | { kind: 'remedy'; remedy: Remedy; action: SetAction; plan: SetPlan; first: boolean }
  /** It is wet, and no remedy of the pack cleans this one: it has to be said that it is clean and dry. */
  | { kind: 'dry'; plan: SetPlan }
  /** All that was said to be wrong is gone. */
  | { kind: 'done'; plan: SetPlan }
  | { kind: 'stop'; action: SetAction; plan: SetPlan };

/** `goOn`: the best step even where stopping is worth more. */
export function nextStep(question: SetCaseQuestion, found: SetCase, goOn = false): NextStep {
  if (found.state.danger !== 'none') return { kind: 'danger' };
  const { checks, remedies } = question.knowledge;
  const plan = planOf(found);
  if (found.open.length === 0) return { kind: 'done', plan };
  const own = nextSetStep(question, found);
  const forced =
    goOn && own.action.kind === 'end'
      ? plan.alternatives.find((one) => one.action.kind !== 'end')?.action
      : undefined;
  const action = forced ?? own.action;
  const check = action.kind === 'check' ? checks.get(action.id) : undefined;
  const remedy = action.kind === 'remedy' ? remedies.get(action.id) : undefined;
  const step = check ?? remedy;
  if (!step) return { kind: 'stop', action, plan };
  const instead = insteadOf(found, step);
  if (instead === 'dry') return { kind: 'dry', plan };
  if (instead !== null)
    return {
      kind: 'remedy',
      remedy: instead,
      action: { kind: 'remedy', id: instead.id },
      plan,
      first: true,
    };
  if (check) return { kind: 'check', check, action, plan, why: own.why };
  if (remedy) return { kind: 'remedy', remedy, action, plan, first: false };
  return { kind: 'stop', action, plan };
}

/**
 * What comes instead of a step that the state of the phone bars: the cleaning of a wet phone, or that somebody says that it
 * is clean and dry. Null where nothing bars it.
 */
export function insteadOf(found: SetCase, step: Check | Remedy): Remedy | 'dry' | null {
  if (found.barOn(step) === null) return null;
  const { cleaning } = found;
  return cleaning && !found.belief.done.has(cleaning.id) ? cleaning : 'dry';
}

/** The expected net of a plan's best way of ending now: selling as it is, or one of the other ends. */
export const netOfStopping = ({ alternatives }: SetPlan): number =>
  Math.max(0, ...alternatives.flatMap(({ action, lower }) => (action.kind === 'end' ? [lower] : [])));

export const isSelling = (action: SetAction): boolean => action.kind === 'end' && action.id === SELL;

/** Hazards of a step and of getting to it from the level reached (an index of `accessLevels`). */
export function hazardsOfStep(family: Family, from: number, step: Check | Remedy): Hazard[] {
  const to = accessLevels.indexOf(step.access);
  const closes = !('outcomes' in step) && (to > 0 || from > 0);
  return [
    ...step.hazards,
    ...(from < 1 && to >= 1 ? family.open.hazards : []),
    ...(from < 2 && to >= 2 ? family.board.hazards : []),
    ...(closes ? family.close.hazards : []),
  ];
}

/** What an answer says of the state of the phone, whatever it does to the odds. */
export function eventsOfAnswer(step: Check | Remedy, outcome: string): PhoneEvent[] {
  if ('outcomes' in step)
    return factsOf(step.outcomes.find(({ id }) => id === outcome)?.means ?? [], 'outcome', step.id);
  return step.cleans ? [{ kind: 'safety', step: 'cleaned', who: '' }] : [];
}
