/** What `/job` answers about one job: where it stands, what it cost, what was promised, what comes next. */
import { z } from 'zod';
import { answers, type LoggedEntry, questions } from '../../shared/jobs/entry.ts';
import { functionsOf } from '../../shared/jobs/functions.ts';
import {
  answersOf,
  endingSchema,
  endings,
  type JobRecord,
  jobStateOf,
  jobStates,
  openQuestions,
  testsOf,
  totalsOf,
} from '../../shared/jobs/job.ts';
import { HAND_BACK, whyNoWork } from '../../shared/jobs/rules.ts';
import { listWords, say, translated } from '../../shared/language/say.ts';
import {
  formatMoney,
  fromMajor,
  type Money,
  money,
  moneyWire,
  toMajor,
  toWire,
} from '../../shared/money/money.ts';
import { referenceHour } from '../../shared/money/reference-hour.ts';
import { saidFacts } from '../../shared/phone/event.ts';
import { dangers, wetFactsOf, wetnesses } from '../../shared/phone/state.ts';
import { cardOf } from '../../shared/safety/cautions.ts';
import type { Context } from '../framework/context.ts';
import {
  type Block,
  type CautionCard,
  type Choice,
  facts,
  type Reply,
  reply,
  steps,
  text,
} from '../framework/reply.ts';
import { cardsOfState } from '../shared/caution-cards.ts';
import { dangerChoice, dangerReply, misreadChoice } from '../shared/danger-reply.ts';
import { jobChoice } from '../shared/find-job.ts';
import { familyById, phoneOfJob } from '../shared/phone.ts';
import { stateOfJob, subjectOfJob } from '../shared/phone-state.ts';
import { componentName, dayIn, percent } from '../shared/words.ts';

export const jobData = z.object({
  job: z.number().int(),
  revision: z.number().int(),
  state: z.enum(jobStates),
  danger: z.enum(dangers),
  wet: z.enum(wetnesses),
  /** What was ever stated of its phone. */
  facts: z.array(z.enum(saidFacts)),
  model: z.string().nullable(),
  family: z.string(),
  came: z.string(),
  holder: z.string(),
  imei: z.string().nullable(),
  answers: z.record(z.enum(questions), z.string().nullable()),
  out: moneyWire,
  back: moneyWire,
  net: moneyWire,
  minutes: z.number(),
  promise: z.object({ mean: moneyWire, low: moneyWire, high: moneyWire, minutes: z.number() }),
  tests: z.array(z.object({ function: z.string(), result: z.string(), reason: z.string() })),
  untested: z.array(z.string()),
  entries: z.array(
    z.object({ seq: z.number(), kind: z.string(), says: z.string(), by: z.string(), struck: z.boolean() }),
  ),
  ended: z
    .object({
      as: z.enum(endings),
      kept: z.boolean(),
      fault: z.string().nullable(),
      sealed: endingSchema.shape.sealed,
    })
    .nullable(),
});
export type JobData = z.infer<typeof jobData>;

/** What an hour at the bench costs the collective, in major units. */
function hourRate({ settings }: Context['collective']): number {
  return settings.hourlyRate ?? toMajor(referenceHour(settings.currency).rate);
}

/** What is left when the bench time is paid. */
export function netAfterTime(context: Context, job: JobRecord): Money {
  const { net, minutes } = totalsOf(job);
  const time = fromMajor((hourRate(context.collective) * minutes) / 60, net.currency);
  return money(net.minor - time.minor, net.currency);
}

const questionWords = {
  ownership: { ask: 'Is it shown whose it is?', good: 'Ownership is shown', bad: 'It is not shown' },
  lock: { ask: 'Is it free of an account lock?', good: 'It is free', bad: 'It is locked' },
  stolen: { ask: 'Is it on a stolen-phone list?', good: 'It is on none', bad: 'It is listed' },
} as const;
const answerWords: Readonly<Record<string, string>> = {
  shown: 'shown',
  'not-shown': 'not shown',
  free: 'free',
  locked: 'locked',
  clear: 'clear',
  listed: 'listed',
  consent: 'the owner agrees that it is erased',
  purge: 'purged',
  destroy: 'destroyed',
  'owner-keeps': 'the owner keeps it',
  'stays-here': 'the board stays here',
  refused: 'the owner does not agree',
};

