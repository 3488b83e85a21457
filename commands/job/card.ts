/**
 * The card of a job in its thread: one message that is edited as the job moves. Words that people wrote are not on it, so that none is
 * left there when they are removed.
 */
import { type JobRecord, jobStateOf } from '../../shared/jobs/job.ts';
import { waitingOf } from '../../shared/jobs/waiting.ts';
import type { Message } from '../../shared/language/message.ts';
import { listWords, packText, plain, say, verbatim } from '../../shared/language/say.ts';
import type { Context } from '../framework/context.ts';
import { type DraftBlock, facts } from '../framework/reply.ts';
import { symptomsNow } from '../shared/find-trace.ts';
import { stateInWords } from '../shared/job-words.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import { waitInWords } from '../shared/wait-words.ts';
import { dayOf } from '../shared/words.ts';
import type { JobDraft } from './job-data.ts';
import { moneyFacts } from './job-money.ts';
import { jobHeading, jobReply } from './reply.ts';

/** Where a job stands, for the tag of its post: what it waits for counts as a state of its own. */
export type CardState = ReturnType<typeof jobStateOf> | 'waiting';
export const cardStateWords: Readonly<Record<CardState, Message>> = {
  intake: say`at intake`,
  held: say`held`,
  bench: say`on the bench`,
  testing: say`being tested`,
  listed: say`offered for sale`,
  waiting: say`waiting`,
  closed: say`closed`,
};

export function cardStateOf(context: Context, job: JobRecord): CardState {
  const state = jobStateOf(job, stateOfJob(context, job));
  return state !== 'closed' && state !== 'held' && waitingOf(job) ? 'waiting' : state;
}

/** "waits for a part until 2026-03-09", without what was said of it. */
function standsNow(context: Context, job: JobRecord): Message {
  const waits = cardStateOf(context, job) === 'waiting' ? waitingOf(job) : null;
  return waits ? waitInWords({ ...waits, note: '' }) : stateInWords(context, job);
}

function whoFacts(context: Context, job: JobRecord): DraftBlock {
  const shown = job.ended ? job.symptoms : symptomsNow(context, job);
  const symptoms = shown.map((id) => packText(context.knowledge.symptoms.get(id)?.name ?? id));
  const waits = waitingOf(job);
  return facts([
    [say`Held by`, verbatim(job.holder.name)],
    ...(symptoms.length ? [[say`Shows`, listWords(symptoms)] as const] : []),
    ...(waits && !job.ended
      ? [
          [
            say`Waits`,
            say`${waitInWords({ ...waits, note: '' })}, as ${verbatim(waits.by.name)} said on ${dayOf(context, waits.since)}`,
          ] as const,
        ]
      : []),
  ]);
}

/** `path`: what was answered in its trace by whom, what is settled and what is left. */
export function jobCard(context: Context, job: JobRecord, path: readonly DraftBlock[]): JobDraft {
  return jobReply(context, job, {
    title: plain`${jobHeading(context, job)}: ${standsNow(context, job)}`,
    blocks: [whoFacts(context, job), ...path, ...(job.ended ? [moneyFacts(context, job)] : [])],
  });
}
