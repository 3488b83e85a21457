/** What `/job` answers about one job: where it stands, what it cost, what was promised, what comes next. */

import { z } from 'zod';
import type { Question } from '../../shared/jobs/entry.ts';
import { answers, type LoggedEntry, questions, waitsFor } from '../../shared/jobs/entry.ts';
import {
  answersOf,
  endingSchema,
  endings,
  type JobRecord,
  jobStateOf,
  jobStates,
  listingOf,
  openQuestions,
  testsOf,
  totalsOf,
} from '../../shared/jobs/job.ts';
import { HAND_BACK, isErased, whyNoWork } from '../../shared/jobs/rules.ts';
import { waitingOf } from '../../shared/jobs/waiting.ts';
import type { Message } from '../../shared/language/message.ts';
import {
  inRow,
  joined,
  listWords,
  packText,
  plain,
  quantity,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';
import {
  amount,
  fromMajor,
  type Money,
  money,
  moneyWire,
  toMajor,
  toWire,
} from '../../shared/money/money.ts';
import { referenceHour } from '../../shared/money/reference-hour.ts';
import { saidFacts } from '../../shared/phone/event.ts';
import { dangers, type PhoneState, wetFactsOf, wetnesses } from '../../shared/phone/state.ts';
import { cardOf } from '../../shared/safety/cautions.ts';
import type { Way } from '../../shared/worth/verdict.ts';
import type { Context } from '../framework/context.ts';
import {
  type Draft,
  type DraftBlock,
  type DraftCard,
  type DraftChoice,
  facts,
  reply,
  steps,
  text,
} from '../framework/reply.ts';
import { cardsOfState } from '../shared/caution-cards.ts';
import { dangerChoice, dangerReply, misreadChoice } from '../shared/danger-reply.ts';
import { jobChoice } from '../shared/find-job.ts';
import { symptomsNow } from '../shared/find-trace.ts';
import { endedWords, stateInWords, untestedOf } from '../shared/job-words.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob, subjectOfJob } from '../shared/phone-state.ts';
import { waitInWords, withNote } from '../shared/wait-words.ts';
import { componentName, dayIn, dayOf, partGradeWords, percent } from '../shared/words.ts';

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
  waits: z.object({ for: z.enum(waitsFor), until: z.string().nullable(), note: z.string() }).nullable(),
  imei: z.string().nullable(),
  answers: z.record(z.enum(questions), z.string().nullable()),
  out: moneyWire,
  back: moneyWire,
  /** What a kept phone is worth in use; in the net. */
  worth: moneyWire,
  net: moneyWire,
  /** What is asked for it, and the day since when; null where it is not offered. */
  listed: z.object({ asked: moneyWire, since: z.string() }).nullable(),
  minutes: z.number(),
  promise: z.object({ mean: moneyWire, low: moneyWire, high: moneyWire, minutes: z.number() }),
  tests: z.array(z.object({ function: z.string(), result: z.string(), reason: z.string() })),
  untested: z.array(z.string()),
  entries: z.array(z.object({ seq: z.number(), kind: z.string(), by: z.string(), struck: z.boolean() })),
  ended: z
    .object({
      as: z.enum(endings),
      kept: z.boolean(),
      fault: z.string().nullable(),
      sealed: endingSchema.shape.sealed,
    })
    .nullable(),
});
/** The same, with what was removed. */
export const jobWipedData = jobData.extend({
  wiped: z.object({ job: z.number().int(), entry: z.number().int() }),
});
export type JobDraft = Draft<z.infer<typeof jobData>>;
export type JobData = z.infer<typeof jobData>;

/** What an hour at the bench costs the collective, in major units. */
export function hourRate({ settings }: Context['collective']): number {
  return settings.hourlyRate ?? toMajor(referenceHour(settings.currency).rate);
}

