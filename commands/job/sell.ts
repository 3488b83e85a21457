/** `/job sell`: an honest text to offer a phone by, and that it is offered. */
import { listingOf } from '../../shared/jobs/job.ts';
import { whyDanger, whyNoWork, whyWet } from '../../shared/jobs/rules.ts';
import { plain, say } from '../../shared/language/say.ts';
import { amount, toWire } from '../../shared/money/money.ts';
import { defineAction } from '../framework/command.ts';
import { choiceOption, moneyOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { steps } from '../framework/reply.ts';
import { cardsOfState } from '../shared/caution-cards.ts';
import { jobChoice, jobOption, openJobMeant } from '../shared/find-job.ts';
import { untestedOf } from '../shared/job-words.ts';
import { needs } from '../shared/needs.ts';
import { conditions, gradeOf, phoneOfJob } from '../shared/phone.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import { jobData } from './job-data.ts';
import { handOf, refuseFor, yes } from './options.ts';
import { jobHeading, jobReply } from './reply.ts';
import { saleRange, saleSections, saleText } from './sale-text.ts';

export const jobSell = defineAction({
  summary: say`A text to sell it by, from what is known of it; with a price it is offered from now on`,
  who: 'member',
  options: {
    price: optional(moneyOption({ summary: say`What is asked for it`, example: '140' })),
    job: jobOption,
    condition: optional(
      choiceOption({ summary: say`How it looks now`, example: 'good', choices: conditions }),
    ),
    off: yes(say`It is no longer offered`),
  },
  needs: [needs.openJob],
  examples: ['/job sell', '/job sell price:140 condition:good', '/job sell off:yes'],

  data: jobData,
  refuses: ['missing-option', 'wrong-state', 'unsafe'],
  run: ({ price, job: named, condition, off }, context) => {
    const job = openJobMeant(context, named);
    const hand = handOf(context);
    const before = listingOf(job);
    if (off) {
      if (!before)
        throw new Refusal({
          code: 'wrong-state',
          problem: say`Job ${job.number} is not offered.`,
          expected: say`price: and what is asked for it`,
          option: 'off',
        });
      const after = context.store.jobs.add(job.number, [{ kind: 'unlisted' }], hand);
      return jobReply(context, after, { title: say`${jobHeading(context, after)}: no longer offered` });
    }
    const phone = stateOfJob(context, job);
    const held = [whyDanger(job, phone), whyWet(job, phone), whyNoWork(job)].filter((one) => one !== null);
    if (held.length) refuseFor(held, `/job show job:${job.number}`, cardsOfState(context, phone));
    const grade = condition ? gradeOf(condition) : job.grade;
    const range = saleRange(context, job, grade);
    const after =
      price && price.minor > 0
        ? context.store.jobs.add(job.number, [{ kind: 'listed', asked: price }], hand)
        : job;
    const asked = listingOf(after)?.asked ?? null;
    const sections = saleSections(context, after, { grade, asked, range });
    const { name } = phoneOfJob(context, after);
    return jobReply(context, after, {
      title: asked
        ? say`${jobHeading(context, after)}: offered for ${amount(asked)}`
        : say`${jobHeading(context, after)}: a text to sell it by`,
      tone: untestedOf(context, after).length ? 'caution' : 'good',
      blocks: sections.map(({ heading, lines }) => steps(lines, heading, false)),
      files: [
        {
          name: `job-${after.number}-for-sale.txt`,
          mime: 'text/plain',
          alt: say`The text to sell it by, to be put where it is offered.`,
          text: plain`${saleText(name, sections)}\n`,
        },
      ],
      choices: [
        ...(range && !asked
          ? [
              jobChoice(after, say`Offer it for ${amount(range.middle)}`, 'sell', {
                price: toWire(range.middle).amount,
                ...(condition ? { condition } : {}),
              }),
            ]
          : []),
        ...(asked ? [jobChoice(after, say`Take it off again`, 'sell', { off: 'yes' })] : []),
        jobChoice(after, say`The hand-over page`, 'page'),
      ],
    });
  },
});
