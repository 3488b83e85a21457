import { z } from 'zod';
import { counted, say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { reply, table, text } from '../framework/reply.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { yes } from './options.ts';
import { stateInWords } from './reply.ts';

export const jobListData = z.object({
  jobs: z.array(
    z.object({ job: z.number(), state: z.string(), phone: z.string(), holder: z.string(), days: z.number() }),
  ),
  open: z.number(),
});

const DAY_MS = 24 * 3600 * 1000;
const LISTED = 20;

export const jobList = defineAction({
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
      state: stateInWords(context, job),
      phone: phoneOfJob(context, job).name,
      holder: job.holder.name,
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
