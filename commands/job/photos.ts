/** `/job photos`: the photos of a job, or one of them erased. */
import { z } from 'zod';
import { counted, plain, say, verbatim } from '../../shared/language/say.ts';
import { photoMoments } from '../../shared/photos/photo.ts';
import { defineAction } from '../framework/command.ts';
import { integerOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, right, table } from '../framework/reply.ts';
import { jobMeant, jobOption } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { dayIn } from '../shared/words.ts';
import { momentWords, photoFile } from './photo-file.ts';
import { jobHeading } from './reply.ts';

export const jobPhotosData = z.object({
  job: z.number().int(),
  photos: z.array(z.object({ number: z.number().int(), moment: z.enum(photoMoments), by: z.string() })),
});

/** So many are shown in one reply. */
const SHOWN = 4;

export const jobPhotos = defineAction({
  summary: say`The photos of a job, the newest; or one of them erased for good`,
  who: 'member',
  options: {
    job: jobOption,
    show: optional(integerOption({ summary: say`Only this one`, example: '2', min: 1, max: 1e6 })),
    erase: optional(
      integerOption({
        summary: say`The number of one to be erased for good`,
        example: '2',
        min: 1,
        max: 1e6,
      }),
    ),
  },
  needs: [needs.job],
  examples: ['/job photos job:12', '/job photos job:12 erase:2'],

  data: jobPhotosData,
  refuses: ['missing-option', 'wrong-state', 'not-found'],
  run: ({ job: named, show, erase }, context) => {
    const job = jobMeant(context, named);
    const { photos } = context.store;
    const before = photos.list(job.number);
    const meant = erase ?? show;
    const one = before.find(({ number }) => number === meant);
    if (meant !== undefined && !one) {
      throw new Refusal({
        code: 'not-found',
        problem: say`Job ${job.number} has no photo ${meant}.`,
        expected: say`a number from /job photos job:${job.number}`,
        option: erase === undefined ? 'show' : 'erase',
      });
    }
    if (erase !== undefined && one) {
      const { person } = context;
      if (one.by.key !== person.key && job.holder.key !== person.key && person.role !== 'steward') {
        throw new Refusal({
          code: 'not-allowed',
          problem: say`Photo ${erase} was taken by ${verbatim(one.by.name)}.`,
          expected: say`to ask ${verbatim(one.by.name)} or a steward`,
          option: 'erase',
        });
      }
      photos.erase(job.number, erase);
    }
    const all = photos.list(job.number);
    const shown = erase !== undefined ? [] : one ? [one] : all.slice(-SHOWN);
    return reply({
      title:
        erase === undefined
          ? plain`${jobHeading(context, job)}: ${counted(all.length, '{0} photo', '{0} photos')}`
          : say`${jobHeading(context, job)}: photo ${erase} is erased`,
      blocks: all.length
        ? [
            table(
              [right(say`No.`), say`When`, say`Day`, say`By`],
              all.map((photo) => [
                plain`${photo.number}`,
                momentWords[photo.moment],
                verbatim(dayIn(context, photo.at)),
                verbatim(photo.by.name),
              ]),
            ),
          ]
        : [],
      files: shown.flatMap((photo) => photoFile(context, job, photo)),
      data: {
        job: job.number,
        photos: all.map(({ number, moment, by }) => ({ number, moment, by: by.name })),
      },
    });
  },
});
