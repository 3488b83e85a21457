/** `/job test`: every function is gone through before the phone is closed for good. */

import type { PhoneFunction, TestGroup } from '../../knowledge/schema.ts';
import type { testResults } from '../../shared/jobs/entry.ts';
import { functionsOf, nextGroup } from '../../shared/jobs/functions.ts';
import { type JobRecord, testsOf } from '../../shared/jobs/job.ts';
import { whyDanger, whyNoWork, whyWet } from '../../shared/jobs/rules.ts';
import type { Message } from '../../shared/language/message.ts';
import { inRow, inSentence, listWords, packText, plain, say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { lookupOption, manyOption, optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { facts, reply, text } from '../framework/reply.ts';
import { cardsForPhone, cardsOfState } from '../shared/caution-cards.ts';
import { jobChoice, jobOption, openJobMeant } from '../shared/find-job.ts';
import { functions } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob, subjectOfJob } from '../shared/phone-state.ts';
import { jobData, jobDataOf } from './job-data.ts';
import { handOf, refuseFor } from './options.ts';
import { cautionsOf, jobHeading, jobReply } from './reply.ts';

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
  needs: [needs.openJob],
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

const groupWords: Readonly<Record<TestGroup, Message>> = {
  open: say`Cell in, still open`,
  plugged: say`Everything plugged in and laid together`,
  call: say`On a call, beside another phone`,
  charger: say`On chargers`,
  closed: say`The seal, and closed`,
};

function allTested(context: Context, job: JobRecord, tally: Message, failed: readonly PhoneFunction[]) {
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

function testReply(context: Context, job: JobRecord, changed: boolean) {
  const { family } = phoneOfJob(context, job);
  const own = functionsOf(context.knowledge, family);
  const results = testsOf(job);
  const left = own.filter(({ id }) => !results.has(id));
  const failed = own.filter(({ id }) => results.get(id)?.result === 'fail');
  const next = nextGroup(left);
  const count = (result: (typeof testResults)[number]) =>
    own.filter(({ id }) => results.get(id)?.result === result).length;
  const early = results.has('seal') && left.length > 0;
  const tally = inRow([
    say`${count('pass')} of ${own.length} passed`,
    count('waived') ? say`${count('waived')} waived` : '',
    failed.length ? say`${failed.length} failed` : '',
  ]);
  if (!next) return allTested(context, job, tally, failed);
  const { group, own: here } = next;
  const names = here.map(({ name }) => inSentence(packText(name)));
  const before = groupsOf(left)
    .filter((one) => one !== 'closed')
    .map((one) => inSentence(groupWords[one]));
  const sealed = own.some(({ closing }) => closing);
  return reply({
    title: changed
      ? say`${jobHeading(context, job)}: ${tally}; next: ${inSentence(groupWords[group])}`
      : plain`${jobHeading(context, job)}: ${inSentence(groupWords[group])}`,
    tone: early || failed.length ? 'caution' : 'plain',
    cautions: [
      ...cautionsOf(context, job),
      ...cardsForPhone(
        context,
        subjectOfJob(job),
        stateOfJob(context, job),
        here.flatMap(({ hazards }) => hazards),
      ),
    ],
    blocks: [
      ...(early
        ? [
            text(
              say`The seal is closed and not everything is tested: if something fails now it has to be opened again.`,
            ),
          ]
        : []),
      facts(
        here.map(({ name, how }) => [packText(name), packText(how)] as const),
        groupWords[group],
      ),
      ...(before.length
        ? [
            text(
              sealed
                ? say`Still to test before the seal is pressed: ${listWords(before)}.`
                : say`Still to test: ${listWords(before)}.`,
            ),
          ]
        : []),
    ],
    choices: groupChoices(context, job, here, names),
    data: jobDataOf(context, job),
  });
}

const groupsOf = (functions: readonly PhoneFunction[]): TestGroup[] => [
  ...new Set(functions.map(({ group }) => group)),
];

/** All of a group at once, or what of it fails or cannot be tested: the rest of the group is then asked again. */
function groupChoices(
  context: Context,
  job: JobRecord,
  here: readonly PhoneFunction[],
  names: readonly Message[],
) {
  const waived = { reason: context.write(say`could not be tested here`) };
  const [only] = here;
  if (only && here.length === 1) {
    return [
      jobChoice(job, say`Passes`, 'test', { pass: only.id }),
      jobChoice(job, say`Fails`, 'test', { fail: only.id }),
      jobChoice(job, say`Cannot be tested here`, 'test', { waive: only.id, ...waived }),
    ];
  }
  return [
    jobChoice(job, say`All ${here.length} pass`, 'test', { pass: here.map(({ id }) => id).join(', ') }),
    ...here.map(({ id, name }, index) => ({
      ...jobChoice(job, say`Fails: ${names[index] ?? ''}`, 'test', { fail: id }),
      several: { title: say`What fails?`, label: packText(name) },
    })),
    ...here.map(({ id, name }, index) => ({
      ...jobChoice(job, say`Cannot be tested here: ${names[index] ?? ''}`, 'test', { waive: id, ...waived }),
      several: { title: say`What cannot be tested here?`, label: packText(name) },
    })),
  ];
}