/** What is left when the bench time is paid. */
export function netAfterTime(context: Context, job: JobRecord): Money {
  const { net, minutes } = totalsOf(job);
  const time = fromMajor((hourRate(context.collective) * minutes) / 60, net.currency);
  return money(net.minor - time.minor, net.currency);
}

const questionWords = {
  ownership: { ask: say`Is it shown whose it is?`, good: say`Ownership is shown`, bad: say`It is not shown` },
  lock: { ask: say`Is it free of an account lock?`, good: say`It is free`, bad: say`It is locked` },
  stolen: { ask: say`Is it on a stolen-phone list?`, good: say`It is on none`, bad: say`It is listed` },
} as const;
const answerWords: Readonly<Record<string, Message>> = {
  shown: say`shown`,
  'not-shown': say`not shown`,
  free: say`free`,
  locked: say`locked`,
  clear: say`clear`,
  listed: say`listed`,
  consent: say`the owner agrees that it is erased`,
  purge: say`purged`,
  destroy: say`destroyed`,
  'owner-keeps': say`the owner keeps it`,
  'stays-here': say`the board stays here`,
  refused: say`the owner does not agree`,
};

export const functionName = ({ knowledge }: Context, id: string): Message =>
  packText(knowledge.functions.get(id)?.name ?? id);
export const faultName = ({ knowledge }: Context, id: string | null): Message => {
  const fault = id === null ? undefined : knowledge.faults.get(id);
  return fault ? packText(fault.name) : say`not known`;
};
const endedAs = (as: string): Message =>
  Object.entries(endedWords).find(([one]) => one === as)?.[1] ?? verbatim(as);
const purposeWords = {
  part: say`part`,
  shipping: say`shipping`,
  consumables: say`consumables`,
  sale: say`sale`,
  other: say`other`,
} as const;
const resultWords = { pass: say`passed`, fail: say`failed`, waived: say`waived` } as const;
const topicWords = {
  ownership: say`ownership`,
  lock: say`account lock`,
  stolen: say`stolen-phone list`,
  data: say`data`,
} as const;

/** What a question was answered with. */
const answerInWords = (question: Question, answer: string): Message =>
  question === 'data' && answer === 'clear' ? say`cleared` : (answerWords[answer] ?? verbatim(answer));

/** One entry in words. */
export function entryInWords(
  context: Context,
  { entry, wiped }: Pick<LoggedEntry, 'entry' | 'wiped'>,
): Message {
  if (wiped) {
    const removed = say`words removed by ${verbatim(wiped.by.name)}`;
    const nothing = entry.kind === 'said' || entry.kind === 'oddity' || entry.kind === 'reopened';
    return nothing ? removed : plain`${entryInWords(context, { entry, wiped: null })} (${removed})`;
  }
  switch (entry.kind) {
    case 'money': {
      const what = entry.component
        ? inRow([componentName(context, entry.component), entry.grade ? partGradeWords[entry.grade] : ''])
        : purposeWords[entry.purpose];
      return entry.way === 'out'
        ? say`${amount(entry.amount)} spent: ${what}`
        : say`${amount(entry.amount)} came back: ${what}`;
    }
    case 'minutes':
      return say`${entry.minutes} min at the bench`;
    case 'reading': {
      const read = quantity(entry.value, entry.unit);
      return entry.of ? say`read ${read}, ${verbatim(entry.of)}` : say`read ${read}`;
    }
    case 'fitted':
      return entry.part === undefined
        ? say`fitted: ${componentName(context, entry.component)}, ${partGradeWords[entry.grade]}`
        : say`fitted: ${componentName(context, entry.component)}, ${partGradeWords[entry.grade]}, part ${entry.part} of the shelf`;
    case 'trace':
      return say`trace ${entry.trace}`;
    case 'said':
      return verbatim(entry.text);
    case 'oddity':
      return say`odd: ${verbatim(entry.text)}`;
    case 'answer':
      return withNote(
        plain`${topicWords[entry.question]}: ${answerInWords(entry.question, entry.answer)}`,
        entry.note,
      );
    case 'test':
      return withNote(
        plain`${functionName(context, entry.function)}: ${resultWords[entry.result]}`,
        entry.reason,
      );
    case 'waiting':
      return waitInWords(entry);
    case 'resumed':
      return say`goes on`;
    case 'listed':
      return say`offered for ${amount(entry.asked)}`;
    case 'came-back':
      return entry.failed.length
        ? say`came back as job ${entry.job}: ${listWords(entry.failed.map((id) => componentName(context, id)))} failed again`
        : say`came back as job ${entry.job}`;
    case 'came-from':
      return say`it is the phone of job ${entry.job}`;
    case 'unlisted':
      return say`no longer offered`;
    case 'timer-started':
      return say`timer started`;
    case 'timer-stopped':
      return say`timer stopped`;
    case 'handed':
      return say`handed from ${verbatim(entry.from.name)} to ${verbatim(entry.to.name)}`;
    case 'finished':
      return say`finished: ${endedAs(entry.as)}`;
    case 'reopened':
      return say`reopened: ${verbatim(entry.why)}`;
  }
}

