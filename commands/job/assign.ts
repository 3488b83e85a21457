/** Who holds a job: taking it over and handing it on end here. */

import type { JobRecord } from '../../shared/jobs/job.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import type { Actor } from '../../shared/people/actor.ts';
import { nameKey } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { Refusal } from '../framework/refusal.ts';
import { text } from '../framework/reply.ts';
import { handOf } from './options.ts';
import { jobHeading, jobReply } from './reply.ts';

export function handed(context: Context, job: JobRecord, to: Actor) {
  if (to.key === job.holder.key) {
    throw new Refusal({
      code: 'wrong-state',
      problem: say`${verbatim(to.name)} holds job ${job.number} already.`,
      expected: say`somebody else`,
    });
  }
  context.store.jobs.hand(job.number, to);
  const after = context.store.jobs.add(
    job.number,
    [{ kind: 'handed', from: job.holder, to }],
    handOf(context),
  );
  return jobReply(context, after, {
    title: say`${jobHeading(context, after)}: now with ${verbatim(to.name)}`,
  });
}

/**
 * To someone who has not spoken here: it waits under their name. A name is no proof of who somebody is, so nobody gets it by
 * speaking under that name; they take it.
 */
export function handedToNew(context: Context, job: JobRecord, name: string) {
  const spoken = context.store.people.list().filter((one) => nameKey(one.name) === nameKey(name));
  if (spoken.length) {
    throw new Refusal({
      code: 'bad-option',
      problem: say`${verbatim(name)} has spoken here.`,
      expected: say`to: with the name`,
      option: 'name',
      example: `/job hand "${spoken[0]?.name ?? name}" job:${job.number}`,
    });
  }
  const made = handed(context, job, { key: `not-here-yet:${nameKey(name)}`, name });
  return {
    ...made,
    blocks: [
      text(
        say`${verbatim(name)} has not spoken here yet: the job waits under that name, until it is taken with /job take job:${job.number}.`,
      ),
      ...made.blocks,
    ],
  };
}
