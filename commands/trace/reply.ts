/** What `/trace` answers, for a trace as it stands: a check to do, a remedy, a stop, or the end. */

import { z } from 'zod';
import { sourceNote } from '../../knowledge/grounds.ts';
import {
  accessLevels,
  type Check,
  type Hazard,
  type PartGrade,
  type Remedy,
} from '../../knowledge/schema.ts';
import type { SetStep } from '../../shared/diagnosis/sets/next-set-step.ts';
import { hazardsOfStep, isSelling, netOfStopping, nextStep } from '../../shared/diagnosis/sets/next-step.ts';
import { type OpenWork, planOf, type SetCase } from '../../shared/diagnosis/sets/set-case.ts';
import type { SetCaseQuestion } from '../../shared/diagnosis/sets/set-case-question.ts';
import type { SetPlan } from '../../shared/diagnosis/sets/set-plan.ts';
import type { SetAction } from '../../shared/diagnosis/sets/set-problem.ts';
import type { Economics } from '../../shared/economics/economics.ts';
import { fittedNow } from '../../shared/jobs/hand-over.ts';
import type { Message } from '../../shared/language/message.ts';
import {
  counted,
  inRow,
  joined,
  listWords,
  packText,
  plain,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';
import { amount, fromMajor, moneyWire, toWire } from '../../shared/money/money.ts';
import { noStatement, pairingOf } from '../../shared/pairing/pairing.ts';
import { dangers, wetnesses } from '../../shared/phone/state.ts';
import type { PhoneSubject, TraceRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import {
  type Draft,
  type DraftBlock,
  type DraftCard,
  type DraftChoice,
  facts,
  type Input,
  inputSchema,
  onBack,
  reply,
  steps,
  text,
} from '../framework/reply.ts';
import { economicsFor, jobsBehind, setCaseFor, setQuestionFor } from '../shared/appraise-phone.ts';
import { benchTableBlocks } from '../shared/bench-table.ts';
import { cardsForPhone, cardsOfState } from '../shared/caution-cards.ts';
import { dangerChoice, dangerReply, unsafeChoice } from '../shared/danger-reply.ts';
import { jobChoice } from '../shared/find-job.ts';
import { benchEventsOf, damageOf, mendedIn } from '../shared/find-trace.ts';
import { lastingInWords } from '../shared/lasting.ts';
import { type Phone, phoneOfTrace } from '../shared/phone.ts';
import { stateOfTrace, subjectOfTrace } from '../shared/phone-state.ts';
import { plainlyUnsaid } from '../shared/said.ts';
import { partInWords, partsFor, takeChoice } from '../shared/shelf-part.ts';
import { componentName, partGradeWords, percent, sourcesOf } from '../shared/words.ts';

export const traceData = z.object({
  trace: z.number().int(),
  state: z.enum(['asking', 'opening', 'remedy', 'danger', 'dry', 'stop', 'mended', 'stopped']),
  /** What is settled of the phone, whatever the odds say. */
  phone: z.object({ danger: z.enum(dangers), wet: z.enum(wetnesses), newCell: z.boolean() }),
  revision: z.number().int(),
  family: z.string(),
  model: z.string().nullable(),
  symptoms: z.array(z.string()),
  evidence: z.array(
    z.object({
      kind: z.string(),
      id: z.string(),
      outcome: z.string().nullable(),
      reading: z.string().nullable(),
      by: z.string(),
    }),
  ),
  odds: z.array(z.object({ fault: z.string(), chance: z.number() })),
  step: z.object({ kind: z.string(), id: z.string() }).nullable(),
  /** Expected net of the plan, the limit nobody can pass, and whether the plan is proved the best. */
  plan: z
    .object({ expected: moneyWire, limit: moneyWire, proved: z.boolean(), leftOut: z.number() })
    .nullable(),
  gain: z.object({ overStopping: moneyWire }).nullable(),
  /** What is still open, what is gone, and the damage that is known and not mended. */
  open: z.array(z.string()),
  gone: z.array(z.string()),
  damage: z.array(z.string()),
  /** What it does not show, and the components that are known to be good. */
  denied: z.array(z.string()),
  good: z.array(z.string()),
  /** How far it is taken apart: 0 closed, 1 open, 2 board out. */
  reached: z.number().int(),
  /** All that was said to be wrong, in that order: by id of the symptom, or of the broken component. */
  standing: z.array(
    z.object({ id: z.string(), stands: z.enum(['gone', 'known', 'to-find']), by: z.string().nullable() }),
  ),
  /** What anybody would see and nobody has spoken of: asked once, before the first step. */
  unsaid: z.array(z.string()),
  minutes: z.number().nullable(),
  inputs: z.array(inputSchema),
});
export type TraceDraft = Draft<z.infer<typeof traceData>>;
export type TraceData = z.infer<typeof traceData>;

/** All that is needed to answer about one trace. */
export interface TraceDecision {
  context: Context;
  trace: TraceRecord;
  phone: Phone;
  economics: Economics;
  question: SetCaseQuestion;
  found: SetCase;
  subject: PhoneSubject;
}

export function traceDecisionOf(context: Context, trace: TraceRecord): TraceDecision {
  const phone = phoneOfTrace(context, trace);
  const economics = economicsFor(context, phone);
  const question = setQuestionFor(
    context,
    phone.family,
    benchEventsOf(context, trace),
    economics,
    stateOfTrace(context, trace),
    damageOf(context, trace),
  );
  return {
    context,
    trace,
    phone,
    economics,
    question,
    found: setCaseFor(question),
    subject: subjectOfTrace(context, trace),
  };
}

const money = (bench: TraceDecision, sum: number) => fromMajor(sum, bench.economics.currency);
const shown = (bench: TraceDecision, sum: number): Message => amount(money(bench, sum));

/** The cards of a step: those of the phone's state, of the step, and of getting to it. */
const cardsOf = ({ context, subject, found, phone }: TraceDecision, step: Check | Remedy): DraftCard[] =>
  cardsForPhone(context, subject, found.state, hazardsOfStep(phone.family, found.reached, step));

/** Hazards with which a cell can be seen, or made, dangerous: their steps offer to say so. */
const nearTheCell: readonly Hazard[] = [
  'heats',
  'pries',
  'presses',
  'charges',
  'live-supply',
  'punctures',
  'cuts',
];

/** Whether a step has to wait until the phone is open. */
const opensFor = ({ found }: TraceDecision, { access }: Check | Remedy): boolean =>
  found.reached < 1 && accessLevels.indexOf(access) >= 1;

/** What can be said at a step of the state of the phone. */
function stateChoices(bench: TraceDecision, step: Check | Remedy): DraftChoice[] {
  const { phone, found, subject, trace, context } = bench;
  const opens = accessLevels.indexOf(step.access) > found.reached;
  const near = hazardsOfStep(phone.family, found.reached, step).some((hazard) =>
    nearTheCell.includes(hazard),
  );
  return opens || near ? [unsafeChoice(subject, revisionOf(context, subject, trace))] : [];
}

/** Choices about the phone's state are bound to whatever keeps it: its job, else the trace. */
const revisionOf = ({ store }: Context, { kind, number }: PhoneSubject, trace: TraceRecord): number =>
  kind === 'job' ? (store.jobs.get(number)?.revision ?? 0) : trace.revision;

function oddsBlock({ found, context, phone }: TraceDecision): DraftBlock {
  const top = found.belief.odds.slice(0, 5).filter(({ share }) => share >= 0.01);
  return {
    back: true,
    kind: 'bars',
    heading: say`Chance that it has this (common practice, no source; ${jobsBehind(context, phone.family)})`,
    bars: top.map(({ fault, share }) => ({ label: packText(fault.name), share })),
  };
}

/** The two likeliest, in a line. */
function likeliest({ found }: TraceDecision): DraftBlock[] {
  const top = found.belief.odds.slice(0, 2).filter(({ share }, at) => share >= (at ? MATTERS : 0.01));
  if (!top.length) return [];
  const named = top.map(({ fault, share }) => joined([packText(fault.name), percent(share)]));
  return [text(say`Likeliest: ${inRow(named)}.`)];
}

function gettingIn({ phone, found }: TraceDecision, step: Check | Remedy): DraftBlock[] {
  const { board } = phone.family;
  if (found.reached >= 2 || accessLevels.indexOf(step.access) < 2) return [];
  return onBack(
    steps(
      board.steps.map((one) => packText(one)),
      say`Board out (about ${board.minutes} min)`,
    ),
  );
}

/** What has to be done first to get at it, with its minutes; how is on the back. */
const reachFirst = ({ phone, found }: TraceDecision, step: Check | Remedy): Message | '' =>
  found.reached < 2 && accessLevels.indexOf(step.access) >= 2
    ? say`First take the board out, about ${phone.family.board.minutes} min.`
    : '';

/** Opening the phone is a step of its own: with its own cautions, and with nothing to be answered but that it is open. */
function openFirst(bench: TraceDecision, plan: SetPlan, action: SetAction, step: Check | Remedy): TraceDraft {
  const { context, trace, phone, subject, found } = bench;
  const { open } = phone.family;
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: open it`,
    cautions: cardsForPhone(context, subject, found.state, open.hazards),
    blocks: [
      ...lookBlocks(bench),
      text(
        joined([
          say`Then comes: ${packText(step.name)}.`,
          open.tools.length
            ? say`You need: ${listWords(open.tools.map((one) => packText(one)))}. About ${open.minutes} min.`
            : say`About ${open.minutes} min.`,
          open.breaks ? say`Opening costs: ${packText(open.breaks)}` : '',
          counted(open.steps.length, 'How, in {0} step: behind “More”.', 'How, in {0} steps: behind “More”.'),
        ]),
      ),
      ...likeliest(bench),
      ...onBack(
        steps(
          open.steps.map((one) => packText(one)),
          say`How it opens`,
        ),
      ),
      oddsBlock(bench),
      ...pathBlocks(bench),
    ],
    choices: [
      { ...choice(bench, say`It is open`, 'note', { open: 'open' }), aside: false },
      ...common(bench, step),
    ],
    sources: sourcesOf(context.knowledge, [phone.family.ground]),
    data: dataOf(bench, 'opening', action, plan, open.minutes),
  });
}

const numbered = (trace: TraceRecord) => ({ trace: String(trace.number) });

function choice(
  bench: TraceDecision,
  label: Message,
  action: string,
  options: Record<string, string> = {},
): DraftChoice {
  const { trace } = bench;
  return {
    label,
    ...(action === 'answer' || action === 'next' ? {} : { aside: true }),
    invoke: { command: 'trace', action, options: { ...options, ...numbered(trace) } },
    subject: `trace:${trace.number}`,
    revision: trace.revision,
    open: true,
  };
}

/** The remedy that was just done, as an entry of its job in one tap: its part, the price reckoned with, and its minutes. */
function logChoice(bench: TraceDecision): DraftChoice[] {
  const { context, trace, economics } = bench;
  const job = context.store.jobs.ofTrace(trace.number);
  // What is said in between, and no step, leaves it on offer.
  const last = trace.steps.findLast(({ undone, kind }) => !undone && (kind === 'check' || kind === 'remedy'));
  const remedy = last?.kind === 'remedy' ? context.knowledge.remedies.get(last.ref) : undefined;
  if (!job || job.ended || !last || !remedy) return [];
  const fitted = fittedNow(job).filter(({ entry }) => entry.part !== undefined);
  // One from the shelf is in the job already, with its price.
  const [part] = remedy.parts.filter(
    ({ component }) => !fitted.some(({ entry }) => entry.component === component),
  );
  // One that changed nothing is taken back: its part goes back to stock, its time is spent.
  if (!part || last.outcome === 'failed')
    return [
      jobChoice(job, say`Log it: ${remedy.minutes} min`, 'log', {
        minutes: String(remedy.minutes),
        text: context.write(packText(remedy.name)),
      }),
    ];
  const price = fromMajor(economics.part(part.component, part.grade).price, economics.currency);
  return [
    jobChoice(
      job,
      say`Log it: ${componentName(context, part.component)}, ${amount(price)}, ${remedy.minutes} min`,
      'log',
      {
        fitted: part.component,
        grade: part.grade,
        out: toWire(price).amount,
        minutes: String(remedy.minutes),
      },
    ),
  ];
}

/** What anybody would see and nobody has spoken of, asked once before the first step. */
const unsaidOf = ({ context, phone, question, trace }: TraceDecision) =>
  trace.state === 'open' ? plainlyUnsaid(context, phone, question.events) : [];

function lookBlocks(bench: TraceDecision): DraftBlock[] {
  if (!unsaidOf(bench).length) return [];
  return onBack(
    text(
      say`Anything else to see? Say what anybody would see on it, or that there is nothing else: that counts too. Answering the step below skips this.`,
    ),
  );
}

const lookChoices = (bench: TraceDecision): DraftChoice[] => {
  const unsaid = unsaidOf(bench);
  if (!unsaid.length) return [];
  return [
    ...unsaid.map(({ id, name }) => choice(bench, say`Seen: ${packText(name)}`, 'note', { shown: id })),
    choice(bench, say`Nothing else to see`, 'note', { look: 'nothing-else' }),
  ];
};

const common = (bench: TraceDecision, step: Check | Remedy): DraftChoice[] => [
  ...logChoice(bench),
  ...stateChoices(bench, step),
  ...lookChoices(bench),
  choice(bench, say`Can't do that`, 'cannot', { step: step.id }),
  ...(bench.trace.steps.some((step) => !step.undone) ? [choice(bench, say`Go back`, 'back')] : []),
  choice(bench, say`Stop here`, 'stop'),
];

function dataOf(
  bench: TraceDecision,
  state: TraceData['state'],
  step: SetAction | null,
  found: SetPlan | null,
  minutes: number | null,
  inputs: readonly Input[] = [],
): TraceData {
  const { trace, phone, economics } = bench;
  const wire = (sum: number) => toWire(money(bench, sum));
  const best = found && step ? lowerOf(found, step) : undefined;
  const gain = found && best !== undefined ? best - netOfStopping(found) : undefined;
  return {
    trace: trace.number,
    state,
    phone: {
      danger: bench.found.state.danger,
      wet: bench.found.state.wet,
      newCell: bench.found.state.newCell,
    },
    revision: trace.revision,
    family: phone.family.id,
    model: phone.model?.name ?? null,
    symptoms: trace.symptoms,
    evidence: trace.steps
      .filter((one) => !one.undone)
      .map(({ kind, ref, outcome, reading, by }) => ({ kind, id: ref, outcome, reading, by: by.name })),
    open: [...bench.found.belief.open],
    gone: [...bench.found.belief.gone],
    damage: [...bench.found.belief.damage],
    denied: [...bench.found.belief.denied],
    good: [...new Set(bench.question.events.flatMap((event) => (event.kind === 'good' ? [event.id] : [])))],
    reached: bench.found.reached,
    standing: standingOf(bench).map(({ id, stands, by }) => ({ id, stands, by })),
    unsaid: state === 'danger' ? [] : unsaidOf(bench).map(({ id }) => id),
    odds: bench.found.belief.odds.map(({ fault, share }) => ({ fault: fault.id, chance: share })),
    step,
    plan: found && {
      expected: wire(found.value),
      limit: wire(found.upper),
      proved: found.exact && bench.found.uncut,
      leftOut: bench.found.leftOut,
    },
    gain: gain !== undefined ? { overStopping: wire(gain) } : null,
    minutes,
    inputs: [
      ...economics.inputs,
      ...inputs,
      {
        name: 'fault weights and outcome chances',
        value: bench.context.knowledge.version,
        ground: 'practice',
        note: 'pack',
      },
    ],
  };
}

/** The minutes of a step, with the ground of the whole entry. */
function stepInput({ knowledge }: Context, step: Check | Remedy): Input {
  const { ground, minutes, id } = step;
  return typeof ground === 'string'
    ? { name: `minutes: ${id}`, value: minutes, ground }
    : { name: `minutes: ${id}`, value: minutes, ground: 'published', note: sourceNote(knowledge, ground) };
}

/** The price of a part: the middle of those seen, or a share of the base of part prices. */
function partInput(economics: Economics, component: string, grade: PartGrade): Input {
  const { price, seen, held } = economics.part(component, grade);
  const name = `part: ${component}, ${grade}`;
  const value = toWire(fromMajor(price, economics.currency)).amount;
  if (held) return { name, value, ground: 'collective', note: '/shelf' };
  return seen
    ? { name, value, ground: 'collective', note: `median of ${seen}` }
    : { name, value, ground: 'practice', note: 'share-of-base' };
}

/** The expected net of doing a step first. */
const lowerOf = ({ alternatives, value }: SetPlan, step: SetAction): number =>
  alternatives.find(({ action }) => action.kind === step.kind && action.id === step.id)?.lower ?? value;

/** What going on gains; a limit only where it is tight. */
function gains(bench: TraceDecision, found: SetPlan, gain: number): Message | '' {
  if (gain <= 0) return '';
  if (found.exact && bench.found.uncut)
    return say`Going on is expected to gain ${shown(bench, gain)} over stopping now, the most that any plan can.`;
  const limit = gain + found.gap;
  if (found.gap > TIGHT * gain)
    return say`Going on is expected to gain ${shown(bench, gain)} over stopping now.`;
  return say`Going on is expected to gain ${shown(bench, gain)} over stopping now; no plan can gain more than ${shown(bench, limit)}.`;
}
/** A limit further off than this share of the gain says nothing. */
const TIGHT = 0.25;

/** A fault that an answer leaves less of than this share of its odds is cleared by it. */
const CLEARED = 0.25;
const MATTERS = 0.05;
/** What each answer would mean: which fault leads after it, or which it clears. */
function meanings({ found }: TraceDecision, check: Check): Message[] {
  const { problem, belief } = found;
  const form = problem.checks.find(({ id }) => id === check.id)?.forms.at(-1);
  if (!form) return [];
  const marginals = (weightOf: (h: number) => number): Float64Array => {
    const of = new Float64Array(belief.faults.length);
    let total = 0;
    problem.hypotheses.forEach(({ faults }, h) => {
      const weight = weightOf(h);
      total += weight;
      for (const fault of faults) of[fault] = (of[fault] ?? 0) + weight;
    });
    return total > 0 ? of.map((one) => one / total) : of;
  };
  const before = marginals((h) => problem.hypotheses[h]?.weight ?? 0);
  const name = (fault: number) => packText(belief.faults[fault]?.name ?? '');
  return check.outcomes.flatMap((outcome, o) => {
    const chance = problem.hypotheses.reduce(
      (sum, one, h) => sum + one.weight * (form.given[o]?.[h] ?? 0),
      0,
    );
    if (chance < MATTERS) return [];
    const now = marginals((h) => (problem.hypotheses[h]?.weight ?? 0) * (form.given[o]?.[h] ?? 0));
    let lead = 0;
    now.forEach((share, fault) => {
      if (share > (now[lead] ?? 0)) lead = fault;
    });
    const rises = (now[lead] ?? 0) > (before[lead] ?? 0);
    const cleared = [...now.keys()].filter(
      (fault) => (before[fault] ?? 0) >= 2 * MATTERS && (now[fault] ?? 0) < CLEARED * (before[fault] ?? 0),
    );
    const says = packText(outcome.says);
    if (rises) return [say`${says}: ${name(lead)} (${percent(now[lead] ?? 0)})`];
    const [first] = cleared;
    return first === undefined
      ? [say`${says}: still ${name(lead)} (${percent(now[lead] ?? 0)})`]
      : [say`${says}: not ${name(first)}`];
  });
}

/** One thing that was said to be wrong: how it stands. */
interface Standing {
  name: Message;
  id: string;
  stands: 'gone' | 'known' | 'to-find';
  /** The remedy or check that made it go. */
  by: string | null;
}

/** All that was said to be wrong, in the order in which it was said. */
function standingOf({ context, question, found }: TraceDecision): Standing[] {
  const { knowledge } = context;
  const { open, goneBy, damage } = found.belief;
  const shown = new Set(question.events.flatMap((event) => (event.kind === 'shown' ? [event.id] : [])));
  const told = [...shown].flatMap((id): Standing[] => {
    const symptom = knowledge.symptoms.get(id);
    // What happened to it is nothing to find.
    if (!symptom || symptom.history) return [];
    const broken = symptom.damage;
    const name = broken ? componentName(context, broken) : packText(symptom.name);
    const key = broken ?? id;
    const by = goneBy.get(key) ?? null;
    if (broken && damage.includes(broken)) return [{ name, id: key, stands: 'known', by: null }];
    if (!broken && open.includes(id)) return [{ name, id: key, stands: 'to-find', by: null }];
    return by === null ? [] : [{ name, id: key, stands: 'gone', by }];
  });
  const named = new Set(told.map(({ id }) => id));
  return [
    ...told.filter((one, at) => told.findIndex(({ id }) => id === one.id) === at),
    ...damage
      .filter((id) => !named.has(id))
      .map((id): Standing => ({ name: componentName(context, id), id, stands: 'known', by: null })),
  ];
}

/** "1 does not charge: mended by New cell; 2 display assembly: known, to do; 3 no sound: to find", and what is known besides. */
function standingBlocks(bench: TraceDecision): DraftBlock[] {
  const { context, question, found } = bench;
  const { knowledge } = context;
  const all = standingOf(bench);
  const lines = all.map(({ name, stands, by }) => {
    if (stands === 'known') return say`${name}: known, to do`;
    if (stands === 'to-find') return say`${name}: to find`;
    const remedy = knowledge.remedies.get(by ?? '');
    return remedy
      ? say`${name}: mended by ${packText(remedy.name)}`
      : say`${name}: gone (${packText(knowledge.checks.get(by ?? '')?.name ?? by ?? '')})`;
  });
  const symptoms = (ids: readonly string[]) =>
    listWords(ids.map((id) => packText(knowledge.symptoms.get(id)?.name ?? id)));
  const good = [...new Set(question.events.flatMap((event) => (event.kind === 'good' ? [event.id] : [])))];
  const idle = new Set(found.belief.idle.flatMap((event) => (event.kind === 'denied' ? [event.id] : [])));
  const history = [
    ...new Set(
      question.events.flatMap((event) =>
        event.kind === 'shown' && knowledge.symptoms.get(event.id)?.history ? [event.id] : [],
      ),
    ),
  ];
  const rows: [Message, Message][] = [
    ...(history.length && all.length
      ? [[say`What happened to it`, symptoms(history)] as [Message, Message]]
      : []),
    ...(found.belief.denied.length
      ? [[say`It does not show`, symptoms(found.belief.denied)] as [Message, Message]]
      : []),
    ...(idle.size ? [[say`Can not be told yet`, symptoms([...idle])] as [Message, Message]] : []),
    ...(good.length
      ? [
          [say`Known to be good`, listWords(good.map((id) => componentName(context, id)))] as [
            Message,
            Message,
          ],
        ]
      : []),
    ...(found.reached > 0
      ? [
          [
            say`It lies open`,
            found.reached > 1 ? say`with the board out` : say`its inside can be reached`,
          ] as [Message, Message],
        ]
      : []),
  ];
  const tells = all.length > 1 || all.some(({ stands }) => stands !== 'to-find');
  return [
    ...onBack(...(tells ? [steps(lines, say`Where it stands`)] : []), ...(rows.length ? [facts(rows)] : [])),
    ...(startedNow(bench)
      ? [
          text(
            say`It starts now: what a dead phone could not show can be seen. Say what else it does wrong: ${typed('/trace note shown:')}`,
          ),
        ]
      : []),
  ];
}

/** True right after the step that brought a dead phone to life. */
function startedNow({ trace, found, context }: TraceDecision): boolean {
  const by = found.belief.goneBy.get('dead');
  const last = trace.steps.findLast(({ undone, kind }) => !undone && (kind === 'check' || kind === 'remedy'));
  return by !== undefined && last?.ref === by && context.knowledge.symptoms.has('dead');
}

/** What was answered and said by whom, what is settled and what is left. */
function pathBlocks(bench: TraceDecision): DraftBlock[] {
  const { context, trace } = bench;
  const done = trace.steps
    .flatMap((step) => {
      const words = step.undone ? null : stepInWords(context, step);
      return words ? [plain`${words} (${verbatim(step.by.name)})`] : [];
    })
    .slice(-PATH_SHOWN);
  return [...standingBlocks(bench), ...onBack(...(done.length ? [steps(done, say`So far`, false)] : []))];
}

/** The same on the card of its job, where nothing stands behind. */
export const pathOnCard = (context: Context, trace: TraceRecord): DraftBlock[] =>
  pathBlocks(traceDecisionOf(context, trace)).map((block) => ({ ...block, back: false }));

/** "Current at the charger: nothing, 0.00 A"; null for what is no part of the path. */
function stepInWords(
  context: Context,
  { kind, ref, outcome, reading }: TraceRecord['steps'][number],
): Message | null {
  const { knowledge } = context;
  const symptoms = () =>
    listWords(ref.split(',').map((id) => packText(knowledge.symptoms.get(id)?.name ?? id)));
  switch (kind) {
    case 'check': {
      const check = knowledge.checks.get(ref);
      const says = check?.outcomes.find(({ id }) => id === outcome)?.says;
      return plain`${packText(check?.name ?? ref)}: ${packText(says ?? outcome ?? '')}`;
    }
    case 'remedy': {
      const name = packText(knowledge.remedies.get(ref)?.name ?? ref);
      const known = outcome === 'works' || outcome === 'partly' ? outcome : 'failed';
      const gone = known === 'partly' && reading ? reading.split(',') : [];
      const words = gone.map((id) =>
        packText(knowledge.symptoms.get(id)?.name ?? knowledge.components.get(id)?.name ?? id),
      );
      return words.length ? say`${name}: gone is ${listWords(words)}` : plain`${name}: ${remedyWords[known]}`;
    }
    case 'cannot':
      return say`${packText(knowledge.checks.get(ref)?.name ?? knowledge.remedies.get(ref)?.name ?? ref)}: cannot be done`;
    case 'shown':
      return say`it shows: ${symptoms()}`;
    case 'denied':
      // The one answer to what else is to be seen.
      if (ref.includes(',') && ref.split(',').every((id) => knowledge.symptoms.get(id)?.plainToSee))
        return say`nothing else to see`;
      return say`it does not show: ${symptoms()}`;
    case 'good':
      return say`known to be good: ${listWords(ref.split(',').map((id) => componentName(context, id)))}`;
    case 'reached':
      return reachedWords[ref] ?? null;
    default:
      return null;
  }
}
const reachedWords: Readonly<Record<string, Message>> = {
  closed: say`it is closed`,
  open: say`it lies open`,
  board: say`it lies open, its board is out`,
};
const PATH_SHOWN = 8;
const remedyWords = {
  works: say`all gone`,
  partly: say`part of it gone`,
  failed: say`no change`,
} as const;

function ask(
  bench: TraceDecision,
  found: SetPlan,
  action: SetAction,
  check: Check,
  why: SetStep['why'],
): TraceDraft {
  const { context, trace, phone } = bench;
  const gain = lowerOf(found, action) - netOfStopping(found);
  const means = meanings(bench, check);
  const reach = gettingIn(bench, check);
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: ${packText(check.name)}`,
    cautions: cardsOf(bench, check),
    blocks: [
      ...lookBlocks(bench),
      text(packText(check.ask)),
      ...benchTableBlocks(context, check, phone.model),
      text(
        joined([
          reachFirst(bench, check),
          check.needs.length
            ? say`You need: ${listWords(check.needs.map((one) => packText(one)))}. About ${check.minutes} min.`
            : say`About ${check.minutes} min.`,
          check.unit ? say`Or type what you read: ${typed(`/trace answer "0.00 ${check.unit}"`)}.` : '',
        ]),
      ),
      ...likeliest(bench),
      ...reach,
      oddsBlock(bench),
      ...pathBlocks(bench),
      ...onBack(
        text(
          joined([
            why === 'first'
              ? say`Why this one: a closed, quick look that comes before the phone is opened.`
              : why === 'eyes'
                ? say`Why this one: a look before money is spent.`
                : '',
            means.length ? say`What each answer would mean: ${joined(means, '; ')}.` : '',
            gains(bench, found, gain),
          ]),
        ),
      ),
    ],
    choices: [
      ...check.outcomes.map((outcome) =>
        choice(bench, packText(outcome.says), 'answer', { says: outcome.id, step: check.id }),
      ),
      ...(check.unit
        ? [{ ...choice(bench, say`Type what you read`, 'answer', { step: check.id }), fill: 'says' }]
        : []),
      ...common(bench, check),
    ],
    sources: sourcesOf(context.knowledge, [check.ground]),
    data: dataOf(bench, 'asking', action, found, check.minutes, [stepInput(context, check)]),
  });
}

/** What it takes, and for how much. */
function remedyNeeds(bench: TraceDecision, remedy: Remedy): Message {
  const parts = remedy.parts.map(({ component, grade }) => {
    const { low, price, high, seen, held } = bench.economics.part(component, grade);
    const range = held
      ? say`on the shelf`
      : seen === 1
        ? say`one price seen`
        : seen
          ? say`${shown(bench, low)} to ${shown(bench, high)}, ${seen} prices seen`
          : say`${shown(bench, low)} to ${shown(bench, high)}, estimate`;
    return [
      plain`${componentName(bench.context, component)}, ${partGradeWords[grade]}`,
      plain`${shown(bench, price)} (${range})`,
    ] as const;
  });
  return joined([
    reachFirst(bench, remedy),
    parts.length
      ? say`You need: ${joined(
          parts.map(([part, cost]) => plain`${part}, ${cost}`),
          '; ',
        )}. About ${remedy.minutes} min.`
      : say`About ${remedy.minutes} min.`,
    counted(remedy.steps.length, 'How, in {0} step: behind “More”.', 'How, in {0} steps: behind “More”.'),
  ]);
}

/** How it is done, how long it lasts, what pairing does, and what to tell whoever gets the phone. */
function howTo(bench: TraceDecision, remedy: Remedy): DraftBlock[] {
  const { context, phone } = bench;
  const pairing = remedy.parts.map(({ component }) => {
    const name = componentName(context, component);
    const { statements } = pairingOf(context.knowledge, phone.family, component);
    const said = [...statements.map((one) => one.loses), ...statements.map((one) => one.mends)];
    return said.length
      ? plain`${name}: ${joined(said.map((one) => packText(one)))}`
      : plain`${name}: ${noStatement}`;
  });
  const lasting = remedy.parts.flatMap(({ component }) => lastingInWords(context, component));
  const closing = accessLevels.indexOf(remedy.access) > 0 || bench.found.reached > 0;
  return [
    steps(
      remedy.steps.map((one) => packText(one)),
      say`Do`,
    ),
    ...(lasting.length ? [steps(lasting, say`How long it lasts`, false)] : []),
    ...(pairing.length ? [steps(pairing, say`Pairing`, false)] : []),
    ...toDisclose(remedy),
    ...(closing ? [text(say`Before you seal it: ${packText(phone.family.close.note)}`)] : []),
  ];
}

function propose(
  bench: TraceDecision,
  found: SetPlan,
  action: SetAction,
  remedy: Remedy,
  first: boolean,
): TraceDraft {
  const { context, trace, phone, economics } = bench;
  const works = bench.found.belief.odds.reduce(
    (sum, { fault, share }) => sum + share * (remedy.works[fault.id] ?? 0),
    0,
  );
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: ${packText(remedy.name)}`,
    tone: 'good',
    cautions: cardsOf(bench, remedy),
    blocks: [
      ...lookBlocks(bench),
      ...(first
        ? [
            text(
              say`It is wet: it is cleaned inside before anything that charges or powers it, also where that alone may not mend it.`,
            ),
          ]
        : []),
      text(remedyNeeds(bench, remedy)),
      text(
        say`Most likely: ${packText(bench.found.belief.odds[0]?.fault.name ?? '')} (${percent(bench.found.belief.odds[0]?.share ?? 0)}). Chance that this mends it: ${percent(works)}.`,
      ),
      ...gettingIn(bench, remedy),
      ...onBack(...howTo(bench, remedy)),
      oddsBlock(bench),
      ...pathBlocks(bench),
    ],
    choices: [...shelfChoices(bench, remedy), ...doneChoices(bench, remedy), ...common(bench, remedy)],
    sources: sourcesOf(context.knowledge, [
      remedy.ground,
      ...remedy.parts.flatMap(({ component }) =>
        pairingOf(context.knowledge, phone.family, component).statements.map((one) => one.ground),
      ),
    ]),
    data: dataOf(bench, 'remedy', action, found, remedy.minutes, [
      stepInput(context, remedy),
      ...remedy.parts.map(({ component, grade }) => partInput(economics, component, grade)),
    ]),
  });
}

