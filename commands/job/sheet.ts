/** `/job sheet`: the page for the next owner. */
import { inSentence, listWords, packText, say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { jobMeant, jobOption } from '../shared/find-job.ts';
import { sheetFiles } from './next-owner-sheet.ts';
import { endedWords, jobData, jobDataOf, jobHeading, stateInWords, untestedOf } from './reply.ts';

export const jobSheet = defineAction({
  summary: say`The sheet for the next owner, one page`,
  who: 'member',
  options: { job: jobOption },
  examples: ['/job sheet job:12'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ job: named }, context) => {
    const job = jobMeant(context, named);
    const untested = untestedOf(context, job);
    if (job.ended && job.ended.as !== 'restored') {
      throw new Refusal({
        code: 'wrong-state',
        problem: say`Job ${job.number} was ${endedWords[job.ended.as]}.`,
        expected: say`a restored phone`,
      });
    }
    return reply({
      title: say`${jobHeading(context, job)}: the sheet for its next owner`,
      tone: job.ended ? 'good' : 'caution',
      blocks: [
        ...(job.ended
          ? []
          : [
              text(
                say`A draft: the job is ${stateInWords(context, job)}${untested.length ? say` and not tested for ${listWords(untested.map(({ name }) => inSentence(packText(name))))}` : ''}.`,
              ),
            ]),
        text(say`Print it or send it with the phone. It has no name, price or IMEI on it.`),
      ],
      files: sheetFiles(context, job),
      data: jobDataOf(context, job),
    });
  },
});
