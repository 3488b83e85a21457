/** Who holds a job: taking it over and handing it on end here. */

import type { JobRecord } from '../../shared/jobs/job.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import type { Actor } from '../../shared/people/actor.ts';
import type { Context } from '../framework/context.ts';
import { Refusal } from '../framework/refusal.ts';
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
