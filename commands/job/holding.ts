/** `/job list`, `/job take` and `/job hand`: who holds what. */
import { z } from 'zod';
import type { JobRecord } from '../../shared/jobs/job.ts';
import { counted, say } from '../../shared/language/say.ts';
import { defineAction } from '../command.ts';
import type { Context } from '../context.ts';
import { people } from '../lookup.ts';
import { lookupOption } from '../option.ts';
import { Refusal } from '../refusal.ts';
import { reply, table, text } from '../reply.ts';
import { handOf, jobOption, openJobMeant, yes } from './options.ts';
import { headOf, jobReply, phoneOfJob, stateInWords } from './reply.ts';

export const jobListData = z.object({
  jobs: z.array(
    z.object({ job: z.number(), state: z.string(), phone: z.string(), holder: z.string(), days: z.number() }),
  ),
  open: z.number(),
});

const DAY_MS = 24 * 3600 * 1000;
const LISTED = 20;

export const list = defineAction({
  summary: 'List the open jobs',
  options: { mine: yes('Only those that you hold') },
  examples: ['/job list', '/job list mine:yes'],
  run: ({ mine }, context) => {
    const { store, now, person } = context;
    const jobs = store.jobs.listOpen({
      ...(mine ? { holderKey: person.key } : {}),
      limit: LISTED,
    });
    const total = mine ? jobs.length : store.jobs.countOpen();
    const rows = jobs.map((job) => ({
      job: job.number,
      state: stateInWords(job),
      phone: phoneOfJob(context, job).name,
      holder: job.holder,
      days: Math.floor((now.getTime() - job.at.getTime()) / DAY_MS),
    }));
    return reply({
      title: rows.length
        ? mine
          ? counted(total, '{0} open job that you hold', '{0} open jobs that you hold')
          : counted(total, '{0} open job', '{0} open jobs')
        : mine
          ? say`You hold no open job`
          : say`No job is open`,
      blocks: rows.length
        ? [
            table(
              [say`>No.`, say`Phone`, say`State`, say`Held by`, '>Days'],
              rows.map((row) => [String(row.job), row.phone, row.state, row.holder, String(row.days)]),
            ),
            ...(total > rows.length
              ? [text(say`The newest ${rows.length} are shown. /job list mine:yes shows yours.`)]
              : []),
          ]
        : [text(say`Take one in: /job open "Orrin K3" came:given symptoms:dead`)],
      choices: jobs.slice(0, 9).map((job) => ({
        label: say`Job ${job.number}`,
        invoke: { command: 'job', action: 'show', options: { job: String(job.number) } },
      })),
      data: { jobs: rows, open: total },
    });
  },
});

export const take = defineAction({
  summary: 'Take a job over',
  who: 'member',
  options: { job: jobOption },
  examples: ['/job take job:12'],
  run: ({ job: named }, context) => {
    const job = openJobMeant(context, named);
    return handed(context, job, { key: context.person.key, name: context.person.name });
  },
});

export const hand = defineAction({
  summary: 'Hand a job to another member',
  who: 'member',
  options: {
    to: lookupOption({ summary: 'Who takes it', example: 'Wren', lookup: people }),
    job: jobOption,
  },
  examples: ['/job hand Wren job:12'],
  run: ({ to, job: named }, context) => {
    const job = openJobMeant(context, named);
    if (job.holderKey !== context.person.key && context.person.role !== 'steward') {
      throw new Refusal({
        problem: say`Job ${job.number} is held by ${job.holder}.`,
        expected: say`to take it yourself, or to ask ${job.holder}`,
        example: `/job take job:${job.number}`,
      });
    }
    return handed(context, job, { key: to.id, name: to.name });
  },
});

function handed(context: Context, job: JobRecord, to: { key: string; name: string }) {
  if (to.key === job.holderKey) {
    throw new Refusal({
      problem: say`${to.name} holds job ${job.number} already.`,
      expected: say`somebody else`,
    });
  }
  context.store.jobs.hand(job.number, to);
  const after = context.store.jobs.add(
    job.number,
    [{ kind: 'handed', from: job.holder, to: to.name }],
    handOf(context),
  );
  return jobReply(context, after, { title: say`${headOf(context, after)}: now with ${to.name}` });
}
