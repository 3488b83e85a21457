/** `/job timer`: minutes at the bench without typing them. */
import { timerOf } from '../../shared/jobs/waiting.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { integerOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { text } from '../framework/reply.ts';
import { jobChoice, jobOption, openJobMeant } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { timeIn } from '../shared/words.ts';
import { jobData } from './job-data.ts';
import { handOf } from './options.ts';
import { jobHeading, jobReply } from './reply.ts';

const MINUTE_MS = 60_000;
/** Longer than anybody sits at one phone: it was left running. Chosen. */
const LONGEST = 240;

export const jobTimer = defineAction({
  summary: say`Start your timer on a job; the second time stops it, and writes the minutes down`,
  who: 'member',
  options: {
    job: jobOption,
    minutes: optional(
      integerOption({
        summary: say`How long it really was, where the timer was left running`,
        example: '25',
        min: 1,
        max: 1440,
      }),
    ),
  },
  needs: [needs.openJob],
  examples: ['/job timer job:12', '/job timer'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ job: named, minutes: said }, context) => {
    const job = openJobMeant(context, named);
    const started = timerOf(job, context.person.key);
    if (started === null) {
      if (said !== undefined)
        throw new Refusal({
          code: 'wrong-state',
          problem: say`Your timer on job ${job.number} does not run.`,
          expected: say`/job log minutes:${said} to write time down`,
          option: 'minutes',
        });
      const after = context.store.jobs.add(job.number, [{ kind: 'timer-started' }], handOf(context));
      return jobReply(context, after, {
        title: say`${jobHeading(context, after)}: your timer runs`,
        choices: [jobChoice(after, say`Stop the timer`, 'timer')],
      });
    }
    const minutes = said ?? Math.max(1, Math.round((context.now.getTime() - started.getTime()) / MINUTE_MS));
    if (said === undefined && minutes > LONGEST) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`Your timer on job ${job.number} has run since ${verbatim(timeIn(context, started))}: ${minutes} min. Was it left running?`,
        expected: say`minutes: with how long it really was`,
        option: 'minutes',
        example: `/job timer minutes:30 job:${job.number}`,
      });
    }
    const after = context.store.jobs.add(
      job.number,
      [{ kind: 'timer-stopped' }, { kind: 'minutes', minutes }],
      handOf(context),
    );
    return jobReply(context, after, {
      title: say`${jobHeading(context, after)}: ${minutes} min written down`,
      blocks: [text(say`Wrong? /job strike takes an entry back, /job log minutes: writes another.`)],
    });
  },
});
