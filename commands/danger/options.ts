/** The phone that `/danger` speaks of, and what it answers once something was written down. */

import type { Message } from '../../shared/language/message.ts';
import { say } from '../../shared/language/say.ts';
import type { PhoneEvent, SafetyStep } from '../../shared/phone/event.ts';
import type { PhoneState } from '../../shared/phone/state.ts';
import type { PhoneSubject, Store } from '../../shared/store/index.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import { integerOption, lookupOption, optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { jobs } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import {
  addPhoneEvents,
  stateOfJob,
  stateOfTrace,
  subjectOfJob,
  subjectOfTrace,
} from '../shared/phone-state.ts';
import { dangerData, dangerState } from './reply.ts';

export const subjectOptions = {
  job: optional(
    lookupOption({
      summary: say`The job of the phone; without it, your newest open trace or job`,
      example: '12',
      lookup: jobs,
    }),
  ),
  trace: optional(
    integerOption({
      summary: say`The trace of the phone, where it has no job`,
      example: '3',
      min: 1,
      max: 1e9,
    }),
  ),
};

/** A phone that is spoken of, with its state. */
export interface Spoken {
  subject: PhoneSubject;
  state: PhoneState;
}

const revisionOf = (store: Store, { kind, number }: PhoneSubject): number =>
  (kind === 'job' ? store.jobs.get(number) : store.traces.get(number))?.revision ?? 0;

/** The state of a subject as it stands now. */
export function spokenOf(context: Context, subject: PhoneSubject): Spoken & { revision: number } {
  const { store } = context;
  const revision = revisionOf(store, subject);
  if (subject.kind === 'job') {
    const job = store.jobs.get(subject.number);
    if (job) return { subject, state: stateOfJob(context, job), revision };
  }
  const trace = subject.kind === 'trace' ? store.traces.get(subject.number) : null;
  if (trace) return { subject, state: stateOfTrace(context, trace), revision };
  throw new Refusal({
    code: 'not-found',
    problem:
      subject.kind === 'job'
        ? say`There is no job ${subject.number} here.`
        : say`There is no trace ${subject.number} here.`,
    expected: say`a number from /job list or /trace list`,
    option: subject.kind,
  });
}

/** The phone that is named, else the one of the asker's newest open trace or job; null where there is none. */
export function subjectMeant(
  context: Context,
  { job, trace }: { job?: Named | undefined; trace?: number | undefined },
): PhoneSubject | null {
  const { store, person } = context;
  if (job) return spokenOf(context, { kind: 'job', number: Number(job.id) }).subject;
  if (trace !== undefined) {
    const found = store.traces.get(trace);
    if (found) return subjectOfTrace(context, found);
    return spokenOf(context, { kind: 'trace', number: trace }).subject;
  }
  const traces = store.traces.listOpen();
  const own =
    traces.find(({ startedBy }) => startedBy.key === person.key) ??
    (traces.length === 1 ? traces[0] : undefined);
  if (own) return subjectOfTrace(context, own);
  const [held] = store.jobs.listOpen({ holderKey: person.key, limit: 1 });
  const open = held ? [held] : store.jobs.listOpen({ limit: 2 });
  const [only] = open;
  return only && open.length === 1 ? subjectOfJob(only) : null;
}

/** Writes events down and answers with the state that follows. */
export function write(context: Context, subject: PhoneSubject, events: readonly PhoneEvent[]) {
  addPhoneEvents(context, subject, events);
  return dangerState(context, spokenOf(context, subject));
}

export function mustBeMeant(
  context: Context,
  given: { job?: Named | undefined; trace?: number | undefined },
): PhoneSubject {
  const subject = subjectMeant(context, given);
  if (subject) return subject;
  throw new Refusal({
    code: 'missing-option',
    problem: say`Which phone is it?`,
    expected: say`job: or trace: and its number`,
    option: 'job',
  });
}

/** An action that says what was done to make a phone safe. */
export const safetyAction = (
  step: SafetyStep,
  {
    summary,
    wanted,
    problem,
  }: {
    summary: Message;
    /** True where the step fits the state. */
    wanted: (state: PhoneState) => boolean;
    problem: Message;
  },
) =>
  defineAction({
    summary: summary,
    who: 'member',
    options: {
      who: optional(
        textOption({
          summary: say`Who did it, where it was somebody else`,
          example: 'the battery service',
          max: 80,
        }),
      ),
      ...subjectOptions,
    },
    needs: [needs.job],
    examples: [`/danger ${step} job:12`],

    data: dangerData,
    refuses: ['missing-option', 'not-found', 'wrong-state'],
    run: ({ who = '', job, trace }, context) => {
      const subject = mustBeMeant(context, { job, trace });
      const { state } = spokenOf(context, subject);
      if (!wanted(state)) {
        throw new Refusal({
          code: 'wrong-state',
          problem,
          expected: say`what is true of it now`,
          example: `/danger show ${subject.kind}:${subject.number}`,
        });
      }
      return write(context, subject, [{ kind: 'safety', step, who }]);
    },
  });