const stateWords = {
  intake: 'at intake',
  held: 'held',
  bench: 'on the bench',
  testing: 'being tested',
  closed: 'closed',
} as const;
const heldWords = {
  suspect: 'held, cell to isolate',
  isolated: 'held, to hand over',
  'handed-over': 'handed over',
  wet: 'held, wet',
} as const;
export const endedWords = {
  restored: 'restored',
  stripped: 'stripped for parts',
  passed: 'passed on',
  'handed-back': 'handed back',
} as const;
export function stateInWords(context: Context, job: JobRecord): string {
  if (job.ended) return translated(endedWords[job.ended.as]);
  const { danger, wet } = stateOfJob(context, job);
  if (danger !== 'none') return translated(heldWords[danger]);
  return wet === 'wet' ? translated(heldWords.wet) : translated(stateWords[jobStateOf(job, { danger, wet })]);
}

const functionName = ({ knowledge }: Context, id: string): string => knowledge.functions.get(id)?.name ?? id;
export const faultName = ({ knowledge }: Context, id: string | null): string =>
  (id === null ? null : knowledge.faults.get(id)?.name) ?? say`not known`;

/** One entry in words. */
export function entryInWords(context: Context, { entry }: LoggedEntry): string {
  const show = (amount: Money) => formatMoney(amount, context.locale);
  switch (entry.kind) {
    case 'money': {
      const what = entry.component
        ? `${componentName(context, entry.component)}${entry.grade ? `, ${entry.grade}` : ''}`
        : entry.purpose;
      return entry.way === 'out'
        ? say`${show(entry.amount)} spent: ${what}`
        : say`${show(entry.amount)} came back: ${what}`;
    }
    case 'minutes':
      return say`${entry.minutes} min at the bench`;
    case 'reading':
      return say`read ${entry.value} ${entry.unit}${entry.of ? `, ${entry.of}` : ''}`;
    case 'fitted':
      return `fitted: ${componentName(context, entry.component)}, ${entry.grade}`;
    case 'trace':
      return say`trace ${entry.trace}`;
    case 'said':
      return entry.text;
    case 'answer':
      return `${entry.question}: ${
        entry.question === 'data' && entry.answer === 'clear'
          ? 'cleared'
          : (translated(answerWords[entry.answer]) ?? entry.answer)
      }${entry.note ? ` (${entry.note})` : ''}`;
    case 'test':
      return `${functionName(context, entry.function)}: ${entry.result}${entry.reason ? ` (${entry.reason})` : ''}`;
    case 'handed':
      return say`handed from ${entry.from} to ${entry.to}`;
    case 'finished':
      return `finished: ${entry.as}`;
    case 'reopened':
      return `reopened: ${entry.why}`;
  }
}

/** Cautions of a job: a cell that must be isolated, and the ones on data and ownership where an answer is bad. */
export function cautionsOf(context: Context, job: JobRecord): CautionCard[] {
  const phone = stateOfJob(context, job);
  const { knowledge, collective } = context;
  const { region } = collective.settings;
  const card = (id: string) => {
    const caution = knowledge.cautions.get(id);
    return caution ? [cardOf(knowledge, caution, region)] : [];
  };
  return [
    ...(job.ended === null ? cardsOfState(context, phone) : []),
    ...(openQuestions(job).some(({ state }) => state === 'bad') ? card('data-and-ownership') : []),
  ];
}

/** Functions of its family that have no result yet, those for the closing last. */
export const untestedOf = (context: Context, job: JobRecord) => {
  const done = testsOf(job);
  return functionsOf(context.knowledge, familyById(context, job.family)).filter(({ id }) => !done.has(id));
};

