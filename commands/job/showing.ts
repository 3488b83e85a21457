/** `/job show` and `/job sheet`: where a job stands, and the page for the next owner. */
import { listWords, say, translated } from '../../shared/language/say.ts';
import { defineAction } from '../command.ts';
import { Refusal } from '../refusal.ts';
import { reply, table, text } from '../reply.ts';
import { dayIn } from '../words.ts';
import { jobMeant, jobOption } from './options.ts';
import {
  dataOf,
  endedWords,
  entryInWords,
  headOf,
  intakeFacts,
  jobReply,
  moneyFacts,
  stateInWords,
  untestedOf,
} from './reply.ts';
import { sheetFiles } from './sheet.ts';

const SHOWN_ENTRIES = 25;

export const show = defineAction({
  summary: 'Show where a job stands, with its log',
  options: { job: jobOption },
  examples: ['/job 12', '/job'],
  run: ({ job: named }, context) => {
    const job = jobMeant(context, named);
    const hidden = Math.max(0, job.entries.length - SHOWN_ENTRIES);
    const rows = job.entries
      .slice(-SHOWN_ENTRIES)
      .map((logged) => [
        String(logged.seq),
        dayIn(context, logged.at),
        logged.struck
          ? say`struck out by ${logged.struck.by} (${logged.struck.why}): ${entryInWords(context, logged)}`
          : entryInWords(context, logged),
        logged.by,
      ]);
    return jobReply(context, job, {
      blocks: [
        intakeFacts(context, job),
        moneyFacts(context, job),
        ...(rows.length
          ? [
              table(
                [say`>No.`, say`Day`, say`Entry`, say`By`],
                rows,
                hidden ? say`Log, the last ${rows.length} of ${job.entries.length}` : say`Log`,
              ),
            ]
          : []),
      ],
    });
  },
});

export const sheet = defineAction({
  summary: 'The sheet for the next owner, one page',
  who: 'member',
  options: { job: jobOption },
  examples: ['/job sheet job:12'],
  run: ({ job: named }, context) => {
    const job = jobMeant(context, named);
    const untested = untestedOf(context, job);
    if (job.ended && job.ended.as !== 'restored') {
      throw new Refusal({
        problem: say`Job ${job.number} was ${translated(endedWords[job.ended.as])}.`,
        expected: say`a restored phone`,
      });
    }
    return reply({
      title: say`${headOf(context, job)}: the sheet for its next owner`,
      tone: job.ended ? 'good' : 'caution',
      blocks: [
        ...(job.ended
          ? []
          : [
              text(
                say`A draft: the job is ${stateInWords(job)}${untested.length ? say` and not tested for ${listWords(untested.map(({ name }) => name.toLowerCase()))}` : ''}.`,
              ),
            ]),
        text(say`Print it or send it with the phone. It has no name, price or IMEI on it.`),
      ],
      files: sheetFiles(context, job),
      data: dataOf(context, job),
    });
  },
});
