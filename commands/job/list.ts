/** `/job list`: the board of the bench. */
import { z } from 'zod';
import { waitsFor } from '../../shared/jobs/entry.ts';
import { jobStateOf, jobStates } from '../../shared/jobs/job.ts';
import { waitingOf } from '../../shared/jobs/waiting.ts';
import { counted, plain, say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { reply, right, table, text } from '../framework/reply.ts';
import { boardOrder, nextWords } from '../shared/board.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { yes } from './options.ts';

export const jobListData = z.object({
  jobs: z.array(
    z.object({
      job: z.number(),
      state: z.enum(jobStates),
      family: z.string(),
      model: z.string().nullable(),
      holder: z.string(),
      waits: z.enum(waitsFor).nullable(),
      days: z.number(),
    }),
  ),
  open: z.number(),
});

const DAY_MS = 24 * 3600 * 1000;
const LISTED = 20;
/** The newest open ones, of which those that need somebody soonest are shown. */
const CONSIDERED = 100;

export const jobList = defineAction({
  summary: say`The board: what each open job needs next, and what it waits for`,
  options: { mine: yes(say`Only those that you hold`) },
  examples: ['/job list', '/job list mine:yes'],

  data: jobListData,
  run: ({ mine }, context) => {
    const { store, now, person } = context;
    const open = store.jobs.listOpen({ ...(mine ? { holderKey: person.key } : {}), limit: CONSIDERED });
    const board = boardOrder(context, open).slice(0, LISTED);
    const total = mine ? open.length : store.jobs.countOpen();
    const rows = board.map(({ job, phone }): z.infer<typeof jobListData>['jobs'][number] => ({
      job: job.number,
      state: jobStateOf(job, phone),
      family: job.family,
      model: phoneOfJob(context, job).model?.name ?? null,
      holder: job.holder.name,
      waits: waitingOf(job)?.for ?? null,
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
              [right(say`No.`), say`Phone`, say`Next`, say`Held by`, right(say`Days`)],
              board.map((one, index) => [
                plain`${one.job.number}`,
                phoneOfJob(context, one.job).name,
                nextWords(context, one),
                verbatim(one.job.holder.name),
                plain`${rows[index]?.days ?? 0}`,
              ]),
            ),
            ...(total > rows.length
              ? [
                  text(
                    say`The ${rows.length} that need somebody soonest are shown. /job list mine:yes shows yours.`,
                  ),
                ]
              : []),
          ]
        : [text(say`Take one in: /job open "Orrin K3" came:given symptoms:dead`)],
      choices: board.slice(0, 9).map(({ job }) => ({
        label: say`Job ${job.number}`,
        invoke: { command: 'job', action: 'show', options: { job: String(job.number) } },
      })),
      data: { jobs: rows, open: total },
    });
  },
});