export function jobDataOf(context: Context, job: JobRecord): JobData {
  const state = stateOfJob(context, job);
  const { out, back, net, minutes } = totalsOf(job);
  const phone = phoneOfJob(context, job);
  const { mean, low, high } = job.promise;
  return {
    job: job.number,
    revision: job.revision,
    state: jobStateOf(job, state),
    danger: state.danger,
    wet: state.wet,
    facts: state.facts.map(({ fact }) => fact),
    model: phone.model?.name ?? null,
    family: job.family,
    came: job.came,
    holder: job.holder,
    imei: job.imeiLast && `…${job.imeiLast}`,
    answers: answersOf(job),
    out: toWire(out),
    back: toWire(back),
    net: toWire(net),
    minutes,
    promise: { mean: toWire(mean), low: toWire(low), high: toWire(high), minutes: job.promise.minutes },
    tests: [...testsOf(job)].map(([id, { result, reason }]) => ({ function: id, result, reason })),
    untested: untestedOf(context, job).map(({ id }) => id),
    entries: job.entries.map((logged) => ({
      seq: logged.seq,
      kind: logged.entry.kind,
      says: entryInWords(context, logged),
      by: logged.by,
      struck: logged.struck !== null,
    })),
    ended: job.ended && {
      as: job.ended.as,
      kept: job.ended.ending.kept,
      fault: job.ended.ending.fault,
      sealed: job.ended.ending.sealed,
    },
  };
}

/** "Job 12, Orrin K3". */
export const jobHeading = (context: Context, job: JobRecord): string =>
  say`Job ${job.number}, ${phoneOfJob(context, job).name}`;

/** The money of a job, and what was promised. */
export function moneyFacts(context: Context, job: JobRecord): Block {
  const show = (amount: Money) => formatMoney(amount, context.locale);
  const { out, back, net, minutes } = totalsOf(job);
  const { mean, low, high, minutes: expected } = job.promise;
  return facts(
    [
      [say`Out so far`, `${show(out)}${job.price.minor ? say`, ${show(job.price)} of it the phone` : ''}`],
      ...(back.minor ? [[say`Came back`, show(back)] as const] : []),
      ...(job.ended
        ? [
            [say`Left`, show(net)] as const,
            [say`Left after the time`, show(netAfterTime(context, job))] as const,
          ]
        : []),
      [
        say`At the bench`,
        say`${minutes} min${expected ? say`; about ${Math.round(expected)} were expected` : ''}`,
      ],
      [
        say`Expected at intake`,
        job.promise.verdict === 'pass'
          ? say`nothing to be had: pass (${show(mean)} at best)`
          : say`${show(mean)} after time (${show(low)} to ${show(high)}), by ${job.promise.verdict === 'strip' ? 'stripping' : 'restoring'} it`,
      ],
    ],
    say`Money and time`,
  );
}

/** To begin the trace of its symptoms, or to go on with one that is open. */
function traceChoice(context: Context, job: JobRecord): Choice | null {
  if (job.trace === null) {
    if (!job.symptoms.length) return null;
    return {
      ...jobChoice(job, say`Trace the fault`, ''),
      invoke: {
        command: 'trace',
        action: 'start',
        options: { job: String(job.number) },
      },
    };
  }
  if (context.store.traces.get(job.trace)?.state !== 'open') return null;
  return {
    label: say`Go on with trace ${job.trace}`,
    invoke: { command: 'trace', action: 'show', options: { trace: String(job.trace) } },
    open: true,
  };
}

