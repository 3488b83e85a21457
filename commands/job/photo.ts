/** `/job photo`: a photo of the phone, at intake, at a step, at the end. */

import { say } from '../../shared/language/say.ts';
import { MOST_PHOTOS, photoMoments } from '../../shared/photos/photo.ts';
import { defineAction } from '../framework/command.ts';
import { choiceOption, optional, photoOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { text } from '../framework/reply.ts';
import { jobChoice, jobMeant, jobOption } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { jobData } from './job-data.ts';
import { handOf } from './options.ts';
import { jobHeading, jobReply } from './reply.ts';

export const jobPhoto = defineAction({
  summary: say`Keep a photo of it: made small, without place and device, sealed`,
  who: 'member',
  options: {
    file: photoOption({ summary: say`The photo, JPEG or PNG`, example: 'front.jpg' }),
    job: jobOption,
    when: optional(
      choiceOption({
        summary: say`At intake, at a step or at the end; without it, intake for the first and a step after that`,
        example: 'end',
        choices: photoMoments,
      }),
    ),
  },
  needs: [needs.openJob],
  examples: ['/job photo front.jpg when:intake job:12'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ file, job: named, when }, context) => {
    const job = jobMeant(context, named);
    const { photos } = context.store;
    const before = photos.list(job.number);
    if (before.length >= MOST_PHOTOS) {
      throw new Refusal({
        code: 'wrong-state',
        problem: say`Job ${job.number} has ${before.length} photos, and no more are kept.`,
        expected: say`one of them erased first`,
        example: `/job photos job:${job.number}`,
      });
    }
    const moment = when ?? (before.length ? 'step' : 'intake');
    const kept = photos.add(job.number, moment, file, handOf(context));
    return jobReply(context, job, {
      title: say`${jobHeading(context, job)}: photo ${kept.number} is kept`,
      blocks: [
        text(
          say`It was drawn anew, without place, device and time, and lies sealed with the job. The message that you sent it with still has it as it was: take that back if others read along.`,
        ),
      ],
      choices: [jobChoice(job, say`All its photos`, 'photos')],
    });
  },
});
