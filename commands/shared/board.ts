/** The board of the bench: what each open job needs next, and in which order they are looked at. */
import { type JobRecord, listingOf, openQuestions } from '../../shared/jobs/job.ts';
import { isDue, waitingOf } from '../../shared/jobs/waiting.ts';
import type { Message } from '../../shared/language/message.ts';
import { say } from '../../shared/language/say.ts';
import { amount } from '../../shared/money/money.ts';
import type { PhoneState } from '../../shared/phone/state.ts';
import type { Context } from '../framework/context.ts';
import { stateInWords, untestedOf } from './job-words.ts';
import { stateOfJob } from './phone-state.ts';
import { waitWords } from './wait-words.ts';
import { dayIn, dayOf } from './words.ts';

/** A job with the state of its phone, which is folded once from all that happened to it. */
export interface OnBoard {
  job: JobRecord;
  phone: PhoneState;
}
export const onBoard = (context: Context, job: JobRecord): OnBoard => ({
  job,
  phone: stateOfJob(context, job),
});

/** What is to be done next. */
export function nextWords(context: Context, { job, phone }: OnBoard): Message {
  const { danger, wet } = phone;
  const waits = waitingOf(job);
  if (danger !== 'none' || wet === 'wet') return stateInWords(context, job, phone);
  if (waits)
    return isDue(waits, dayIn(context, context.now))
      ? say`look again: it waited for ${waitWords[waits.for]}`
      : stateInWords(context, job, phone);
  if (openQuestions(job).length) return say`the questions before money`;
  const listed = listingOf(job);
  if (listed) return say`offered for ${amount(listed.asked)} since ${dayOf(context, listed.since)}`;
  const trace = job.trace === null ? null : context.store.traces.get(job.trace);
  if (trace?.state === 'open') return say`go on with trace ${trace.number}`;
  if (!trace && job.symptoms.length) return say`trace the fault`;
  return untestedOf(context, job).length ? say`test it` : say`hand it over or sell it`;
}

/** Dangerous and due first, then what can be done, then what waits, the soonest first. Newest first within each. */
export function boardOrder(context: Context, jobs: readonly JobRecord[]): OnBoard[] {
  const today = dayIn(context, context.now);
  const place = ({ job, phone }: OnBoard): string => {
    if (phone.danger === 'suspect') return '0';
    const waits = waitingOf(job);
    if (!waits) return '2';
    return isDue(waits, today) ? '1' : `3 ${waits.until ?? '9999'}`;
  };
  const placed = jobs.map((job) => onBoard(context, job)).map((one) => ({ one, at: place(one) }));
  return placed
    .sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : b.one.job.number - a.one.job.number))
    .map(({ one }) => one);
}
