/** What the symptoms of a phone say of its state, before anything was done. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { LoggedPhoneEvent, PhoneEvent } from './event.ts';
import { factsOf, type PhoneState, type PowerState, stateAfter } from './state.ts';

/** The facts that symptoms state, as events. */
export const eventsOfSymptoms = (
  { symptoms }: Pick<Knowledge, 'symptoms'>,
  ids: readonly string[],
): PhoneEvent[] => ids.flatMap((id) => factsOf(symptoms.get(id)?.means ?? [], 'symptom', id));

/** What can be observed of a phone with these symptoms: nothing of one that is dead. */
export function phonePowerOf(ids: readonly string[]): PowerState {
  if (ids.includes('dead')) return 'dead';
  if (ids.includes('boot-loop') || ids.includes('stuck-at-start')) return 'starts';
  return 'unknown';
}

/**
 * The state by symptoms alone, or by symptoms and what was logged since. A symptom that has an event of its own counts by
 * that event, which may have been withdrawn.
 */
export function phoneStateOf(
  knowledge: Pick<Knowledge, 'symptoms'>,
  symptoms: readonly string[],
  logged: readonly LoggedPhoneEvent[] = [],
  { by, at }: Pick<LoggedPhoneEvent, 'by' | 'at'> = { by: { key: null, name: '' }, at: new Date(0) },
  access = 0,
): PhoneState {
  const own = new Set(
    logged.flatMap(({ event }) => (event.kind === 'fact' && event.ground === 'symptom' ? [event.ref] : [])),
  );
  const stated = eventsOfSymptoms(
    knowledge,
    symptoms.filter((id) => !own.has(id)),
  ).map((event): LoggedPhoneEvent => ({ seq: 0, event, by, at, withdrawn: null }));
  return stateAfter([...stated, ...logged], { power: phonePowerOf(symptoms), access });
}
