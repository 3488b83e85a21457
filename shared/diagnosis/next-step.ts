/** What comes next for a phone: the best step of the plan, held to what its state allows. */
import { accessLevels, type Check, type Family, type Hazard, type Remedy } from '../../knowledge/schema.ts';
import type { PhoneEvent } from '../phone/event.ts';
import { factsOf } from '../phone/state.ts';
import { type DecisionProblem, planFor } from './decision-problem.ts';
import type { Plan } from './plan.ts';
import type { PlanAction } from './problem.ts';

export type NextStep =
  /** The cell comes before everything else. */
  | { kind: 'danger' }
  | { kind: 'check'; check: Check; action: PlanAction; plan: Plan }
  /** `first`: it is wet, and is cleaned before the step that would pay most. */
  | { kind: 'remedy'; remedy: Remedy; action: PlanAction; plan: Plan; first: boolean }
  /** It is wet, and no remedy of the pack cleans this one: it has to be said that it is clean and dry. */
  | { kind: 'dry'; plan: Plan }
  | { kind: 'stop'; action: PlanAction; plan: Plan };

type Steps = Pick<
  { checks: ReadonlyMap<string, Check>; remedies: ReadonlyMap<string, Remedy> },
  'checks' | 'remedies'
>;

/** `goOn`: the best step even where stopping is worth more. */
export function nextStep(found: DecisionProblem, { checks, remedies }: Steps, goOn = false): NextStep {
  if (found.state.danger !== 'none') return { kind: 'danger' };
  const plan = planFor(found);
  const forced = goOn ? plan.alternatives.find((one) => one.action.kind !== 'stop')?.action : undefined;
  const action = forced ?? plan.action;
  const check = action.kind === 'check' ? checks.get(action.id) : undefined;
  const remedy = action.kind === 'remedy' ? remedies.get(action.id) : undefined;
  const step = check ?? remedy;
  if (!step) return { kind: 'stop', action, plan };
  if (found.barOn(step) !== null) {
    const { cleaning } = found;
    if (!cleaning) return { kind: 'dry', plan };
    return {
      kind: 'remedy',
      remedy: cleaning,
      action: { kind: 'remedy', id: cleaning.id },
      plan,
      first: true,
    };
  }
  if (check) return { kind: 'check', check, action, plan };
  if (remedy) return { kind: 'remedy', remedy, action, plan, first: false };
  return { kind: 'stop', action, plan };
}

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
