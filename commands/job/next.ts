/** `/job next`: which jobs to do with the hours there are. */
import { z } from 'zod';
import { totalsOf } from '../../shared/jobs/job.ts';
import { chooseJobs } from '../../shared/jobs/next-jobs.ts';
import { waitingOf } from '../../shared/jobs/waiting.ts';
import { counted, plain, quantity, say } from '../../shared/language/say.ts';
import { amount, fromMajor, moneyWire, toMajor, toWire } from '../../shared/money/money.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { choiceOption, numberOption, optional } from '../framework/option.ts';
import { type DraftBlock, reply, right, table, text } from '../framework/reply.ts';
import { nextWords, type OnBoard, onBoard } from '../shared/board.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { percent } from '../shared/words.ts';
import { hourRate } from './job-money.ts';

export const jobNextData = z.object({
  hours: z.number(),
  by: z.enum(['money', 'phones']),
  chosen: z.array(z.object({ job: z.number(), minutes: z.number(), gain: moneyWire, restored: z.number() })),
  left: z.array(z.number()),
});

/** The work that is left is never taken to be shorter: something always is. Chosen. */
const LEAST_MINUTES = 5;
/** As many as are weighed; the newest. */
const WEIGHED = 100;
const SHOWN = 12;

interface Open extends OnBoard {
  number: number;
  minutes: number;
  gain: number;
  /** Expected to come in from here on, before the bench time, in major units: what is spent already is spent. */
  money: number;
}

/** What is left of a job: the minutes expected at intake less those logged, and what it brings from here on. */
function openJob(context: Context, one: OnBoard, by: 'money' | 'phones'): Open {
  const { job } = one;
  const { out, back, minutes: done } = totalsOf(job);
  const minutes = Math.max(LEAST_MINUTES, Math.round(job.promise.minutes) - done);
  const mean = toMajor(job.promise.mean);
  const spentTime = (job.promise.minutes / 60) * hourRate(context.collective);
  const money = mean + spentTime + toMajor(out) - toMajor(back);
  const value = by === 'phones' ? job.promise.chanceRestored : money;
  return { ...one, number: job.number, minutes, gain: Math.max(0, value), money };
}

/** The jobs that were chosen, the most for a minute first. */
function chosenTable(context: Context, chosen: readonly Open[], by: 'money' | 'phones'): DraftBlock {
  const { currency } = context.collective.settings;
  return table(
    [
      right(say`No.`),
      say`Phone`,
      say`Next`,
      right(say`Left to do`),
      right(by === 'phones' ? say`Chance back in use` : say`Brings`),
    ],
    chosen
      .slice(0, SHOWN)
      .map(({ job, phone, minutes: work, money: brings }) => [
        plain`${job.number}`,
        phoneOfJob(context, job).name,
        nextWords(context, { job, phone }),
        quantity(work, 'min'),
        by === 'phones' ? percent(job.promise.chanceRestored) : amount(fromMajor(brings, currency)),
      ]),
  );
}

/** How many jobs wait or are held, and how many are ready and were not chosen. */
const leftBlocks = (waiting: number, left: number): DraftBlock[] => [
  ...(waiting
    ? [
        text(
          counted(
            waiting,
            '{0} job waits or is held: /job list says for what.',
            '{0} jobs wait or are held: /job list says for what.',
          ),
        ),
      ]
    : []),
  ...(left ? [text(counted(left, '{0} job is left for later.', '{0} jobs are left for later.'))] : []),
];

export const jobNext = defineAction({
  summary: say`Which jobs to do next, with the hours there are`,
  options: {
    hours: optional(numberOption({ summary: say`Bench hours this week`, example: '6', min: 0.25, max: 168 })),
    by: optional(
      choiceOption({
        summary: say`What counts: money, or phones back in use`,
        example: 'phones',
        choices: ['money', 'phones'],
      }),
    ),
  },
  examples: ['/job next hours:6', '/job next hours:3 by:phones'],

  data: jobNextData,
  run: ({ hours = 6, by: said }, context) => {
    const by = said ?? (context.collective.settings.hourlyRate === 0 ? 'phones' : 'money');
    const open = context.store.jobs.listOpen({ limit: WEIGHED });
    const ready = open
      .map((job) => onBoard(context, job))
      .filter(({ job, phone }) => !waitingOf(job) && phone.danger === 'none' && phone.wet !== 'wet');
    const chosen = chooseJobs(
      ready.map((one) => openJob(context, one, by)),
      hours * 60,
    );
    const minutes = chosen.reduce((sum, one) => sum + one.minutes, 0);
    const left = ready.filter(({ job }) => !chosen.some((one) => one.number === job.number));
    return reply({
      title: chosen.length
        ? counted(
            chosen.length,
            '{0} job for {1} hours: {2} min of work',
            '{0} jobs for {1} hours: {2} min of work',
            hours,
            minutes,
          )
        : say`No job is ready to be worked on`,
      blocks: [
        ...(chosen.length
          ? [
              chosenTable(context, chosen, by),
              text(
                by === 'phones'
                  ? say`Together they bring most phones back into use in that time; the most for a minute comes first.`
                  : say`Together they bring most money in that time, what is spent already left aside; the most for a minute comes first.`,
              ),
            ]
          : []),
        ...leftBlocks(open.length - ready.length, left.length),
      ],
      choices: chosen.slice(0, 6).map(({ number }) => ({
        label: say`Job ${number}`,
        invoke: { command: 'job', action: 'show', options: { job: String(number) } },
      })),
      data: {
        hours,
        by,
        chosen: chosen.map(({ number, minutes: work, money: brings, job }) => ({
          job: number,
          minutes: work,
          gain: toWire(fromMajor(brings, context.collective.settings.currency)),
          restored: job.promise.chanceRestored,
        })),
        left: left.map(({ job }) => job.number),
      },
    });
  },
});
