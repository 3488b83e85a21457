/** `/job answer`: the questions before money is spent. */
import { answers, type Entry, questions } from '../../shared/jobs/entry.ts';
import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { choiceOption, optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { text } from '../framework/reply.ts';
import { jobOption, openJobMeant } from '../shared/find-job.ts';
import { needs } from '../shared/needs.ts';
import { jobData } from './job-data.ts';
import { handOf } from './options.ts';
import { jobReply } from './reply.ts';

export const answerOptions = {
  ownership: optional(
    choiceOption({ summary: say`Is it shown whose it is`, example: 'shown', choices: answers.ownership }),
  ),
  lock: optional(choiceOption({ summary: say`Account lock`, example: 'free', choices: answers.lock })),
  stolen: optional(
    choiceOption({ summary: say`Stolen-phone list`, example: 'clear', choices: answers.stolen }),
  ),
  data: optional(
    choiceOption({
      summary: say`What becomes of the data on it: consent, or how it was erased (NIST SP 800-88 words)`,
      example: 'purge',
      choices: answers.data,
    }),
  ),
};

export function answersGiven(
  given: Readonly<Partial<Record<(typeof questions)[number], string>>>,
  note: string,
): Entry[] {
  return questions.flatMap((question) => {
    const answer = given[question];
    return answer === undefined ? [] : [{ kind: 'answer' as const, question, answer, note }];
  });
}

export const jobAnswer = defineAction({
  summary: say`Answer what comes before money is spent: ownership, lock, stolen-phone list; and what becomes of its data`,
  who: 'member',
  options: {
    job: jobOption,
    ...answerOptions,
    note: optional(textOption({ summary: say`How you know`, example: 'receipt seen', max: 200 })),
  },
  needs: [needs.openJob],
  examples: ['/job answer ownership:shown lock:free stolen:clear', '/job answer job:12 data:purge'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state'],
  run: ({ job: named, note = '', ...given }, context) => {
    const job = openJobMeant(context, named);
    const entries = answersGiven(given, note);
    if (!entries.length) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`Nothing is answered.`,
        expected: say`ownership:, lock:, stolen: or data:`,
        example: '/job answer ownership:shown lock:free stolen:clear',
      });
    }
    const after = context.store.jobs.add(job.number, entries, handOf(context));
    return jobReply(context, after, {
      blocks:
        given.data === 'clear'
          ? [
              text(
                say`Cleared stands up to simple recovery only. A phone that leaves its owner’s control wants purge (NIST SP 800-88): its own reset, with encryption on, and the account taken off first.`,
              ),
            ]
          : [],
    });
  },
});
