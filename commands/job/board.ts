/** The board of the bench: what each open job needs next, and in which order they are looked at. */
import { type JobRecord, openQuestions } from '../../shared/jobs/job.ts';
import { isDue, waitingOf } from '../../shared/jobs/waiting.ts';
import type { Message } from '../../shared/language/message.ts';
import { say } from '../../shared/language/say.ts';
import type { Context } from '../framework/context.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import { dayIn } from '../shared/words.ts';
import { stateInWords, untestedOf } from './reply.ts';
import { waitWords } from './wait-words.ts';

/** What is to be done next. */
export function nextWords(context: Context, job: JobRecord): Message {
  const { danger, wet } = stateOfJob(context, job);
  const waits = waitingOf(job);
  if (danger !== 'none' || wet === 'wet') return stateInWords(context, job);
  if (waits)
    return isDue(waits, dayIn(context, context.now))
      ? say`look again: it waited for ${waitWords[waits.for]}`
      : stateInWords(context, job);
  if (openQuestions(job).length) return say`the questions before money`;
  const trace = job.trace === null ? null : context.store.traces.get(job.trace);
  if (trace?.state === 'open') return say`go on with trace ${trace.number}`;
  if (!trace && job.symptoms.length) return say`trace the fault`;
  return untestedOf(context, job).length ? say`test it` : say`hand it over or sell it`;
}

/** Dangerous and due first, then what can be done, then what waits, the soonest first. Newest first within each. */
export function boardOrder(context: Context, jobs: readonly JobRecord[]): JobRecord[] {
  const today = dayIn(context, context.now);
  const place = (job: JobRecord): string => {
    const { danger } = stateOfJob(context, job);
    if (danger === 'suspect') return '0';
    const waits = waitingOf(job);
    if (!waits) return '2';
    return isDue(waits, today) ? '1' : `3 ${waits.until ?? '9999'}`;
  };
  const placed = jobs.map((job) => ({ job, place: place(job) }));
  return placed
    .sort((a, b) => (a.place < b.place ? -1 : a.place > b.place ? 1 : b.job.number - a.job.number))
    .map(({ job }) => job);
}
