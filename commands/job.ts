import { z } from 'zod';
import { oddsOf } from '../shared/diagnosis/case.ts';
import {
  answers,
  type Entry,
  isHistory,
  moneyPurposes,
  questions,
  type testResults,
} from '../shared/jobs/entry.ts';
import { functionsOf } from '../shared/jobs/functions.ts';
import { cameWays, type Ending, endings, type JobRecord, testsOf, totalsOf } from '../shared/jobs/job.ts';
import { type Obstacle, sealedAs, whyNotFinish, whyNoWork } from '../shared/jobs/rules.ts';
import { taughtBy } from '../shared/jobs/teach.ts';
import { counted, listWords, say, translated } from '../shared/language/say.ts';
import { formatMoney, fromMajor, type Money, toMajor } from '../shared/money/money.ts';
import { cardsFor, hazardsOfSymptoms } from '../shared/safety/cautions.ts';
import { partGrades, type TraceRecord } from '../shared/store/index.ts';
import {
  appraisePhone,
  conditions,
  evidenceOf,
  gradeOf,
  learntIn,
  mendedIn,
  type Phone,
  phoneOf,
} from './bench.ts';
import { defineAction, defineCommand } from './command.ts';
import type { Context } from './context.ts';
import { imeiOption, jobMeant, jobOption, openJobMeant, readingOption } from './job/options.ts';
import {
  cautionsOf,
  dataOf,
  endedWords,
  entryInWords,
  faultName,
  headOf,
  intakeFacts,
  jobChoice,
  jobReply,
  moneyFacts,
  netAfterTime,
  phoneOfJob,
  stateInWords,
  untestedOf,
} from './job/reply.ts';
import { sheetFiles } from './job/sheet.ts';
import {
  components,
  faults,
  functions,
  modelsAndFamilies,
  type Named,
  people,
  symptoms as symptomLookup,
} from './lookup.ts';
import {
  choiceOption,
  integerOption,
  lookupOption,
  manyOption,
  moneyOption,
  optional,
  textOption,
} from './option.ts';
import { pairingNotes } from './paired.ts';
import { Refusal } from './refusal.ts';
import { type Block, facts, reply, steps, table, text } from './reply.ts';
import { dayIn } from './words.ts';

export { jobData } from './job/reply.ts';
export const jobListData = z.object({
  jobs: z.array(
    z.object({ job: z.number(), state: z.string(), phone: z.string(), holder: z.string(), days: z.number() }),
  ),
  open: z.number(),
});

const DAY_MS = 24 * 3600 * 1000;
const LISTED = 20;
const SHOWN_ENTRIES = 25;
/** Every function of a phone can be named in one go. */
const MOST_FUNCTIONS = 30;

const handOf = ({ person, now }: Context) => ({ by: person.name, byKey: person.key, at: now });

function refuseFor(obstacles: readonly Obstacle[], example?: string): never {
  throw new Refusal({
    problem: `${obstacles.map(({ problem }) => problem).join('. ')}.`,
    expected: obstacles.map(({ expected }) => expected).join('; '),
    ...(example === undefined ? {} : { example }),
  });
}

const yes = (summary: string) => optional(choiceOption({ summary, example: 'yes', choices: ['yes'] }));
const answerOptions = {
  ownership: optional(
    choiceOption({ summary: 'Is it shown whose it is', example: 'shown', choices: answers.ownership }),
  ),
  lock: optional(choiceOption({ summary: 'Account lock', example: 'free', choices: answers.lock })),
  stolen: optional(choiceOption({ summary: 'Stolen-phone list', example: 'clear', choices: answers.stolen })),
  data: optional(
    choiceOption({
      summary: 'What becomes of the data on it: consent, or how it was erased (NIST SP 800-88 words)',
      example: 'purge',
      choices: answers.data,
    }),
  ),
};

function answersGiven(
  given: Readonly<Partial<Record<(typeof questions)[number], string>>>,
  note: string,
): Entry[] {
  return questions.flatMap((question) => {
    const answer = given[question];
    return answer === undefined ? [] : [{ kind: 'answer' as const, question, answer, note }];
  });
}

