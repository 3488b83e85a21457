import { say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { lookupOption, optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { jobOption, openJobMeant } from '../shared/find-job.ts';
import { people } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import { handed, handedToNew } from './assign.ts';
import { jobData } from './job-data.ts';

export const jobHand = defineAction({
  summary: say`Hand a job to another member`,
  who: 'member',
  options: {
    to: optional(lookupOption({ summary: say`Who takes it`, example: 'Wren', lookup: people })),
    job: jobOption,
    name: optional(
      textOption({
        summary: say`Instead of to: the name of someone who has not spoken here yet`,
        example: 'Teo',
        max: 60,
      }),
    ),
  },
  needs: [needs.openJob],
  examples: ['/job hand Wren job:12', '/job hand name:Teo job:12'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ to, job: named, name: newName }, context) => {
    const job = openJobMeant(context, named);
    if (job.holder.key !== context.person.key && context.person.role !== 'steward') {
      throw new Refusal({
        code: 'not-allowed',
        problem: say`Job ${job.number} is held by ${verbatim(job.holder.name)}.`,
        expected: say`to take it yourself, or to ask ${verbatim(job.holder.name)}`,
        example: `/job take job:${job.number}`,
      });
    }
    if (!to) {
      if (!newName)
        throw new Refusal({
          code: 'missing-option',
          problem: say`Who takes it?`,
          expected: say`to: and someone who has spoken here, or name: and someone who has not`,
          option: 'to',
          example: '/job hand Wren job:12',
        });
      return handedToNew(context, job, newName);
    }
    // The lookup adds the key to a name that several go by.
    const name = context.store.people.get(to.id)?.name ?? to.name;
    return handed(context, job, { key: to.id, name });
  },
});
