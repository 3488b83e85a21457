/** `/job finish`: how a job ends, and what that teaches. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { Family } from '../../knowledge/schema.ts';
import { beliefOf } from '../../shared/diagnosis/sets/bench-belief.ts';
import { trainingRecordOf } from '../../shared/diagnosis/training-record.ts';
import { functionsOf } from '../../shared/jobs/functions.ts';
import { fittedNow } from '../../shared/jobs/hand-over.ts';
import {
  type EndedAs,
  type Ending,
  endings,
  isTold,
  type JobRecord,
  totalsOf,
} from '../../shared/jobs/job.ts';
import { sealedAs, whyNotFinish } from '../../shared/jobs/rules.ts';
import type { Message } from '../../shared/language/message.ts';
import {
  inRow,
  joined,
  listWords,
  packText,
  plain,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';
import { amount, type Money, toWire } from '../../shared/money/money.ts';
import { pairingOf } from '../../shared/pairing/pairing.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf, type Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import {
  choiceOption,
  lookupOption,
  manyOption,
  moneyOption,
  optional,
  textOption,
} from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { learnedModelIn } from '../shared/appraise-phone.ts';
import { cardsOfState } from '../shared/caution-cards.ts';
import { jobChoice, jobOption, openJobMeant } from '../shared/find-job.ts';
import { benchEventsOf, benchEventsOfJob, mendedIn } from '../shared/find-trace.ts';
import { endedWords } from '../shared/job-words.ts';
import { components, faults } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import { componentName } from '../shared/words.ts';
import { faultName } from './entry-words.ts';
import { pageBlocks } from './hand-over-page.ts';
import { jobData, jobDataOf } from './job-data.ts';
import { moneyFacts, netAfterTime } from './job-money.ts';
import { erasedChoices } from './job-next-step.ts';
import { handOf, refuseFor, yes } from './options.ts';
import { jobHeading, jobReply } from './reply.ts';
import { saleRange } from './sale-text.ts';

/** Belief over what was said, seen and done with the phone of a job, in all its traces; null where nothing explains it. */
function beliefOfJob(
  context: Context,
  job: JobRecord,
  knowledge: Knowledge,
  weights?: ReadonlyMap<string, number>,
) {
  const trace = job.trace === null ? null : context.store.traces.get(job.trace);
  const events = trace ? benchEventsOf(context, trace) : benchEventsOfJob(context, job);
  const belief = beliefOf({
    ...{ knowledge, events, family: phoneOfJob(context, job).family, state: stateOfJob(context, job) },
    ...(weights ? { weights } : {}),
  });
  return belief && { belief, events };
}

/** The fault that a mended job speaks of: the likeliest that its last remedy removed. */
function faultMended(context: Context, job: JobRecord): { fault: string | null; remedy: string | null } {
  const trace = job.trace === null ? null : context.store.traces.get(job.trace);
  const remedy = trace && mendedIn(trace, context);
  if (!remedy) return { fault: null, remedy: null };
  const learnt = learnedModelIn(context);
  const weights = learnt.weights(phoneOfJob(context, job).family);
  const last = beliefOfJob(context, job, learnt.knowledge, weights)?.belief.mended.at(-1);
  return { fault: last?.shares[0]?.fault.id ?? null, remedy: remedy.id };
}

/** What the job teaches: by the fault that was told, else by the pack's own odds, which guesses do not move. */
function taughtHere(context: Context, job: JobRecord, fault: string | null) {
  const { knowledge } = context;
  const found = beliefOfJob(context, job, knowledge);
  const failed = (found?.events ?? []).flatMap((event) =>
    event.kind === 'remedy' && event.gone.length === 0 && event.left.length > 0
      ? [{ id: event.id, outcome: 'failed' }]
      : [],
  );
  return trainingRecordOf({
    ...{ knowledge, fault, odds: found?.belief.odds ?? [], mended: found?.belief.mended ?? [], remedy: null },
    seen: [...(found?.belief.read ?? []), ...failed],
  });
}

/** Parts are kept of a stripped phone, and they and the fault are of its family. */
function checkWhatStays(
  { knowledge }: Context,
  family: Family,
  as: EndedAs,
  parts: readonly Named[],
  said: Named | undefined,
): void {
  if (parts.length && as !== 'stripped') {
    throw new Refusal({
      code: 'bad-option',
      problem: say`Parts are kept from a stripped phone only.`,
      expected: typed('as:stripped'),
      option: 'parts',
    });
  }
  const foreign = parts.find(({ id }) => !(id in family.components));
  if (foreign) {
    throw new Refusal({
      code: 'bad-option',
      problem: say`A ${packText(family.name)} has no ${verbatim(foreign.name)}.`,
      expected: say`components of its family`,
      option: 'parts',
    });
  }
  if (said) {
    const possible = knowledge.faults.get(said.id);
    if (!possible || !(possible.component in family.components)) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`A ${packText(family.name)} cannot have “${verbatim(said.name)}”.`,
        expected: say`a fault of its family`,
        option: 'fault',
      });
    }
  }
}