/** The phone that is meant: as it is named, else what phones with its TAC turned out to be. */
function phoneAtIntake(
  context: Context,
  model: Named | undefined,
  tac: string | undefined,
): { phone: Phone; learnt: string | null } {
  const [seen] = tac === undefined ? [] : context.store.tacs.find(tac);
  const found = seen && (context.store.models.get(seen.model ?? 0) ?? null);
  if (!model) {
    if (!seen) {
      throw new Refusal({
        problem: tac ? say`No phone with an IMEI like this one has been here.` : say`Which phone is it?`,
        expected: say`a model or a family`,
        option: 'model',
      });
    }
    const phone = phoneOf(
      context,
      found
        ? { id: `model:${found.id}`, name: found.name }
        : { id: `family:${seen.family}`, name: seen.family },
    );
    return {
      phone,
      learnt: counted(
        seen.jobs,
        'Its IMEI begins like one here that was a {1}.',
        'Its IMEI begins like {0} here that were a {1}.',
        phone.name,
      ),
    };
  }
  const phone = phoneOf(context, model);
  if (seen && seen.family !== phone.family.id) {
    const other = context.knowledge.families.get(seen.family)?.name ?? seen.family;
    return {
      phone,
      learnt: say`Look again: phones whose IMEI begins like this were “${other}” here (${countWords(seen.jobs)}).`,
    };
  }
  return { phone, learnt: null };
}
const countWords = (n: number): string => (n === 1 ? 'one' : `${n}`);

const open = defineAction({
  summary: 'Take a phone in',
  who: 'member',
  options: {
    model: optional(
      lookupOption({
        summary: 'The model, or a family; may be left out when its IMEI is known here',
        example: 'Orrin K3',
        lookup: modelsAndFamilies,
      }),
    ),
    came: optional(choiceOption({ summary: 'How it came', example: 'given', choices: cameWays })),
    price: optional(moneyOption({ summary: 'Price paid', example: '20' })),
    condition: optional(choiceOption({ summary: 'How it looks', example: 'fair', choices: conditions })),
    symptoms: optional(
      manyOption(
        lookupOption({
          summary: 'What is seen, separated by commas',
          example: 'dead',
          lookup: symptomLookup,
        }),
      ),
    ),
    imei: optional(imeiOption),
    ...answerOptions,
  },
  examples: [
    '/job open "Orrin K3" came:given symptoms:"dead, no charge"',
    '/job open "Vesper Loam" came:bought price:60 symptoms:"got wet" ownership:shown lock:free stolen:clear',
  ],
  run: ({ model, came = 'given', price, condition = 'fair', symptoms = [], imei, ...given }, context) => {
    const { knowledge, store, person, now, collective } = context;
    const { currency, region } = collective.settings;
    if (price && price.minor > 0 && came !== 'bought') {
      throw new Refusal({
        problem: say`A phone that was ${came === 'customer' ? say`brought by a customer` : came} has no price.`,
        expected: say`came:bought, or no price`,
        option: 'price',
      });
    }
    const { phone, learnt } = phoneAtIntake(context, model, imei?.tac);
    const ids = [...new Set(symptoms.map(({ id }) => id))];
    const paid = price ?? fromMajor(0, currency);
    const grade = gradeOf(condition);
    const { result, bench } = appraisePhone(context, phone, { price: toMajor(paid), grade, symptoms: ids });
    const way = result.ways.find((one) => one.way === result.verdict) ?? result.ways[0];
    const best = result.verdict === 'pass' ? result.ways.find((one) => one.way === 'restore') : way;
    const amount = (value: number | undefined) => fromMajor(value ?? 0, currency);
    const job = store.jobs.open({
      model: phone.model?.id ?? null,
      family: phone.family.id,
      came,
      price: paid,
      grade,
      symptoms: ids,
      imei: imei?.digits ?? null,
      promise: {
        verdict: result.verdict,
        mean: amount(best?.mean),
        low: amount(best?.low),
        high: amount(best?.high),
        minutes: best?.minutes ?? 0,
        chanceRestored: best?.chanceRestored ?? 0,
        odds: Object.fromEntries(
          bench.odds.flatMap(({ fault, share }) => (share >= 0.001 ? [[fault.id, share]] : [])),
        ),
      },
      openedBy: person.name,
      openedKey: person.key,
      at: now,
    });
    if (imei) store.tacs.learn(imei.tac, phone.family.id, phone.model?.id ?? null, now);
    const entries = answersGiven(given, '');
    const opened = entries.length ? store.jobs.add(job.number, entries, handOf(context)) : job;
    const form =
      imei?.form === 'imeisv'
        ? [say`The last two of 16 digits are its software version; they were left out.`]
        : imei?.form === 'without-check-digit'
          ? [say`14 digits have no check digit; it is ${imei.digits.at(-1)}.`]
          : [];
    return jobReply(context, opened, {
      title: say`Job ${opened.number} is open: ${phone.name}`,
      cautions: cardsFor(knowledge, hazardsOfSymptoms(knowledge, ids), region),
      blocks: [
        ...[learnt, ...form].flatMap((line) => (line ? [text(line)] : [])),
        intakeFacts(context, opened),
        moneyFacts(context, opened),
      ],
    });
  },
});

