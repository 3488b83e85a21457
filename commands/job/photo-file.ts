/** A kept photo as a file of a reply. */
import type { JobRecord } from '../../shared/jobs/job.ts';
import { say } from '../../shared/language/say.ts';
import type { JobPhoto } from '../../shared/photos/photo.ts';
import type { Context } from '../framework/context.ts';
import type { Draft } from '../framework/reply.ts';

export const momentWords = { intake: say`at intake`, step: say`at a step`, end: say`at the end` } as const;

/** None where it is gone. */
export function photoFile(
  { store }: Context,
  { number: job }: JobRecord,
  { number, moment }: JobPhoto,
): Draft['files'] {
  const png = store.photos.png(job, number);
  return png === null
    ? []
    : [
        {
          name: `job-${job}-photo-${number}.png`,
          mime: 'image/png',
          alt: say`Photo ${number} of job ${job}, ${momentWords[moment]}. What it shows was not said.`,
          draw: { kind: 'photo', data: { png } },
        },
      ];
}

/** The first at intake and the last at the end, where there are such. */
export const beforeAndAfter = ({ store }: Context, job: JobRecord): JobPhoto[] => {
  const all = store.photos.list(job.number);
  const before = all.find(({ moment }) => moment === 'intake');
  const after = all.findLast(({ moment }) => moment === 'end');
  return [before, after].filter((one) => one !== undefined);
};
