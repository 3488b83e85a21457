/** `/job page`: the page for the next owner. */
import { inSentence, listWords, packText, say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { jobMeant, jobOption } from '../shared/find-job.ts';
import { endedWords, stateInWords, untestedOf } from '../shared/job-words.ts';
import { needs } from '../shared/needs.ts';
import { handOverFiles } from './hand-over-page.ts';
import { jobData, jobDataOf } from './job-data.ts';
import { yes } from './options.ts';
import { beforeAndAfter } from './photo-file.ts';
import { jobHeading } from './reply.ts';

export const jobPage = defineAction({
  summary: say`The hand-over page: one page for the next owner`,
  who: 'member',
  options: {
    job: jobOption,
    photos: yes(say`With a photo from before and one from after, where there are such`),
  },
  needs: [needs.job],
  examples: ['/job page job:12', '/job page job:12 photos:yes'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ job: named, photos }, context) => {
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
      title: say`${jobHeading(context, job)}: the hand-over page`,
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
      files: handOverFiles(context, job, photos ? beforeAndAfter(context, job) : []),
      data: jobDataOf(context, job),
    });
  },
});
