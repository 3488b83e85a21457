/** `/job reopen`: a finished job goes on. */
import { isTold } from '../../shared/jobs/job.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { jobMeant, jobOption } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { jobData } from './job-data.ts';
import { handOf } from './options.ts';
import { jobHeading, jobReply } from './reply.ts';

export const jobReopen = defineAction({
  summary: say`Open a closed job again, as when the phone comes back; what it taught is taken back`,
  who: 'member',
  options: {
    why: textOption({ summary: say`Why`, example: 'came back with the same fault', max: 200 }),
    job: jobOption,
  },
  needs: [needs.endedJob],
  examples: ['/job reopen "came back with the same fault" job:12'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ why, job: named }, context) => {
    const { store, person } = context;
    const job = named ? jobMeant(context, named) : undefined;
    if (!job) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`Which job?`,
        expected: say`job: and its number`,
        option: 'job',
      });
    }
    if (!job.ended) {
      throw new Refusal({
        code: 'wrong-state',
        problem: say`Job ${job.number} is open.`,
        expected: say`a closed one`,
        option: 'job',
      });
    }
    if (job.holder.key !== person.key && person.role !== 'steward') {
      throw new Refusal({
        code: 'not-allowed',
        problem: say`Job ${job.number} was ${verbatim(job.holder.name)}’s.`,
        expected: say`to ask ${verbatim(job.holder.name)} or a steward`,
      });
    }
    const { taught } = job.ended.ending;
    if (taught.faults.length) store.outcomeCounts.record(job.family, taught, isTold(job.ended.ending), -1);
    store.jobs.reopen(job.number);
    store.fittings.forget(job.number);
    // What lies on the shelf of it is in the phone again, or will be written down anew.
    for (const part of store.shelf.list({ donor: job.number, states: ['here'] }))
      store.shelf.move(
        part.number,
        { kind: 'gone', why: context.write(say`job ${job.number} was opened again`) },
        handOf(context),
      );
    const after = store.jobs.add(job.number, [{ kind: 'reopened', why }], handOf(context));
    return jobReply(context, after, { title: say`${jobHeading(context, after)}: open again` });
  },
});
