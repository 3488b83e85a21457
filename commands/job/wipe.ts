/** `/job wipe`: words that should not have been written are removed for good. */
import type { z } from 'zod';
import { wordsOfEntry } from '../../shared/jobs/entry.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { integerOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { entryMeant, jobMeant, jobOption } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { removedBlocks, removeWords } from '../shared/removed.ts';
import { jobWipedData } from './job-data.ts';
import { handOf } from './options.ts';
import { jobHeading, jobReply } from './reply.ts';

export const jobWipe = defineAction({
  summary: say`Remove the words of an entry for good, with every copy of them here: for what should not have been written`,
  who: 'member',
  options: {
    entry: integerOption({
      summary: say`The number of the entry, from /job show`,
      example: '4',
      min: 1,
      max: 1e6,
    }),
    job: jobOption,
  },
  needs: [needs.job],
  examples: ['/job wipe 4 job:12'],

  data: jobWipedData,
  refuses: ['missing-option', 'wrong-state', 'not-found'],
  run: ({ entry: seq, job: named }, context) => {
    const { store, person } = context;
    const job = jobMeant(context, named);
    const found = entryMeant(job, seq);
    if (found.by.key !== person.key && person.role !== 'steward') {
      throw new Refusal({
        code: 'not-allowed',
        problem: say`Entry ${seq} was written by ${verbatim(found.by.name)}.`,
        expected: say`to ask ${verbatim(found.by.name)} or a steward`,
        option: 'entry',
      });
    }
    const texts = wordsOfEntry(found);
    if (!texts.length) {
      throw new Refusal({
        code: 'wrong-state',
        problem: found.wiped
          ? say`The words of entry ${seq} are removed already.`
          : say`Entry ${seq} has no words of anybody's own.`,
        expected: say`an entry with words, or /job strike for one that is wrong`,
        option: 'entry',
      });
    }
    const after = store.jobs.wipe(job.number, seq, handOf(context));
    const shown = removeWords(context, { texts, subject: `job:${job.number}`, authors: [found.by.key] });
    const made = jobReply(context, after, {
      title: say`${jobHeading(context, after)}: the words of entry ${seq} are removed`,
      blocks: removedBlocks(shown),
    });
    return {
      ...made,
      data: { ...made.data, wiped: { job: job.number, entry: seq } } satisfies z.infer<typeof jobWipedData>,
    };
  },
});
