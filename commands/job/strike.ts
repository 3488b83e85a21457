/** `/job strike`: what of the log counts no more. */
import { isHistory } from '../../shared/jobs/entry.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { integerOption, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { text } from '../framework/reply.ts';
import { entryMeant, jobOption, openJobMeant } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { entryInWords } from './entry-words.ts';
import { jobData } from './job-data.ts';
import { moneyFacts } from './job-money.ts';
import { handOf } from './options.ts';
import { jobHeading, jobReply } from './reply.ts';

export const jobStrike = defineAction({
  summary: say`Strike an entry out: it stays to be read, and counts no more`,
  who: 'member',
  options: {
    entry: integerOption({
      summary: say`The number of the entry, from /job show`,
      example: '4',
      min: 1,
      max: 1e6,
    }),
    why: textOption({ summary: say`What was wrong with it`, example: 'typed twice', max: 200 }),
    job: jobOption,
  },
  needs: [needs.openJob],
  examples: ['/job strike 4 why:"typed twice" job:12'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state', 'not-found'],
  run: ({ entry: seq, why, job: named }, context) => {
    const job = openJobMeant(context, named);
    const found = entryMeant(job, seq);
    if (found.struck) {
      throw new Refusal({
        code: 'wrong-state',
        problem: say`Entry ${seq} is struck out already.`,
        expected: say`another entry`,
        option: 'entry',
      });
    }
    if (isHistory(found.entry)) {
      throw new Refusal({
        code: 'not-allowed',
        problem: say`That is the history of the job and stays.`,
        expected: say`an entry that somebody wrote`,
        option: 'entry',
      });
    }
    const part = found.entry.kind === 'fitted' || found.entry.kind === 'money' ? found.entry.part : undefined;
    if (part !== undefined) {
      throw new Refusal({
        code: 'wrong-state',
        problem: say`Part ${part} of the shelf is in this phone.`,
        expected: say`to take it out again, which strikes its entries out`,
        option: 'entry',
        example: `/shelf back ${part}`,
      });
    }
    if (found.by.key !== context.person.key && context.person.role !== 'steward') {
      throw new Refusal({
        code: 'not-allowed',
        problem: say`Entry ${seq} was written by ${verbatim(found.by.name)}.`,
        expected: say`to ask ${verbatim(found.by.name)} or a steward`,
        option: 'entry',
      });
    }
    const after = context.store.jobs.strike(job.number, seq, handOf(context), why);
    return jobReply(context, after, {
      title: say`${jobHeading(context, after)}: entry ${seq} is struck out`,
      blocks: [
        text(say`It said: ${entryInWords(context, found)}. It stays to be read and counts no more.`),
        moneyFacts(context, after),
      ],
    });
  },
});