/** Cautions of a job: a cell that must be isolated, and the ones on data and ownership where an answer is bad. */
export function cautionsOf(context: Context, job: JobRecord): DraftCard[] {
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

export function jobDataOf(context: Context, job: JobRecord): JobData {
  const state = stateOfJob(context, job);
  const { out, back, worth, net, minutes } = totalsOf(job);
  const listed = listingOf(job);
  const phone = phoneOfJob(context, job);
  const { mean, low, high } = job.promise;
  const waits = waitingOf(job);
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
    holder: job.holder.name,
    waits: waits && { for: waits.for, until: waits.until, note: waits.note },
    imei: job.imeiLast && `…${job.imeiLast}`,
    answers: answersOf(job),
    out: toWire(out),
    back: toWire(back),
    worth: toWire(worth),
    net: toWire(net),
    listed: listed && { asked: toWire(listed.asked), since: dayIn(context, listed.since) },
    minutes,
    promise: { mean: toWire(mean), low: toWire(low), high: toWire(high), minutes: job.promise.minutes },
    tests: [...testsOf(job)].map(([id, { result, reason }]) => ({ function: id, result, reason })),
    untested: untestedOf(context, job).map(({ id }) => id),
    entries: job.entries.map((logged) => ({
      seq: logged.seq,
      kind: logged.entry.kind,
      by: logged.by.name,
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
export const jobHeading = (context: Context, job: JobRecord): Message =>
  say`Job ${job.number}, ${phoneOfJob(context, job).name}`;

const byWay: Record<Exclude<Way, 'pass'>, Message> = {
  restore: say`by restoring it`,
  'look-first': say`by looking first`,
  strip: say`by stripping it`,
  'sell-as-is': say`by selling it as it is`,
  'hand-on': say`by handing it to someone qualified first`,
};

function expectedInWords({ promise: { mean, low, high, verdict } }: JobRecord): Message {
  if (verdict === 'pass') return say`nothing to be had: pass (${amount(mean)} at best)`;
  if (verdict === null) return say`nothing yet: no price was known for it`;
  return say`${amount(mean)} after time (${amount(low)} to ${amount(high)}), ${byWay[verdict]}`;
}

/** The money of a job, and what was promised. */
export function moneyFacts(context: Context, job: JobRecord): DraftBlock {
  const { out, back, worth, net, minutes } = totalsOf(job);
  const { minutes: expected } = job.promise;
  return facts(
    [
      [
        say`Out so far`,
        job.price.minor ? say`${amount(out)}, ${amount(job.price)} of it the phone` : amount(out),
      ],
      ...(back.minor ? [[say`Came back`, amount(back)] as const] : []),
      ...(worth.minor ? [[say`Worth in use here`, amount(worth)] as const] : []),
      ...(job.ended
        ? [
            [say`Left`, amount(net)] as const,
            [say`Left after the time`, amount(netAfterTime(context, job))] as const,
          ]
        : []),
      [
        say`At the bench`,
        expected
          ? say`${minutes} min; about ${Math.round(expected)} were expected`
          : quantity(minutes, 'min'),
      ],
      // Somebody else's phone is given back, whatever it would sell for.
      ...(job.came === 'customer' ? [] : [[say`Expected at intake`, expectedInWords(job)] as const]),
    ],
    say`Money and time`,
  );
}

/** To begin the trace of its symptoms, or to go on with one that is open. */
function traceChoice(context: Context, job: JobRecord): DraftChoice | null {
  if (job.trace === null) {
    if (!symptomsNow(context, job).length) return null;
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

interface NextStep {
  blocks: DraftBlock[];
  choices: DraftChoice[];
}

function dangerStep(context: Context, job: JobRecord, state: PhoneState): NextStep | null {
  const danger = dangerReply(context, subjectOfJob(job), job.revision, state);
  if (!danger) return null;
  const away =
    state.danger === 'suspect'
      ? []
      : [
          jobChoice(job, say`It was handed back to its owner`, 'finish', { as: 'handed-back' }),
          jobChoice(job, say`It was passed on for good`, 'finish', { as: 'passed' }),
        ];
  return { blocks: danger.blocks, choices: [...danger.choices, ...away] };
}

/** The first question that is open, before any money is spent. */
function questionStep(job: JobRecord, { question }: ReturnType<typeof openQuestions>[number]): NextStep {
  const words = questionWords[question];
  const [good, bad] = answers[question];
  return {
    blocks: [
      text(
        joined([
          words.ask,
          question === 'stolen' ? say`Look it up by its IMEI (*#06#) where your country has a list.` : '',
        ]),
        say`Before any money is spent`,
      ),
    ],
    choices: [
      jobChoice(job, words.good, 'answer', { [question]: good }),
      jobChoice(job, words.bad, 'answer', { [question]: bad }),
    ],
  };
}

function wetStep(context: Context, job: JobRecord, state: PhoneState): NextStep {
  const subject = subjectOfJob(job);
  const trace = traceChoice(context, job);
  return {
    blocks: [
      text(
        trace
          ? say`It is wet: no charger, no supply and no switching on before it is cleaned inside and dry. Next: the trace, or the cleaning.`
          : say`It is wet: no charger, no supply and no switching on before it is cleaned inside and dry. Next: the cleaning.`,
      ),
    ],
    choices: [
      ...(trace ? [trace] : []),
      dangerChoice(subject, job.revision, say`It is cleaned inside and dry`, 'cleaned'),
      ...misreadChoice(context, subject, job.revision, wetFactsOf(state)),
    ],
  };
}

/** Nothing stands in the way: the trace and the tests, then a buyer. */
function workStep(context: Context, job: JobRecord): NextStep {
  const untested = untestedOf(context, job);
  const trace = traceChoice(context, job);
  return {
    blocks: [
      text(
        untested.length
          ? !trace
            ? say`Next: log what you spend and fit (/job log), and test every function before the seal is pressed (/job test).`
            : job.trace === null
              ? say`Next: trace the fault, log what you spend and fit (/job log), and test every function before the seal is pressed (/job test).`
              : say`Next: go on with the trace, log what you spend and fit (/job log), and test every function before the seal is pressed (/job test).`
          : !isErased(job)
            ? say`Every function is tested. Next: erase what was on it, the account taken off first.`
            : listingOf(job)
              ? say`Next: /job finish as:restored sold: and its price.`
              : say`Every function is tested. Next: offer it (/job sell), or /job finish as:restored sold: and its price.`,
      ),
    ],
    choices: [
      ...(trace ? [trace] : []),
      ...(untested.length ? [jobChoice(job, say`Test its functions`, 'test')] : handOverChoices(job)),
    ],
  };
}

/** What was on it is erased first; then it is offered, sold or kept. */
const handOverChoices = (job: JobRecord): DraftChoice[] => [
  ...(isErased(job)
    ? [
        { ...jobChoice(job, say`Sold: for how much?`, 'finish', { as: 'restored' }), fill: 'sold' },
        jobChoice(job, say`It stays here`, 'finish', { as: 'restored', kept: 'yes' }),
      ]
    : erasedChoices(job)),
  jobChoice(job, say`A text to sell it by`, 'sell'),
  jobChoice(job, say`The hand-over page`, 'page'),
];

/** How what was on it was erased. */
export const erasedChoices = (job: JobRecord): DraftChoice[] => [
  jobChoice(job, say`Erased: purged`, 'answer', { data: 'purge' }),
  jobChoice(job, say`Erased: cleared`, 'answer', { data: 'clear' }),
  ...(job.came === 'customer'
    ? [jobChoice(job, say`Its owner keeps it`, 'answer', { data: 'owner-keeps' })]
    : []),
];

/** What comes next, with its choices. */
function nextStep(context: Context, job: JobRecord): NextStep {
  if (job.ended) return { blocks: [], choices: [] };
  const state = stateOfJob(context, job);
  const danger = dangerStep(context, job, state);
  if (danger) return danger;
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
  if (question) return questionStep(job, question);
  return state.wet === 'wet' ? wetStep(context, job, state) : workStep(context, job);
}

function toneOf(context: Context, job: JobRecord): Draft['tone'] {
  const state = stateOfJob(context, job);
  if (job.ended === null && state.danger !== 'none') return 'danger';
  return jobStateOf(job, state) === 'held' ? 'caution' : 'plain';
}

/** The job as it stands, for the room. */
export function jobReply(context: Context, job: JobRecord, more: Partial<JobDraft> = {}): JobDraft {
  const { title, blocks = [], cautions = [], ...rest } = more;
  const next = nextStep(context, job);
  return reply({
    title: title ?? plain`${jobHeading(context, job)}: ${stateInWords(context, job)}`,
    tone: toneOf(context, job),
    choices: next.choices,
    data: jobDataOf(context, job),
    ...rest,
    cautions: [...cautionsOf(context, job), ...cautions],
    blocks: [...blocks, ...next.blocks],
  });
}

/** Where it came from, what it shows, and the answers so far. */
export function intakeFacts(context: Context, job: JobRecord): DraftBlock {
  const given = answersOf(job);
  const shown = job.ended ? job.symptoms : symptomsNow(context, job);
  const symptoms = shown.map((id) => packText(context.knowledge.symptoms.get(id)?.name ?? id));
  const cameWords = {
    given: say`given`,
    bought: say`bought`,
    left: say`left here`,
    customer: say`from a customer`,
  } as const;
  const likely = Object.entries(job.promise.odds).sort(([, a], [, b]) => b - a)[0];
  return facts([
    [say`Held by`, verbatim(job.holder.name)],
    [say`Came`, plain`${cameWords[job.came]}, ${dayOf(context, job.at)}`],
    ...(symptoms.length ? [[say`Shows`, listWords(symptoms)] as const] : []),
    ...(job.imeiLast
      ? [[typed('IMEI'), say`ends in ${verbatim(job.imeiLast)}; the rest is sealed`] as const]
      : []),
    [
      say`Ownership, lock, list`,
      inRow(
        (['ownership', 'lock', 'stolen'] as const).map((one) => {
          const answer = given[one];
          return answer === null ? say`not answered` : answerInWords(one, answer);
        }),
      ),
    ],
    [
      say`Data`,
      given.data === null
        ? say`not said; it is erased before it changes hands`
        : answerInWords('data', given.data),
    ],
    ...(likely && !job.ended
      ? [[say`Likeliest at intake`, joined([faultName(context, likely[0]), percent(likely[1])])] as const]
      : []),
    ...(job.ended ? [[say`It was`, faultName(context, job.ended.ending.fault)] as const] : []),
  ]);
}
