/** What may be done to a phone as its state is now, and how far it lies open. */
import { fits } from '../../../knowledge/features.ts';
import { accessLevels, type Check, type Remedy } from '../../../knowledge/schema.ts';
import { barOn, type PhoneState } from '../../phone/state.ts';
import { CELL_SUSPECT, cellFaults, safetyOf } from '../family-facts.ts';
import { WET } from '../observable.ts';
import type { BenchBelief } from './bench-belief.ts';
import type { SetCaseQuestion } from './set-case-question.ts';

/** What the state of the phone leaves to do. */
export interface Limits {
  /** With the danger that the odds add: they never take it away. */
  readonly state: PhoneState;
  readonly wet: boolean;
  readonly reached: number;
  /** The deepest level that may be worked at: a cell that is suspect keeps the phone closed. */
  readonly deepest: number;
  barred(step: Check | Remedy): 'cell' | 'wet' | null;
  usable(step: Check | Remedy): boolean;
  /** An index of `accessLevels`; with liquid inside, what needs current waits until it is open and cleaned. */
  levelOf(step: Check | Remedy): number;
}

export function limitsOf(question: SetCaseQuestion, belief: BenchBelief): Limits {
  const { knowledge, family } = question;
  const unsafe = cellFaults(knowledge);
  const suspect =
    1 - belief.odds.reduce((none, one) => (unsafe.has(one.fault.id) ? none * (1 - one.share) : none), 1);
  const state: PhoneState =
    question.state.danger === 'none' && suspect >= CELL_SUSPECT
      ? { ...question.state, danger: 'suspect' }
      : question.state;
  const barred = (step: Check | Remedy) => barOn(state, safetyOf(step));
  const deepest = state.danger === 'none' ? 2 : 0;
  const wet = state.wet === 'wet';
  const byWet = (step: Check | Remedy) =>
    wet && (barred(step) === 'wet' || ('when' in step && (step.when?.not?.includes(WET) ?? false)));
  return {
    ...{ state, wet, deepest, barred },
    reached: reachedIn(question, belief),
    usable: (step) =>
      fits(family, step) &&
      barred(step) !== 'cell' &&
      accessLevels.indexOf(step.access) <= deepest &&
      !belief.done.has(step.id),
    levelOf: (step) => Math.max(accessLevels.indexOf(step.access), byWet(step) ? 1 : 0),
  };
}

/** How far the phone is taken apart: as far as somebody said last, and the deepest step that was done on it since. */
function reachedIn({ knowledge, events, state }: SetCaseQuestion, { idle }: BenchBelief): number {
  let reached = state.access;
  for (const event of events) {
    if (event.kind === 'reached') reached = Math.max(0, accessIndex(event.id));
    if ((event.kind !== 'check' && event.kind !== 'remedy') || idle.includes(event)) continue;
    const step = knowledge.checks.get(event.id) ?? knowledge.remedies.get(event.id);
    reached = Math.max(reached, accessIndex(step?.access ?? 'closed'));
  }
  return reached;
}
const accessNames: readonly string[] = accessLevels;
const accessIndex = (access: string): number => accessNames.indexOf(access);
