import type { JobRecord } from '../../shared/jobs/job.ts';
import { packText, say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { lookupOption, manyOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { type DraftBlock, type DraftChoice, onBack, text } from '../framework/reply.ts';
import { jobChoice, jobOption, openJobMeant } from '../shared/find-job.ts';
import { benchEventsOfJob } from '../shared/find-trace.ts';
import { symptoms } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import { plainlyUnsaid, recordSaid } from '../shared/said.ts';
import { jobData } from './job-data.ts';
import { yes } from './options.ts';
import { intakeFacts, jobReply } from './reply.ts';

/** What anybody would see on the phone, asked once at intake; nothing where its cell comes first. */
export function lookOffer(
  context: Context,
  job: JobRecord,
): { blocks: DraftBlock[]; choices: DraftChoice[] } {
  if (job.ended || stateOfJob(context, job).danger !== 'none') return { blocks: [], choices: [] };
  const unsaid = plainlyUnsaid(context, phoneOfJob(context, job), benchEventsOfJob(context, job));
  if (!unsaid.length) return { blocks: [], choices: [] };
  return {
    blocks: [
      text(
        say`Anything else to see? Say what anybody would see on it, or that there is nothing else: that counts too. Whatever you do next skips this.`,
      ),
    ],
    choices: [
      ...unsaid.map(({ id, name }) => jobChoice(job, say`Seen: ${packText(name)}`, 'look', { shown: id })),
      jobChoice(job, say`Nothing else to see`, 'look', { nothing: 'yes' }),
    ].map((choice) => ({ ...choice, aside: true })),
  };
}

export const jobLook = defineAction({
  summary: say`Say what else is to be seen on the phone at intake, or that there is nothing else`,
  who: 'member',
  options: {
    shown: optional(
      manyOption(
        lookupOption({ summary: say`What it shows too`, example: 'cracked glass', lookup: symptoms }),
      ),
    ),
    nothing: yes(say`Nothing else is to be seen: not cracked, bent, lifted, dark or fogged`),
    job: jobOption,
  },
  needs: [needs.openJob],
  examples: ['/job look "cracked glass" job:12', '/job look nothing:yes'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ shown = [], nothing, job: named }, context) => {
    const job = openJobMeant(context, named);
    const seen = shown.map(({ id }) => id);
    if (!seen.length && !nothing) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`There is nothing to write down.`,
        expected: say`one of shown:, nothing:`,
      });
    }
    const unsaid = nothing
      ? plainlyUnsaid(context, phoneOfJob(context, job), benchEventsOfJob(context, job))
      : [];
    recordSaid(
      context,
      { job },
      { shown: seen, denied: unsaid.map(({ id }) => id).filter((id) => !seen.includes(id)) },
    );
    const after = context.store.jobs.get(job.number) ?? job;
    const look = lookOffer(context, after);
    const drawn = jobReply(context, after, { blocks: onBack(intakeFacts(context, after)) });
    return {
      ...drawn,
      blocks: [...look.blocks, ...drawn.blocks],
      choices: [...drawn.choices, ...look.choices],
    };
  },
});