/** Refuses for what stands in the way, with what can be done about it; what only lacks its price is asked for that. */
function refuseUnfinished(
  context: Context,
  job: JobRecord,
  obstacles: ReturnType<typeof whyNotFinish>,
): void {
  const [first] = obstacles;
  if (!first) return;
  if (first.asks === 'sold' && obstacles.length === 1) {
    throw new Refusal({
      code: 'missing-option',
      problem: plain`${first.problem}.`,
      expected: first.expected,
      option: 'sold',
      example: '/job finish restored sold:138',
    });
  }
  const cards = cardsOfState(context, stateOfJob(context, job));
  const erasing = obstacles.some(({ asks }) => asks === 'data') ? erasedChoices(job) : [];
  refuseFor(obstacles, `/job show job:${job.number}`, cards, erasing);
}

export const jobFinish = defineAction({
  summary: say`End a job: restored, stripped, passed on or handed back`,
  who: 'member',
  options: {
    as: choiceOption({ summary: say`How it ends`, example: 'restored', choices: endings }),
    job: jobOption,
    sold: optional(moneyOption({ summary: say`What it brought`, example: '138' })),
    kept: yes(say`The collective keeps it`),
    worth: optional(
      moneyOption({
        summary: say`What a kept phone is worth in use; without it, what ones like it sell for`,
        example: '120',
      }),
    ),
    fault: optional(
      lookupOption({
        summary: say`The fault that it was; without it, what its trace says`,
        example: 'battery-open',
        lookup: faults,
      }),
    ),
    parts: optional(
      manyOption(
        lookupOption({
          summary: say`Components kept from a stripped one`,
          example: 'front camera',
          lookup: components,
        }),
      ),
    ),
    unsealed: yes(say`It is left unsealed, and the next owner is told`),
    page: optional(
      choiceOption({
        summary: say`The hand-over page was read, and is right: without it, it is shown first`,
        example: 'seen',
        choices: ['seen'],
      }),
    ),
    note: optional(textOption({ summary: say`Words for the room`, example: 'to the school', max: 300 })),
  },
  needs: [needs.openJob],
  examples: [
    '/job finish restored sold:138',
    '/job finish restored sold:138 page:seen',
    '/job finish stripped parts:"front camera, speaker"',
    '/job finish handed-back',
  ],

  data: jobData,
  refuses: ['missing-option', 'wrong-state', 'unsafe'],
  run: (given, context) => {
    const { as, job: named, sold, kept, worth, fault: said, parts = [], unsealed, page, note } = given;
    const job = openJobMeant(context, named);
    const { store, now } = context;
    const { family } = phoneOfJob(context, job);
    const own = functionsOf(context.knowledge, family);
    const finishing = {
      as,
      realised: sold !== undefined,
      kept: kept === 'yes',
      unsealed: unsealed === 'yes',
    };
    if (worth && !finishing.kept) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`What it is worth is asked of a kept phone only.`,
        expected: say`kept:yes, or sold: with what it brought`,
        option: 'worth',
      });
    }
    const phone = stateOfJob(context, job);
    const obstacles = whyNotFinish(job, phone, own, finishing);
    refuseUnfinished(context, job, obstacles);
    checkWhatStays(context, family, as, parts, said);
    const traced = faultMended(context, job);
    const fault = said?.id ?? traced.fault;
    const taught = as === 'handed-back' && fault === null ? null : taughtHere(context, job, said?.id ?? null);
    const ending: Ending = {
      realised: sold ?? null,
      kept: finishing.kept,
      worth: finishing.kept ? (worth ?? saleRange(context, job, job.grade)?.middle ?? null) : null,
      promised: as === 'restored' ? context.collective.settings.promisedDays : 0,
      fault,
      ...(fault === null ? {} : { label: said ? ('told' as const) : ('guessed' as const) }),
      remedy: traced.remedy,
      parts: parts.map(({ id }) => id),
      sealed: as === 'restored' ? sealedAs(job, own, finishing.unsealed) : null,
      by: actorOf(context),
      taught: {
        faults: (taught?.faults ?? []).map(([id, n]) => [id, n]),
        outcomes: (taught?.outcomes ?? []).map(([step, id, outcome, n]) => [step, id, outcome, n]),
      },
    };
    if (as === 'restored' && !page)
      return pageFirst(context, { ...job, ended: { as, at: now, ending } }, given);
    store.jobs.add(
      job.number,
      [...(note ? [{ kind: 'said' as const, text: note }] : []), { kind: 'finished' as const, as }],
      handOf(context),
    );
    const after = store.jobs.end(job.number, as, now, ending);
    keepParts(context, job, ending.parts);
    if (as === 'restored') recordFittings(context, after, ending.promised ?? 0);
    if (taught) store.outcomeCounts.record(job.family, taught, isTold(ending), 1);
    return finished(context, after);
  },
});

