/** `/job show`: where a job stands. */
import { plain, say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { right, table } from '../framework/reply.ts';
import { jobMeant, jobOption } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { dayIn } from '../shared/words.ts';
import { entryInWords } from './entry-words.ts';
import { jobData } from './job-data.ts';
import { moneyFacts } from './job-money.ts';
import { intakeFacts, jobReply } from './reply.ts';

const SHOWN_ENTRIES = 25;

export const jobShow = defineAction({
  summary: say`Show where a job stands, with its log`,
  options: { job: jobOption },
  needs: [needs.job],
  examples: ['/job 12', '/job'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ job: named }, context) => {
    const job = jobMeant(context, named);
    const hidden = Math.max(0, job.entries.length - SHOWN_ENTRIES);
    const rows = job.entries
      .slice(-SHOWN_ENTRIES)
      .map((logged) => [
        plain`${logged.seq}`,
        verbatim(dayIn(context, logged.at)),
        logged.struck
          ? logged.struck.why === ''
            ? say`struck out by ${verbatim(logged.struck.by.name)}: ${entryInWords(context, logged)}`
            : say`struck out by ${verbatim(logged.struck.by.name)} (${verbatim(logged.struck.why)}): ${entryInWords(context, logged)}`
          : entryInWords(context, logged),
        verbatim(logged.by.name),
      ]);
    return jobReply(context, job, {
      blocks: [
        intakeFacts(context, job),
        moneyFacts(context, job),
        ...(rows.length
          ? [
              table(
                [right(say`No.`), say`Day`, say`Entry`, say`By`],
                rows,
                hidden ? say`Log, the last ${rows.length} of ${job.entries.length}` : say`Log`,
              ),
            ]
          : []),
      ],
    });
  },
});