/** What of it lies on the shelf, to be fitted in one tap: what lies longest of each component. */
function shelfChoices({ context, trace }: TraceDecision, { parts }: Remedy): DraftChoice[] {
  const job = context.store.jobs.ofTrace(trace.number);
  if (!job || job.ended) return [];
  return parts.flatMap(({ component, grade }) => {
    const part = partsFor(context, job, component).find((one) => one.grade === grade && !one.paired);
    return part
      ? [takeChoice(job, part, say`Fit ${componentName(context, component)}, ${partInWords(part)}`)]
      : [];
  });
}

/** What can be seen after a remedy: all that was open is gone, one of it, or nothing changed. */
function doneChoices(bench: TraceDecision, remedy: Remedy): DraftChoice[] {
  const { open } = bench.found;
  const { knowledge } = bench.context;
  const answer = (label: Message, says: string) => choice(bench, label, 'answer', { says, step: remedy.id });
  const name = ({ kind, ref }: OpenWork): Message =>
    kind === 'damage'
      ? componentName(bench.context, ref)
      : packText(knowledge.symptoms.get(ref)?.name ?? ref);
  return [
    { ...answer(open.length > 1 ? say`Done: all gone` : say`Done: it works`, 'works'), main: true },
    ...(open.length > 1
      ? // What happened to it never goes.
        open
          .filter(({ ref }) => !knowledge.symptoms.get(ref)?.history)
          .map((one) =>
            answer(
              one.kind === 'damage'
                ? say`Done: only ${name(one)} mended`
                : say`Done: only “${name(one)}” gone`,
              `gone:${one.ref}`,
            ),
          )
      : []),
    answer(say`Done: no change`, 'failed'),
  ];
}

