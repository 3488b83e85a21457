/** `/job wait`: what a job waits for, and that it waits no more. */
import { waitsFor } from '../../shared/jobs/entry.ts';
import { waitingOf } from '../../shared/jobs/waiting.ts';
import { plain, say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { choiceOption, dateOption, optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { text } from '../framework/reply.ts';
import { jobChoice, jobOption, openJobMeant } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { waitInWords } from '../shared/wait-words.ts';
import { dayIn } from '../shared/words.ts';
import { jobData } from './job-data.ts';
import { handOf } from './options.ts';
import { jobHeading, jobReply } from './reply.ts';

export const jobWait = defineAction({
  summary: say`Say what a job waits for, or that it goes on`,
  who: 'member',
  options: {
    for: choiceOption({
      summary: say`A part on order, its owner, a cell that charges, something else; nothing: it goes on`,
      example: 'part',
      choices: [...waitsFor, 'nothing'],
    }),
    until: optional(dateOption({ summary: say`The day to look at it again`, example: '2026-03-09' })),
    note: optional(textOption({ summary: say`In a few words`, example: 'panel', max: 120 })),
    job: jobOption,
  },
  needs: [needs.openJob],
  examples: ['/job wait part until:2026-03-09 note:panel', '/job wait nothing job:12'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ for: what, until = null, note = '', job: named }, context) => {
    const job = openJobMeant(context, named);
    if (what === 'nothing') {
      if (!waitingOf(job))
        throw new Refusal({
          code: 'wrong-state',
          problem: say`Job ${job.number} waits for nothing.`,
          expected: say`what it waits for`,
          option: 'for',
        });
      const after = context.store.jobs.add(job.number, [{ kind: 'resumed' }], handOf(context));
      return jobReply(context, after, { title: say`${jobHeading(context, after)}: goes on` });
    }
    if (until !== null && until < dayIn(context, context.now)) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`That day is past.`,
        expected: say`a day from today on`,
        option: 'until',
      });
    }
    const after = context.store.jobs.add(
      job.number,
      [{ kind: 'waiting', for: what, until, note }],
      handOf(context),
    );
    return jobReply(context, after, {
      title: plain`${jobHeading(context, after)}: ${waitInWords({ for: what, until, note })}`,
      blocks: [
        text(
          what === 'charge'
            ? say`Stay near a cell that charges, on a surface that does not burn; unplug it when it gets warm or swells. /job list keeps it in sight.`
            : say`/job list keeps it in sight, and says when the day has come.`,
        ),
      ],
      choices: [jobChoice(after, say`It goes on`, 'wait', { for: 'nothing' })],
    });
  },
});