/** What comes next, with its choices. */
function nextStep(context: Context, job: JobRecord): { blocks: Block[]; choices: Choice[] } {
  if (job.ended) return { blocks: [], choices: [] };
  const state = stateOfJob(context, job);
  const subject = subjectOfJob(job);
  const danger = dangerReply(context, subject, job.revision, state);
  if (danger) {
    const away =
      state.danger === 'suspect'
        ? []
        : [
            jobChoice(job, say`It was handed back to its owner`, 'finish', { as: 'handed-back' }),
            jobChoice(job, say`It was passed on for good`, 'finish', { as: 'passed' }),
          ];
    return { blocks: danger.blocks, choices: [...danger.choices, ...away] };
  }
  const open = openQuestions(job);
  const [question] = open.filter((one) => one.state === 'open');
  const blocked = whyNoWork(job);
  if (blocked && open.some((one) => one.state === 'bad')) {
    return {
      blocks: [
        text(say`${blocked.problem}. Nothing is bought for it and its board is not worked on.`),
        steps(HAND_BACK, say`How it goes back`, false),
      ],
      choices: [jobChoice(job, say`It was handed back`, 'finish', { as: 'handed-back' })],
    };
  }
  if (question) {
    const words = questionWords[question.question];
    const [good, bad] = answers[question.question];
    return {
      blocks: [
        text(
          `${translated(words.ask)}${question.question === 'stolen' ? say` Look it up by its IMEI (*#06#) where your country has a list.` : ''}`,
          say`Before any money is spent`,
        ),
      ],
      choices: [
        jobChoice(job, translated(words.good), 'answer', { [question.question]: good }),
        jobChoice(job, translated(words.bad), 'answer', { [question.question]: bad }),
      ],
    };
  }
  const untested = untestedOf(context, job);
  const trace = traceChoice(context, job);
  if (state.wet === 'wet') {
    return {
      blocks: [
        text(
          say`It is wet: no charger, no supply and no switching on before it is cleaned inside and dry. Next: ${trace ? say`the trace, or ` : ''}the cleaning.`,
        ),
      ],
      choices: [
        ...(trace ? [trace] : []),
        dangerChoice(subject, job.revision, say`It is cleaned inside and dry`, 'cleaned'),
        ...misreadChoice(subject, job.revision, wetFactsOf(state)),
      ],
    };
  }
  return {
    blocks: [
      text(
        untested.length
          ? say`Next: ${trace ? (job.trace === null ? say`trace the fault, ` : say`go on with the trace, `) : ''}log what you spend and fit (/job log), and test every function before the seal is pressed (/job test).`
          : say`Every function is tested. Next: /job finish as:restored sold: and its price.`,
      ),
    ],
    choices: [
      ...(trace ? [trace] : []),
      ...(untested.length ? [jobChoice(job, say`Test its functions`, 'test')] : []),
      ...(untested.length ? [] : [jobChoice(job, say`The sheet for the next owner`, 'sheet')]),
    ],
  };
}

function toneOf(context: Context, job: JobRecord): Reply['tone'] {
  const state = stateOfJob(context, job);
  if (job.ended === null && state.danger !== 'none') return 'danger';
  return jobStateOf(job, state) === 'held' ? 'caution' : 'plain';
}

/** The job as it stands, for the room. */
export function jobReply(
  context: Context,
  job: JobRecord,
  more: Partial<Reply> & { title?: string } = {},
): Reply {
  const { title, blocks = [], cautions = [], ...rest } = more;
  const next = nextStep(context, job);
  return reply({
    title: title ?? `${jobHeading(context, job)}: ${stateInWords(context, job)}`,
    tone: toneOf(context, job),
    choices: next.choices,
    data: jobDataOf(context, job),
    ...rest,
    cautions: [...cautionsOf(context, job), ...cautions],
    blocks: [...blocks, ...next.blocks],
  });
}

/** Where it came from, what it shows, and the answers so far. */
export function intakeFacts(context: Context, job: JobRecord): Block {
  const given = answersOf(job);
  const symptoms = job.symptoms.map((id) => context.knowledge.symptoms.get(id)?.name ?? id);
  const cameWords = {
    given: 'given',
    bought: 'bought',
    left: say`left here`,
    customer: say`from a customer`,
  } as const;
  const likely = Object.entries(job.promise.odds).sort(([, a], [, b]) => b - a)[0];
  return facts([
    [say`Held by`, job.holder],
    [say`Came`, `${translated(cameWords[job.came])}, ${dayIn(context, job.at)}`],
    ...(symptoms.length ? [[say`Shows`, listWords(symptoms)] as const] : []),
    ...(job.imeiLast ? [['IMEI', say`ends in ${job.imeiLast}; the rest is sealed`] as const] : []),
    [
      say`Ownership, lock, list`,
      [given.ownership, given.lock, given.stolen]
        .map((one) => (one ? (translated(answerWords[one]) ?? one) : say`not answered`))
        .join(', '),
    ],
    [
      say`Data`,
      given.data === null
        ? say`not said; it is erased before it changes hands`
        : given.data === 'clear'
          ? 'cleared'
          : (translated(answerWords[given.data]) ?? given.data),
    ],
    ...(likely && !job.ended
      ? [[say`Likeliest at intake`, `${faultName(context, likely[0])} ${percent(likely[1])}`] as const]
      : []),
    ...(job.ended ? [[say`It was`, faultName(context, job.ended.ending.fault)] as const] : []),
  ]);
}