const answer = defineAction({
  summary:
    'Answer what comes before money is spent: ownership, lock, stolen-phone list; and what becomes of its data',
  who: 'member',
  options: {
    job: jobOption,
    ...answerOptions,
    note: optional(textOption({ summary: 'How you know', example: 'receipt seen', max: 200 })),
  },
  examples: ['/job answer ownership:shown lock:free stolen:clear', '/job answer job:12 data:purge'],
  run: ({ job: named, note = '', ...given }, context) => {
    const job = openJobMeant(context, named);
    const entries = answersGiven(given, note);
    if (!entries.length) {
      throw new Refusal({
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

/** The consequence of a fitted component, said at once. */
function fittedBlocks(context: Context, job: JobRecord, component: string): Block[] {
  const { family } = phoneOfJob(context, job);
  const name = context.knowledge.components.get(component)?.name ?? component;
  const lines = pairingNotes(context, family, component);
  const waiting = component === 'gasket' ? untestedOf(context, job).filter(({ closing }) => !closing) : [];
  return [
    steps(lines, say`${name}: what the swap does`, false),
    ...(waiting.length
      ? [
          text(
            say`Not tested yet: ${listWords(waiting.map(({ name: one }) => one.toLowerCase()))}. Test before the gasket is pressed: it is used once.`,
          ),
        ]
      : []),
  ];
}

function traceBlocks(context: Context, trace: TraceRecord): Block[] {
  const remedy = mendedIn(trace, context);
  return [
    text(
      remedy
        ? say`Trace ${trace.number}: mended by ${remedy.name}.`
        : say`Trace ${trace.number} is ${trace.state === 'open' ? say`still open` : say`ended without a remedy`}.`,
    ),
  ];
}

const log = defineAction({
  summary:
    'Write something in the log: money, minutes, a reading, a fitted component, a trace, or words for the room',
  who: 'member',
  options: {
    text: optional(textOption({ summary: 'Words for the room', example: 'port cleaned', max: 500 })),
    job: jobOption,
    out: optional(moneyOption({ summary: 'Money spent', example: '14' })),
    in: optional(moneyOption({ summary: 'Money that came back', example: '8' })),
    for: optional(
      choiceOption({ summary: 'What the money was for', example: 'part', choices: moneyPurposes }),
    ),
    component: optional(
      lookupOption({ summary: 'The part that was bought or sold', example: 'battery', lookup: components }),
    ),
    grade: optional(choiceOption({ summary: 'The grade of the part', example: 'copy', choices: partGrades })),
    minutes: optional(integerOption({ summary: 'Minutes at the bench', example: '25', min: 1, max: 1440 })),
    reading: optional(readingOption),
    fitted: optional(
      lookupOption({ summary: 'A component that was fitted', example: 'battery', lookup: components }),
    ),
    trace: optional(integerOption({ summary: 'A trace of this phone', example: '3', min: 1, max: 1e9 })),
  },
  examples: [
    '/job log fitted:battery grade:copy out:14 minutes:25',
    '/job log "port cleaned" minutes:10',
    '/job log reading:"3.82 V cell"',
  ],
  run: (given, context) => {
    const job = openJobMeant(context, given.job);
    const { family } = phoneOfJob(context, job);
    const part = given.component ?? given.fitted;
    for (const [option, named] of [
      ['component', given.component],
      ['fitted', given.fitted],
    ] as const) {
      if (named && !(named.id in family.components)) {
        throw new Refusal({
          problem: say`A ${family.name} has no ${named.name}.`,
          expected: say`a component of its family`,
          option,
        });
      }
    }
    const blocked = whyNoWork(job);
    if (blocked && (given.out || given.fitted)) {
      refuseFor([blocked], `/job answer job:${job.number} ownership:shown lock:free stolen:clear`);
    }
    if (given.for && !given.out && !given.in) {
      throw new Refusal({
        problem: say`No money is given.`,
        expected: say`out: or in: with the amount`,
        option: 'for',
      });
    }
    if (given.grade && !part) {
      throw new Refusal({
        problem: say`The grade of what?`,
        expected: say`component: or fitted:`,
        option: 'grade',
      });
    }
    const trace = given.trace === undefined ? null : context.store.traces.get(given.trace);
    if (given.trace !== undefined && !trace) {
      throw new Refusal({
        problem: say`There is no trace ${given.trace} here.`,
        expected: say`a number from /trace list`,
        option: 'trace',
      });
    }
    if (trace && trace.family !== job.family) {
      throw new Refusal({
        problem: say`Trace ${trace.number} is of another kind of phone.`,
        expected: say`a trace of this phone`,
        option: 'trace',
      });
    }
    const money = (way: 'out' | 'in', amount: Money | undefined): Entry[] =>
      amount && amount.minor > 0
        ? [
            {
              kind: 'money',
              way,
              amount,
              purpose: given.for ?? (part ? 'part' : 'other'),
              component: part?.id ?? null,
              grade: part ? (given.grade ?? null) : null,
            },
          ]
        : [];
    const entries: Entry[] = [
      ...(given.fitted
        ? [{ kind: 'fitted' as const, component: given.fitted.id, grade: given.grade ?? ('used' as const) }]
        : []),
      ...money('out', given.out),
      ...money('in', given.in),
      ...(given.minutes ? [{ kind: 'minutes' as const, minutes: given.minutes }] : []),
      ...(given.reading ? [{ kind: 'reading' as const, ...given.reading }] : []),
      ...(trace ? [{ kind: 'trace' as const, trace: trace.number }] : []),
      ...(given.text ? [{ kind: 'said' as const, text: given.text }] : []),
    ];
    if (!entries.length) {
      throw new Refusal({
        problem: say`There is nothing to write down.`,
        expected: say`words, or one of out:, in:, minutes:, reading:, fitted:, trace:`,
      });
    }
    if (given.fitted && !given.grade) {
      throw new Refusal({
        problem: say`Which grade is the ${given.fitted.name}? The next owner is told.`,
        expected: say`grade: and one of ${partGrades.join(', ')}`,
        option: 'grade',
      });
    }
    if (trace) context.store.jobs.setTrace(job.number, trace.number);
    const after = context.store.jobs.add(job.number, entries, handOf(context));
    const { out, back, minutes } = totalsOf(after);
    const show = (amount: Money) => formatMoney(amount, context.locale);
    return jobReply(context, after, {
      title: `${headOf(context, after)}: ${after.entries
        .slice(-entries.length)
        .map((one) => entryInWords(context, one))
        .join('; ')}`,
      blocks: [
        ...(given.fitted ? fittedBlocks(context, after, given.fitted.id) : []),
        ...(trace ? traceBlocks(context, trace) : []),
        facts([
          [say`Out so far`, show(out)],
          ...(back.minor ? [[say`Came back`, show(back)] as const] : []),
          [say`At the bench`, say`${minutes} min`],
        ]),
      ],
    });
  },
});

const test = defineAction({
  summary: 'Go through its functions before it is closed for good: passed, failed, or waived with a reason',
  who: 'member',
  options: {
    pass: optional(
      manyOption(
        lookupOption({ summary: 'What passed', example: 'display, touch', lookup: functions }),
        MOST_FUNCTIONS,
      ),
    ),
    job: jobOption,
    fail: optional(
      manyOption(
        lookupOption({ summary: 'What failed', example: 'fingerprint', lookup: functions }),
        MOST_FUNCTIONS,
      ),
    ),
    waive: optional(
      manyOption(
        lookupOption({ summary: 'What is not tested or not mended', example: 'radios', lookup: functions }),
        MOST_FUNCTIONS,
      ),
    ),
    reason: optional(
      textOption({
        summary: 'Why it is waived; the next owner is told',
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
  run: ({ pass = [], job: named, fail = [], waive = [], reason = '' }, context) => {
    const job = openJobMeant(context, named);
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
          problem: say`A ${family.name} has no ${one.name.toLowerCase()} to test.`,
          expected: say`one of ${own.map(({ name }) => name.toLowerCase()).join(', ')}`,
        });
      }
      if (given.findIndex(([other]) => other.id === one.id) !== index) {
        throw new Refusal({ problem: say`${one.name} is named twice.`, expected: say`one result for each` });
      }
    }
    if (waive.length && !reason) {
      throw new Refusal({
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
  const results_ = say`${count('pass')} of ${own.length} passed${count('waived') ? say`, ${count('waived')} waived` : ''}${
    failed.length ? say`, ${failed.length} failed` : ''
  }`;
  if (!next) {
    return jobReply(context, job, {
      title: `${headOf(context, job)}: ${results_}`,
      tone: failed.length ? 'caution' : 'good',
      blocks: failed.length
        ? [
            text(
              say`Failed: ${listWords(failed.map(({ name }) => name.toLowerCase()))}. Mend and test again, or waive it with a reason.`,
            ),
          ]
        : [],
    });
  }
  return reply({
    title: `${headOf(context, job)}: ${changed ? say`${results_}; next: ` : ''}${next.name.toLowerCase()}`,
    tone: early || failed.length ? 'caution' : 'plain',
    cautions: cautionsOf(context, job),
    blocks: [
      ...(early
        ? [
            text(
              say`The seal is closed and not everything is tested: if something fails now it has to be opened again.`,
            ),
          ]
        : []),
      text(next.how, next.name),
      ...(next.closing
        ? []
        : [
            text(
              say`Still to test before the seal is pressed: ${listWords(left.map(({ name }) => name.toLowerCase()))}.`,
            ),
          ]),
    ],
    choices: [
      jobChoice(job, say`Passes`, 'test', { pass: next.name }),
      jobChoice(job, say`Fails`, 'test', { fail: next.name }),
      jobChoice(job, say`Cannot be tested here`, 'test', {
        waive: next.name,
        reason: say`could not be tested here`,
      }),
    ],
    data: dataOf(context, job),
  });
}

/** The fault that a mended trace speaks of: the likeliest that its remedy mends. */
function faultOfTrace(context: Context, job: JobRecord): { fault: string | null; remedy: string | null } {
  const trace = job.trace === null ? null : context.store.traces.get(job.trace);
  const remedy = trace && mendedIn(trace, context);
  if (!trace || !remedy) return { fault: null, remedy: null };
  const { family } = phoneOfJob(context, job);
  const learnt = learntIn(context);
  const weights = learnt.weights(family);
  const odds = oddsOf({
    knowledge: learnt.knowledge,
    family,
    symptoms: trace.symptoms,
    evidence: evidenceOf(trace),
    ...(weights ? { weights } : {}),
  });
  const fault = odds?.find((one) => (learnt.knowledge.remedies.get(remedy.id)?.works[one.fault.id] ?? 0) > 0);
  return { fault: fault?.fault.id ?? null, remedy: remedy.id };
}

function taughtHere(context: Context, job: JobRecord, fault: string | null, remedy: string | null) {
  const { family } = phoneOfJob(context, job);
  const trace = job.trace === null ? null : context.store.traces.get(job.trace);
  const learnt = learntIn(context);
  const weights = learnt.weights(family);
  return taughtBy({
    knowledge: learnt.knowledge,
    family,
    symptoms: trace?.symptoms ?? job.symptoms,
    evidence: trace ? evidenceOf(trace) : [],
    fault,
    remedy,
    ...(weights ? { weights } : {}),
  });
}

const finish = defineAction({
  summary: 'End a job: restored, stripped, passed on or handed back',
  who: 'member',
  options: {
    as: choiceOption({ summary: 'How it ends', example: 'restored', choices: endings }),
    job: jobOption,
    sold: optional(moneyOption({ summary: 'What it brought', example: '138' })),
    kept: yes('The collective keeps it'),
    fault: optional(
      lookupOption({
        summary: 'The fault that it was; without it, what its trace says',
        example: 'battery-open',
        lookup: faults,
      }),
    ),
    parts: optional(
      manyOption(
        lookupOption({
          summary: 'Components kept from a stripped one',
          example: 'front camera',
          lookup: components,
        }),
      ),
    ),
    unsealed: yes('It is left unsealed, and the next owner is told'),
    note: optional(textOption({ summary: 'Words for the room', example: 'to the school', max: 300 })),
  },
  examples: [
    '/job finish restored sold:138',
    '/job finish stripped parts:"front camera, speaker"',
    '/job finish handed-back',
  ],
  run: ({ as, job: named, sold, kept, fault: said, parts = [], unsealed, note }, context) => {
    const job = openJobMeant(context, named);
    const { store, now, person } = context;
    const { family } = phoneOfJob(context, job);
    const own = functionsOf(context.knowledge, family);
    const finishing = {
      as,
      realised: sold !== undefined,
      kept: kept === 'yes',
      unsealed: unsealed === 'yes',
    };
    const obstacles = whyNotFinish(job, own, finishing);
    if (obstacles.length) refuseFor(obstacles, `/job show job:${job.number}`);
    if (parts.length && as !== 'stripped') {
      throw new Refusal({
        problem: say`Parts are kept from a stripped phone only.`,
        expected: 'as:stripped',
        option: 'parts',
      });
    }
    const foreign = parts.find(({ id }) => !(id in family.components));
    if (foreign) {
      throw new Refusal({
        problem: say`A ${family.name} has no ${foreign.name}.`,
        expected: say`components of its family`,
        option: 'parts',
      });
    }
    if (said) {
      const possible = context.knowledge.faults.get(said.id);
      if (!possible || !(possible.component in family.components)) {
        throw new Refusal({
          problem: say`A ${family.name} cannot have “${said.name}”.`,
          expected: say`a fault of its family`,
          option: 'fault',
        });
      }
    }
    const traced = faultOfTrace(context, job);
    const fault = said?.id ?? traced.fault;
    const taught =
      as === 'handed-back' && fault === null ? null : taughtHere(context, job, fault, traced.remedy);
    const ending: Ending = {
      realised: sold ?? null,
      kept: finishing.kept,
      fault,
      remedy: traced.remedy,
      parts: parts.map(({ id }) => id),
      sealed: as === 'restored' ? sealedAs(job, own, finishing.unsealed) : null,
      by: person.name,
      taught: {
        faults: (taught?.faults ?? []).map(([id, n]) => [id, n]),
        outcomes: (taught?.outcomes ?? []).map(([step, id, outcome, n]) => [step, id, outcome, n]),
      },
    };
    store.jobs.add(
      job.number,
      [...(note ? [{ kind: 'said' as const, text: note }] : []), { kind: 'finished' as const, as }],
      handOf(context),
    );
    const after = store.jobs.end(job.number, as, now, ending);
    if (taught) store.lessons.teach(job.family, taught, fault !== null, 1);
    return finished(context, after);
  },
});

function finished(context: Context, job: JobRecord) {
  const show = (amount: Money) => formatMoney(amount, context.locale);
  const { net, back } = totalsOf(job);
  const as = job.ended?.as ?? 'restored';
  const ending = job.ended?.ending;
  const after = netAfterTime(context, job);
  const against =
    job.promise.verdict === 'pass' && as !== 'handed-back'
      ? say` At intake the advice was to pass.`
      : as === 'restored' && !ending?.kept
        ? say` At intake ${show(job.promise.mean)} was expected after time, between ${show(job.promise.low)} and ${show(job.promise.high)} eight times in ten.`
        : '';
  const parts = (ending?.parts ?? []).map((id) => context.knowledge.components.get(id)?.name ?? id);
  return jobReply(context, job, {
    title: `${headOf(context, job)}: ${translated(endedWords[as])}${as === 'restored' ? (ending?.kept ? say`, kept here` : say`, ${show(net)} left`) : ''}`,
    tone: as === 'restored' ? 'good' : 'plain',
    blocks: [
      text(
        as === 'handed-back'
          ? say`Closed. Write down who took it and when, as your local rules ask.`
          : say`${show(back)} came back; ${show(after)} is left when the bench time is paid.${against}`,
      ),
      ...(parts.length
        ? [
            text(
              say`Kept for stock: ${listWords(parts)}. What is paired to its board may not work elsewhere: /paired says which.`,
            ),
          ]
        : []),
      ...(as === 'restored' || as === 'stripped'
        ? [
            text(
              say`The fault: ${faultName(context, ending?.fault ?? null)}.${ending?.taught.faults.length ? say` Later traces learn from it.` : ''}`,
            ),
          ]
        : []),
      moneyFacts(context, job),
    ],
    choices: as === 'restored' ? [jobChoice(job, say`The sheet for the next owner`, 'sheet')] : [],
  });
}

const show = defineAction({
  summary: 'Show where a job stands, with its log',
  options: { job: jobOption },
  examples: ['/job 12', '/job'],
  run: ({ job: named }, context) => {
    const job = jobMeant(context, named);
    const hidden = Math.max(0, job.entries.length - SHOWN_ENTRIES);
    const rows = job.entries
      .slice(-SHOWN_ENTRIES)
      .map((logged) => [
        String(logged.seq),
        dayIn(context, logged.at),
        logged.struck
          ? say`struck out by ${logged.struck.by} (${logged.struck.why}): ${entryInWords(context, logged)}`
          : entryInWords(context, logged),
        logged.by,
      ]);
    return jobReply(context, job, {
      blocks: [
        intakeFacts(context, job),
        moneyFacts(context, job),
        ...(rows.length
          ? [
              table(
                [say`>No.`, say`Day`, say`Entry`, say`By`],
                rows,
                hidden ? say`Log, the last ${rows.length} of ${job.entries.length}` : say`Log`,
              ),
            ]
          : []),
      ],
    });
  },
});

const list = defineAction({
  summary: 'List the open jobs',
  options: { mine: yes('Only those that you hold') },
  examples: ['/job list', '/job list mine:yes'],
  run: ({ mine }, context) => {
    const { store, now, person } = context;
    const jobs = store.jobs.listOpen({
      ...(mine ? { holderKey: person.key } : {}),
      limit: LISTED,
    });
    const total = mine ? jobs.length : store.jobs.countOpen();
    const rows = jobs.map((job) => ({
      job: job.number,
      state: stateInWords(job),
      phone: phoneOfJob(context, job).name,
      holder: job.holder,
      days: Math.floor((now.getTime() - job.at.getTime()) / DAY_MS),
    }));
    return reply({
      title: rows.length
        ? mine
          ? counted(total, '{0} open job that you hold', '{0} open jobs that you hold')
          : counted(total, '{0} open job', '{0} open jobs')
        : mine
          ? say`You hold no open job`
          : say`No job is open`,
      blocks: rows.length
        ? [
            table(
              [say`>No.`, say`Phone`, say`State`, say`Held by`, '>Days'],
              rows.map((row) => [String(row.job), row.phone, row.state, row.holder, String(row.days)]),
            ),
            ...(total > rows.length
              ? [text(say`The newest ${rows.length} are shown. /job list mine:yes shows yours.`)]
              : []),
          ]
        : [text(say`Take one in: /job open "Orrin K3" came:given symptoms:dead`)],
      choices: jobs.slice(0, 9).map((job) => ({
        label: say`Job ${job.number}`,
        invoke: { command: 'job', action: 'show', options: { job: String(job.number) } },
      })),
      data: { jobs: rows, open: total },
    });
  },
});

const take = defineAction({
  summary: 'Take a job over',
  who: 'member',
  options: { job: jobOption },
  examples: ['/job take job:12'],
  run: ({ job: named }, context) => {
    const job = openJobMeant(context, named);
    return handed(context, job, { key: context.person.key, name: context.person.name });
  },
});

const hand = defineAction({
  summary: 'Hand a job to another member',
  who: 'member',
  options: {
    to: lookupOption({ summary: 'Who takes it', example: 'Wren', lookup: people }),
    job: jobOption,
  },
  examples: ['/job hand Wren job:12'],
  run: ({ to, job: named }, context) => {
    const job = openJobMeant(context, named);
    if (job.holderKey !== context.person.key && context.person.role !== 'steward') {
      throw new Refusal({
        problem: say`Job ${job.number} is held by ${job.holder}.`,
        expected: say`to take it yourself, or to ask ${job.holder}`,
        example: `/job take job:${job.number}`,
      });
    }
    return handed(context, job, { key: to.id, name: to.name });
  },
});

function handed(context: Context, job: JobRecord, to: { key: string; name: string }) {
  if (to.key === job.holderKey) {
    throw new Refusal({
      problem: say`${to.name} holds job ${job.number} already.`,
      expected: say`somebody else`,
    });
  }
  context.store.jobs.hand(job.number, to);
  const after = context.store.jobs.add(
    job.number,
    [{ kind: 'handed', from: job.holder, to: to.name }],
    handOf(context),
  );
  return jobReply(context, after, { title: say`${headOf(context, after)}: now with ${to.name}` });
}

const strike = defineAction({
  summary: 'Strike an entry out: it stays to be read, and counts no more',
  who: 'member',
  options: {
    entry: integerOption({
      summary: 'The number of the entry, from /job show',
      example: '4',
      min: 1,
      max: 1e6,
    }),
    why: textOption({ summary: 'What was wrong with it', example: 'typed twice', max: 200 }),
    job: jobOption,
  },
  examples: ['/job strike 4 why:"typed twice" job:12'],
  run: ({ entry: seq, why, job: named }, context) => {
    const job = openJobMeant(context, named);
    const found = job.entries.find((one) => one.seq === seq);
    if (!found) {
      throw new Refusal({
        problem: say`Job ${job.number} has no entry ${seq}.`,
        expected: say`a number from /job show job:${job.number}`,
        option: 'entry',
      });
    }
    if (found.struck) {
      throw new Refusal({
        problem: say`Entry ${seq} is struck out already.`,
        expected: say`another entry`,
        option: 'entry',
      });
    }
    if (isHistory(found.entry)) {
      throw new Refusal({
        problem: say`That is the history of the job and stays.`,
        expected: say`an entry that somebody wrote`,
        option: 'entry',
      });
    }
    if (found.byKey !== context.person.key && context.person.role !== 'steward') {
      throw new Refusal({
        problem: say`Entry ${seq} was written by ${found.by}.`,
        expected: say`to ask ${found.by} or a steward`,
        option: 'entry',
      });
    }
    const after = context.store.jobs.strike(job.number, seq, handOf(context), why);
    return jobReply(context, after, {
      title: say`${headOf(context, after)}: entry ${seq} is struck out`,
      blocks: [
        text(say`It said: ${entryInWords(context, found)}. It stays to be read and counts no more.`),
        moneyFacts(context, after),
      ],
    });
  },
});

const reopen = defineAction({
  summary: 'Open a closed job again, as when the phone comes back; what it taught is taken back',
  who: 'member',
  options: {
    why: textOption({ summary: 'Why', example: 'came back with the same fault', max: 200 }),
    job: jobOption,
  },
  examples: ['/job reopen "came back with the same fault" job:12'],
  run: ({ why, job: named }, context) => {
    const { store, person } = context;
    const job = named ? jobMeant(context, named) : undefined;
    if (!job) {
      throw new Refusal({ problem: say`Which job?`, expected: say`job: and its number`, option: 'job' });
    }
    if (!job.ended) {
      throw new Refusal({
        problem: say`Job ${job.number} is open.`,
        expected: say`a closed one`,
        option: 'job',
      });
    }
    if (job.holderKey !== person.key && person.role !== 'steward') {
      throw new Refusal({
        problem: say`Job ${job.number} was ${job.holder}’s.`,
        expected: say`to ask ${job.holder} or a steward`,
      });
    }
    const { taught, fault } = job.ended.ending;
    if (taught.faults.length) store.lessons.teach(job.family, taught, fault !== null, -1);
    store.jobs.reopen(job.number);
    const after = store.jobs.add(job.number, [{ kind: 'reopened', why }], handOf(context));
    return jobReply(context, after, { title: say`${headOf(context, after)}: open again` });
  },
});

const sheet = defineAction({
  summary: 'The sheet for the next owner, one page',
  who: 'member',
  options: { job: jobOption },
  examples: ['/job sheet job:12'],
  run: ({ job: named }, context) => {
    const job = jobMeant(context, named);
    const untested = untestedOf(context, job);
    if (job.ended && job.ended.as !== 'restored') {
      throw new Refusal({
        problem: say`Job ${job.number} was ${translated(endedWords[job.ended.as])}.`,
        expected: say`a restored phone`,
      });
    }
    return reply({
      title: say`${headOf(context, job)}: the sheet for its next owner`,
      tone: job.ended ? 'good' : 'caution',
      blocks: [
        ...(job.ended
          ? []
          : [
              text(
                say`A draft: the job is ${stateInWords(job)}${untested.length ? say` and not tested for ${listWords(untested.map(({ name }) => name.toLowerCase()))}` : ''}.`,
              ),
            ]),
        text(say`Print it or send it with the phone. It has no name, price or IMEI on it.`),
      ],
      files: sheetFiles(context, job),
      data: dataOf(context, job),
    });
  },
});

export const job = defineCommand({
  name: 'job',
  summary: 'A phone from intake to its next owner',
  main: 'show',
  actions: { show, open, answer, log, test, finish, sheet, list, take, hand, strike, reopen },
});