/** The dangerous cell comes before every question. */
function dangerStep(bench: TraceDecision): TraceDraft {
  const { context, trace, phone, subject, found } = bench;
  const danger = dangerReply(context, subject, revisionOf(context, subject, trace), found.state);
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: ${danger?.says ?? ''}`,
    tone: 'danger',
    cautions: danger?.cautions ?? [],
    blocks: danger?.blocks ?? [],
    choices: [
      ...(danger?.choices ?? []),
      ...(trace.state === 'open' ? [choice(bench, say`Stop here`, 'stop')] : []),
    ],
    data: dataOf(bench, 'danger', null, null, null),
  });
}

/** The cell was all that was said to be wrong, and it has another one. */
const nothingElse = ({ found }: TraceDecision): boolean =>
  found.state.newCell && found.state.wet !== 'wet' && found.open.length === 0;

function afterNewCell(bench: TraceDecision): TraceDraft {
  const { context, trace, phone } = bench;
  const job = context.store.jobs.ofTrace(trace.number);
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: it has a new cell, and nothing else was said to be wrong`,
    tone: 'good',
    blocks: [text(say`Next: test every function before it is sealed.`)],
    choices: [
      ...(job && !job.ended ? [jobChoice(job, say`Test its functions`, 'test')] : []),
      choice(bench, say`Stop here`, 'stop'),
    ],
    data: dataOf(bench, 'stop', null, null, null),
  });
}

