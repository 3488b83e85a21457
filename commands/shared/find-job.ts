/** The job that is meant, and an answer about it that can be given next. */

import type { JobRecord } from '../../shared/jobs/job.ts';
import { whyClosed } from '../../shared/jobs/rules.ts';
import type { Message } from '../../shared/language/message.ts';
import { plain, say, verbatim } from '../../shared/language/say.ts';
import type { Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import { lookupOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import type { DraftChoice } from '../framework/reply.ts';
import { jobs } from './lookups.ts';

export const jobOption = optional(
  lookupOption({
    summary: say`The number of the job; without it, the newest that you hold`,
    example: '12',
    lookup: jobs,
  }),
);

/** The job that is named, else the newest open one that the asker holds, else the only open one. */
export function jobMeant(context: Context, named: Named | undefined): JobRecord {
  const { store, person } = context;
  if (named) {
    const found = store.jobs.get(Number(named.id));
    if (found) return found;
    throw new Refusal({
      code: 'not-found',
      problem: say`There is no job ${verbatim(named.id)} here.`,
      expected: say`a number from /job list`,
      option: 'job',
    });
  }
  const [own] = store.jobs.listOpen({ holderKey: person.key, limit: 1 });
  if (own) return own;
  const open = store.jobs.listOpen({ limit: 2 });
  const [only] = open;
  if (only && open.length === 1) return only;
  throw new Refusal(
    only
      ? {
          code: 'missing-option',
          problem: say`You hold no job, and several are open.`,
          expected: say`job: and its number, from /job list`,
          example: `/job show job:${only.number}`,
        }
      : {
          code: 'wrong-state',
          problem: say`No job is open.`,
          expected: say`a new one`,
          example: '/job open "Orrin K3" came:given',
        },
  );
}

/** The job that is meant, where something is to be added to it. */
export function openJobMeant(context: Context, named: Named | undefined): JobRecord {
  const job = jobMeant(context, named);
  const closed = whyClosed(job);
  if (closed)
    throw new Refusal({ code: 'wrong-state', problem: plain`${closed.problem}.`, expected: closed.expected });
  return job;
}

/** The entry of that number. Refusal where the job has none. */
export function entryMeant(job: JobRecord, seq: number): JobRecord['entries'][number] {
  const found = job.entries.find((one) => one.seq === seq);
  if (found) return found;
  throw new Refusal({
    code: 'not-found',
    problem: say`Job ${job.number} has no entry ${seq}.`,
    expected: say`a number from /job show job:${job.number}`,
    option: 'entry',
  });
}

export function jobChoice(
  job: JobRecord,
  label: Message,
  action: string,
  options: Readonly<Record<string, string>> = {},
): DraftChoice {
  return {
    label,
    invoke: { command: 'job', action, options: { ...options, job: String(job.number) } },
    subject: `job:${job.number}`,
    revision: job.revision,
    open: true,
  };
}
