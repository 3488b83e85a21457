import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { jobOption, openJobMeant } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { handed } from './assign.ts';
import { jobData } from './job-data.ts';

export const jobTake = defineAction({
  summary: say`Take a job over`,
  who: 'member',
  options: { job: jobOption },
  needs: [needs.job],
  examples: ['/job take job:12'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ job: named }, context) => {
    const job = openJobMeant(context, named);
    return handed(context, job, actorOf(context));
  },
});