/** A wet phone that no remedy of the pack cleans: somebody says when it is clean and dry. */
function dry(bench: TraceDecision, plan: SetPlan): TraceDraft {
  const { context, trace, phone, subject, found } = bench;
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: clean it inside and let it dry first`,
    tone: 'caution',
    cautions: cardsOfState(context, found.state),
    blocks: [
      text(
        say`Nothing that charges or powers it comes before that. Open it, clean off what the liquid left, let it dry, and say so.`,
      ),
      oddsBlock(bench),
    ],
    choices: [
      dangerChoice(
        subject,
        revisionOf(context, subject, trace),
        say`It is cleaned inside and dry`,
        'cleaned',
      ),
      choice(bench, say`Stop here`, 'stop'),
    ],
    data: dataOf(bench, 'dry', null, plan, null),
  });
}

function reasonedStop(bench: TraceDecision, found: SetPlan, state: 'stop' | 'stopped'): TraceDraft {
  const { context, trace, phone } = bench;
  const next = found.alternatives.find((one) => one.action.kind !== 'end');
  const strip = bench.found.problem.ends.some((end) => end.id === 'strip') ? bench.found.stripValue : null;
  const sell = isSelling(found.action) ? lowerOf(found, found.action) : null;
  const name = next && stepName(context, next.action);
  const why =
    next && next.lower < 0
      ? say`The best step left, ${name ?? ''}, is expected to leave ${shown(bench, next.lower)}.`
      : next
        ? say`The best step left, ${name ?? ''}, is expected to leave ${shown(bench, next.lower)}; stopping leaves ${shown(bench, found.value)}.`
        : say`There is no check or remedy left to try.`;
  return reply({
    title:
      state === 'stopped'
        ? say`Trace ${trace.number}, ${phone.name}: stopped`
        : say`Trace ${trace.number}, ${phone.name}: stop here`,
    tone: 'caution',
    cautions: cardsOfState(context, bench.found.state),
    blocks: [
      ...lookBlocks(bench),
      text(why),
      ...(sell !== null && sell > 0 && bench.found.open.length
        ? [
            text(
              say`Sold as it is, with what is wrong told to the buyer, it is expected to leave ${shown(bench, sell)}.`,
            ),
          ]
        : []),
      ...(strip !== null
        ? [
            text(
              strip > 0
                ? say`Stripped for parts it is expected to leave ${shown(bench, strip)}.`
                : say`Stripping is not expected to pay its time; pass it on for recycling.`,
            ),
          ]
        : []),
      oddsBlock(bench),
      ...pathBlocks(bench),
      text(say`Next: /worth trace:${trace.number} compares restoring, stripping and passing at a price.`),
    ],
    choices: [
      ...lookChoices(bench),
      ...logChoice(bench),
      ...(state === 'stop' && next ? [choice(bench, say`Go on anyway: ${name ?? ''}`, 'next')] : []),
      ...(trace.steps.some((step) => !step.undone) && trace.state === 'open'
        ? [choice(bench, say`Go back`, 'back')]
        : []),
      ...(trace.state === 'open' ? [choice(bench, say`Stop here`, 'stop')] : []),
    ],
    data: dataOf(bench, state, found.action, found, null),
  });
}

const stepName = ({ knowledge }: Context, { kind, id }: SetAction): Message =>
  packText((kind === 'check' ? knowledge.checks.get(id)?.name : knowledge.remedies.get(id)?.name) ?? id);

/** The reply for a trace as it stands. `goOn`: the best step even where stopping is worth more. */
export function traceReply(context: Context, trace: TraceRecord, goOn = false): TraceDraft {
  const bench = traceDecisionOf(context, trace);
  if (trace.state === 'ended') return ended(bench);
  if (nothingElse(bench)) return afterNewCell(bench);
  const next = nextStep(bench.question, bench.found, goOn);
  switch (next.kind) {
    case 'danger':
      return dangerStep(bench);
    case 'check':
      if (opensFor(bench, next.check)) return openFirst(bench, next.plan, next.action, next.check);
      return ask(bench, next.plan, next.action, next.check, next.why);
    case 'remedy':
      if (opensFor(bench, next.remedy)) return openFirst(bench, next.plan, next.action, next.remedy);
      return propose(bench, next.plan, next.action, next.remedy, next.first);
    case 'dry':
      return dry(bench, next.plan);
    case 'done':
      return allGone(bench);
    case 'stop':
      return reasonedStop(bench, next.plan, 'stop');
  }
}

/** All that was said to be wrong is gone, whether the trace is still open or not. */
function allGone(bench: TraceDecision): TraceDraft {
  const { context, trace, phone, found } = bench;
  const job = context.store.jobs.ofTrace(trace.number);
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: all that was wrong is gone`,
    tone: 'good',
    cautions: cardsForPhone(
      context,
      bench.subject,
      found.state,
      found.reached > 0 ? phone.family.close.hazards : [],
    ),
    blocks: [
      ...pathBlocks(bench),
      text(say`Before you seal it: ${packText(phone.family.close.note)}`),
      text(say`Next: test every function, then seal. /worth trace:${trace.number} says what it is worth.`),
    ],
    choices: [
      ...logChoice(bench),
      ...(job && !job.ended ? [jobChoice(job, say`Test its functions`, 'test')] : []),
      ...(trace.state === 'open'
        ? [choice(bench, say`Go back`, 'back'), choice(bench, say`It is done`, 'stop')]
        : []),
    ],
    data: dataOf(bench, 'mended', null, null, null),
  });
}