/** What is in it goes out to its next owner: how long it lasts is watched from now on. */
function recordFittings({ store, now }: Context, job: JobRecord, promised: number): void {
  for (const { entry } of fittedNow(job))
    store.fittings.record({
      job: job.number,
      component: entry.component,
      grade: entry.grade,
      supplier: (entry.part === undefined ? null : store.shelf.get(entry.part))?.supplier ?? '',
      since: now,
      promised,
    });
}

/** The parts of a stripped phone lie on the shelf from now on. */
function keepParts(context: Context, job: JobRecord, parts: readonly string[]): void {
  const { family, model } = phoneOfJob(context, job);
  for (const component of parts)
    context.store.shelf.add(
      {
        component,
        family: family.id,
        model: model?.id ?? null,
        grade: 'used',
        tested: false,
        price: null,
        currency: job.price.currency,
        supplier: '',
        donor: job.number,
        paired: pairingOf(context.knowledge, family, component).travels,
        place: '',
        due: null,
      },
      'added',
      handOf(context),
    );
}

/** What was said with it, to be said again. */
interface Said {
  sold?: Money;
  kept?: 'yes';
  worth?: Money;
  fault?: { id: string };
  unsealed?: 'yes';
  note?: string;
}

/** What the next owner will read, before the job is closed with it. `job` is as it would be then. */
function pageFirst(context: Context, job: JobRecord, { sold, kept, worth, fault, unsealed, note }: Said) {
  const open = { ...job, ended: null };
  const again = {
    as: 'restored',
    page: 'seen',
    ...(sold ? { sold: toWire(sold).amount } : {}),
    ...(kept ? { kept } : {}),
    ...(worth ? { worth: toWire(worth).amount } : {}),
    ...(fault ? { fault: fault.id } : {}),
    ...(unsealed ? { unsealed } : {}),
    ...(note ? { note } : {}),
  };
  return reply({
    title: say`${jobHeading(context, job)}: is this what the next owner should read?`,
    blocks: [
      ...pageBlocks(context, job),
      text(say`Something odd about it that is not here? /job log oddity:"…" adds it. Nothing is closed yet.`),
    ],
    choices: [jobChoice(open, say`Yes, close it`, 'finish', again)],
    data: jobDataOf(context, open),
  });
}

const keptWords = ({ worth }: Ending): Message =>
  worth ? say`kept here, worth ${amount(worth)}` : say`kept here`;

const leftWords = (net: Money): Message =>
  net.minor < 0 ? say`it cost ${amount({ ...net, minor: -net.minor })}` : say`${amount(net)} left`;

function finished(context: Context, job: JobRecord) {
  const { net, back } = totalsOf(job);
  const as = job.ended?.as ?? 'restored';
  const ending = job.ended?.ending;
  const after = netAfterTime(context, job);
  // What is somebody else's was not taken in to be sold.
  const against =
    job.came === 'customer'
      ? ''
      : job.promise.verdict === 'pass' && as !== 'handed-back'
        ? say`At intake the advice was to pass.`
        : as === 'restored' && !ending?.kept
          ? say`At intake ${amount(job.promise.mean)} was expected after time, between ${amount(job.promise.low)} and ${amount(job.promise.high)} eight times in ten.`
          : '';
  const parts = (ending?.parts ?? []).map((id) => componentName(context, id));
  return jobReply(context, job, {
    title: plain`${jobHeading(context, job)}: ${inRow([
      endedWords[as],
      as !== 'restored' ? '' : ending?.kept ? keptWords(ending) : leftWords(net),
    ])}`,
    tone: as === 'restored' ? 'good' : 'plain',
    blocks: [
      text(
        as === 'handed-back'
          ? say`Closed. Write down who took it and when, as your local rules ask.`
          : joined([
              ending?.kept ? '' : say`${amount(back)} came back.`,
              after.minor < 0
                ? say`It cost ${amount({ ...after, minor: -after.minor })} when the bench time is paid.`
                : say`${amount(after)} is left when the bench time is paid.`,
              against,
            ]),
      ),
      ...(parts.length
        ? [
            text(
              say`On the shelf now: ${listWords(parts)}. What is tied to its board may not work elsewhere: /shelf list says which.`,
            ),
          ]
        : []),
      ...(as === 'restored' || as === 'stripped'
        ? [
            text(
              joined([
                ending?.label === 'guessed'
                  ? say`The fault: most likely ${faultName(context, ending.fault)}; nobody has said so.`
                  : say`The fault: ${faultName(context, ending?.fault ?? null)}.`,
                ending?.taught.faults.length ? say`Later traces learn from it.` : '',
              ]),
            ),
          ]
        : []),
      moneyFacts(context, job),
    ],
    choices: as === 'restored' ? [jobChoice(job, say`The hand-over page`, 'page')] : [],
  });
}
