/** The state of the phone that a job or a trace is about: where it is kept, and how it changes. */

import { type JobRecord, tracesOfJob } from '../../shared/jobs/job.ts';
import type { LoggedPhoneEvent, PhoneEvent } from '../../shared/phone/event.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import { isCellFact, type PhoneState } from '../../shared/phone/state.ts';
import type { PhoneSubject, TraceRecord } from '../../shared/store/index.ts';
import { actorOf, type Context } from '../framework/context.ts';

/** A trace of a job speaks of the job's phone; one without a job has a phone of its own. */
export function subjectOfTrace({ store }: Context, trace: TraceRecord): PhoneSubject {
  const job = store.jobs.ofTrace(trace.number);
  return job ? { kind: 'job', number: job.number } : { kind: 'trace', number: trace.number };
}
export const subjectOfJob = ({ number }: JobRecord): PhoneSubject => ({ kind: 'job', number });

/** What was stated in a trace; one from before phones had a state says there that the cell was isolated. */
const eventsOfTrace = ({ store }: Context, { number, steps }: TraceRecord): LoggedPhoneEvent[] => [
  ...steps.flatMap((step): LoggedPhoneEvent[] =>
    step.kind === 'confirm' && !step.undone
      ? [
          {
            seq: 0,
            event: { kind: 'safety', step: 'isolated', who: '' },
            by: step.by,
            at: step.at,
            withdrawn: null,
          },
        ]
      : [],
  ),
  ...store.phoneEvents.list({ kind: 'trace', number }),
];

/** All that was ever stated of a job's phone, in the job and in each of its traces. */
export function stateOfJob(context: Context, job: JobRecord, more: readonly string[] = []): PhoneState {
  const { knowledge, store } = context;
  const traces = tracesOfJob(job).flatMap((number) => store.traces.get(number) ?? []);
  const logged = [
    ...store.phoneEvents.list(subjectOfJob(job)),
    ...traces.flatMap((trace) => eventsOfTrace(context, trace)),
  ].sort((a, b) => a.at.getTime() - b.at.getTime());
  const symptoms = [...new Set([...job.symptoms, ...traces.flatMap((trace) => trace.symptoms), ...more])];
  return phoneStateOf(knowledge, symptoms, logged, { by: job.openedBy, at: job.at });
}

/** `more`: symptoms that are named besides, and not written down. */
export function stateOfTrace(context: Context, trace: TraceRecord, more: readonly string[] = []): PhoneState {
  const { knowledge, store } = context;
  const job = store.jobs.ofTrace(trace.number);
  if (job) return stateOfJob(context, job, more);
  const logged = eventsOfTrace(context, trace);
  return phoneStateOf(knowledge, [...new Set([...trace.symptoms, ...more])], logged, {
    by: trace.startedBy,
    at: trace.at,
  });
}

/**
 * Writes what happened to a phone. A sign of danger, or liquid, makes every caution be said whole again.
 */
export function addPhoneEvents(context: Context, subject: PhoneSubject, events: readonly PhoneEvent[]): void {
  const { store, now } = context;
  if (!events.length) return;
  store.phoneEvents.add(subject, events, { by: actorOf(context), at: now });
  if (events.some((event) => event.kind === 'fact' && (isCellFact(event.fact) || event.fact === 'wet')))
    store.cautionsShown.forget(subject);
}

/** Those symptoms that have not been written down as facts of this phone yet. */
export function newlySaid({ store }: Context, trace: TraceRecord, symptoms: readonly string[]): string[] {
  const job = store.jobs.ofTrace(trace.number);
  const said = job ? store.phoneEvents.list(subjectOfJob(job)) : [];
  return symptoms.filter(
    (id) =>
      !said.some(({ event }) => event.kind === 'fact' && event.ground === 'symptom' && event.ref === id),
  );
}
