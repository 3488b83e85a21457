/** What was said of a phone besides its symptoms, as evidence. */
import type { Family } from '../../knowledge/schema.ts';
import type { BenchEvent } from '../../shared/diagnosis/sets/bench-belief.ts';
import { eventsOfAnswer } from '../../shared/diagnosis/sets/next-step.ts';
import type { PhoneEvent } from '../../shared/phone/event.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import type { PhoneState } from '../../shared/phone/state.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { mustHave } from './must-have.ts';
import { type CheckDone, foundThatFit } from './words-options.ts';

export interface SaidBesides {
  /** Symptoms that it is said not to have. */
  denied: readonly string[];
  /** Components that are said to be broken. */
  damage: readonly string[];
  /** Checks that were done before they were asked. */
  found: readonly CheckDone[];
}

/** Refuses components that this family has not. */
export function checkDamage(context: Context, family: Family, damage: readonly string[]): void {
  for (const id of damage) mustHave(context, family, id, 'damage');
}

/** What is denied, and what checks showed, for the belief. */
export const toldEvents = (
  { knowledge }: Context,
  family: Family,
  { denied, found }: SaidBesides,
): BenchEvent[] => [
  ...denied.map((id): BenchEvent => ({ kind: 'denied', id })),
  ...foundThatFit(knowledge, family, found).map(
    ({ check, outcome }): BenchEvent => ({ kind: 'check', id: check, outcome }),
  ),
];

/** The same, as what a job keeps of its phone. */
export const toldOfJob = (context: Context, family: Family, said: SaidBesides): PhoneEvent[] =>
  toldEvents(context, family, said).flatMap((event): PhoneEvent[] =>
    event.kind === 'denied'
      ? [{ kind: 'told', what: 'denied', id: event.id, outcome: null, after: null }]
      : event.kind === 'check'
        ? [{ kind: 'told', what: 'check', id: event.id, outcome: event.outcome, after: null }]
        : [],
  );

/** The facts that what was found states: wet, swollen. */
export const eventsOfFound = (
  { knowledge }: Context,
  family: Family,
  found: readonly CheckDone[],
): PhoneEvent[] =>
  foundThatFit(knowledge, family, found).flatMap(({ check, outcome }) => {
    const known = knowledge.checks.get(check);
    return known ? eventsOfAnswer(known, outcome) : [];
  });

/** The state of a phone of which no more is known than what was said. */
export const stateOfSaid = (
  context: Context,
  family: Family,
  symptoms: readonly string[],
  { found }: SaidBesides,
): PhoneState =>
  phoneStateOf(
    context.knowledge,
    symptoms,
    eventsOfFound(context, family, found).map((event) => ({
      seq: 0,
      event,
      by: actorOf(context),
      at: context.now,
      withdrawn: null,
    })),
  );