const toDisclose = ({ disclose }: Remedy): DraftBlock[] =>
  disclose.length
    ? [
        steps(
          disclose.map((one) => packText(one)),
          say`Tell the next owner`,
          false,
        ),
      ]
    : [];

/** What the last remedy that made something go removed, likeliest first. */
const removedIn = ({ found }: TraceDecision) => found.belief.mended.at(-1)?.shares ?? [];

function ended(bench: TraceDecision): TraceDraft {
  const { context, trace, phone } = bench;
  if (bench.found.state.danger !== 'none') return dangerStep(bench);
  const remedy = mendedIn(trace, context);
  if (!remedy)
    // A check may have been all that it needed, such as half an hour on a charger.
    return nextStep(bench.question, bench.found).kind === 'done'
      ? allGone(bench)
      : reasonedStop(bench, planOf(bench.found), 'stopped');
  const learnt = [...context.knowledge.lessons]
    .filter(({ about, ground }) => ground === 'practice' && about[0] === removedIn(bench)[0]?.fault.component)
    .slice(0, 3)
    .map(({ says }) => says);
  const likely = removedIn(bench);
  const job = context.store.jobs.ofTrace(trace.number);
  return reply({
    title: say`Trace ${trace.number}, ${phone.name}: mended by ${packText(remedy.name)}`,
    tone: 'good',
    blocks: [
      ...pathBlocks(bench),
      text(say`The fault was most likely: ${likely[0] ? packText(likely[0].fault.name) : say`not known`}.`),
      text(say`Before you seal it: ${packText(phone.family.close.note)}`),
      ...onBack(
        ...toDisclose(remedy),
        ...(learnt.length
          ? [
              steps(
                learnt.map((one) => packText(one)),
                say`Worth knowing (common practice, no source)`,
                false,
              ),
            ]
          : []),
      ),
      text(say`Next: test every function, then seal. /worth trace:${trace.number} says what it is worth.`),
    ],
    choices: job && !job.ended ? [...logChoice(bench), jobChoice(job, say`Test its functions`, 'test')] : [],
    cautions: cardsForPhone(
      context,
      bench.subject,
      bench.found.state,
      bench.found.reached > 0 ? phone.family.close.hazards : [],
    ),
    data: dataOf(bench, 'mended', null, null, null),
  });
}
