/** `/job test`: every function is gone through before the phone is closed for good. */
import type { testResults } from '../../shared/jobs/entry.ts';
import { functionsOf } from '../../shared/jobs/functions.ts';
import { type JobRecord, testsOf } from '../../shared/jobs/job.ts';
import { whyDanger, whyNoWork, whyWet } from '../../shared/jobs/rules.ts';
import { inRow, inSentence, listWords, packText, plain, say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { lookupOption, manyOption, optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { cardsForPhone, cardsOfState } from '../shared/caution-cards.ts';
import { jobChoice, jobOption, openJobMeant } from '../shared/find-job.ts';
import { functions } from '../shared/lookups.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob, subjectOfJob } from '../shared/phone-state.ts';
import { handOf, refuseFor } from './options.ts';
import { cautionsOf, jobData, jobDataOf, jobHeading, jobReply } from './reply.ts';

/** Every function of a phone can be named in one go. */
const MOST_FUNCTIONS = 30;

export const jobTest = defineAction({
  summary: say`Go through its functions before it is closed for good: passed, failed, or waived with a reason`,
  who: 'member',
  options: {
    pass: optional(
      manyOption(
        lookupOption({ summary: say`What passed`, example: 'display, touch', lookup: functions }),
        MOST_FUNCTIONS,
      ),
    ),
    job: jobOption,
    fail: optional(
      manyOption(
        lookupOption({ summary: say`What failed`, example: 'fingerprint', lookup: functions }),
        MOST_FUNCTIONS,
      ),
    ),
    waive: optional(
      manyOption(
        lookupOption({
          summary: say`What is not tested or not mended`,
          example: 'radios',
          lookup: functions,
        }),
        MOST_FUNCTIONS,
      ),
    ),
    reason: optional(
      textOption({
        summary: say`Why it is waived; the next owner is told`,
        example: 'no SIM at hand',
        max: 200,
      }),
    ),
  },
  examples: [
    '/job test',
    '/job test pass:"display, touch, charging"',
    '/job test waive:radios reason:"no SIM at hand"',
  ],

  data: jobData,
  refuses: ['missing-option', 'wrong-state', 'unsafe'],
  run: ({ pass = [], job: named, fail = [], waive = [], reason = '' }, context) => {
    const job = openJobMeant(context, named);
    const phone = stateOfJob(context, job);
    const held = [whyDanger(job, phone), whyWet(job, phone)].filter((one) => one !== null);
    if (held.length) refuseFor(held, `/danger show job:${job.number}`, cardsOfState(context, phone));
    const blocked = whyNoWork(job);
    if (blocked) refuseFor([blocked], `/job answer job:${job.number} ownership:shown lock:free stolen:clear`);
    const { family } = phoneOfJob(context, job);
    const own = functionsOf(context.knowledge, family);
    const given = [
      ...pass.map((one) => [one, 'pass'] as const),
      ...fail.map((one) => [one, 'fail'] as const),
      ...waive.map((one) => [one, 'waived'] as const),
    ];
    for (const [index, [one]] of given.entries()) {
      if (!own.some(({ id }) => id === one.id)) {
        throw new Refusal({
          code: 'bad-option',
          problem: say`A ${packText(family.name)} has no ${inSentence(verbatim(one.name))} to test.`,
          expected: say`one of ${inRow(own.map(({ name }) => inSentence(packText(name))))}`,
        });
      }
      if (given.findIndex(([other]) => other.id === one.id) !== index) {
        throw new Refusal({
          code: 'bad-option',
          problem: say`${verbatim(one.name)} is named twice.`,
          expected: say`one result for each`,
        });
      }
    }
    if (waive.length && !reason) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`A waived test needs its reason.`,
        expected: say`reason: and why; the next owner is told`,
        option: 'reason',
        example: '/job test waive:radios reason:"no SIM at hand"',
      });
    }
    const after = given.length
      ? context.store.jobs.add(
          job.number,
          given.map(([one, result]) => ({
            kind: 'test' as const,
            function: one.id,
            result,
            reason: result === 'waived' ? reason : '',
          })),
          handOf(context),
        )
      : job;
    return testReply(context, after, given.length > 0);
  },
});

function testReply(context: Context, job: JobRecord, changed: boolean) {
  const { family } = phoneOfJob(context, job);
  const own = functionsOf(context.knowledge, family);
  const results = testsOf(job);
  const left = own.filter(({ id }) => !results.has(id));
  const failed = own.filter(({ id }) => results.get(id)?.result === 'fail');
  const [next] = left;
  const count = (result: (typeof testResults)[number]) =>
    own.filter(({ id }) => results.get(id)?.result === result).length;
  const early = results.has('seal') && left.length > 0;
  const tally = inRow([
    say`${count('pass')} of ${own.length} passed`,
    count('waived') ? say`${count('waived')} waived` : '',
    failed.length ? say`${failed.length} failed` : '',
  ]);
  if (!next) {
    return jobReply(context, job, {
      title: plain`${jobHeading(context, job)}: ${tally}`,
      tone: failed.length ? 'caution' : 'good',
      blocks: failed.length
        ? [
            text(
              say`Failed: ${listWords(failed.map(({ name }) => inSentence(packText(name))))}. Mend and test again, or waive it with a reason.`,
            ),
          ]
        : [],
    });
  }
  return reply({
    title: changed
      ? say`${jobHeading(context, job)}: ${tally}; next: ${inSentence(packText(next.name))}`
      : plain`${jobHeading(context, job)}: ${inSentence(packText(next.name))}`,
    tone: early || failed.length ? 'caution' : 'plain',
    cautions: [
      ...cautionsOf(context, job),
      ...cardsForPhone(context, subjectOfJob(job), stateOfJob(context, job), next.hazards),
    ],
    blocks: [
      ...(early
        ? [
            text(
              say`The seal is closed and not everything is tested: if something fails now it has to be opened again.`,
            ),
          ]
        : []),
      text(packText(next.how), packText(next.name)),
      ...(next.closing
        ? []
        : [
            text(
              say`Still to test before the seal is pressed: ${listWords(left.map(({ name }) => inSentence(packText(name))))}.`,
            ),
          ]),
    ],
    choices: [
      jobChoice(job, say`Passes`, 'test', { pass: next.id }),
      jobChoice(job, say`Fails`, 'test', { fail: next.id }),
      jobChoice(job, say`Cannot be tested here`, 'test', {
        waive: next.id,
        reason: context.write(say`could not be tested here`),
      }),
    ],
    data: jobDataOf(context, job),
  });
}
