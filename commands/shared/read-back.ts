/** "I read: dead; cracked front glass. Right?": what was read of somebody's words, before anything is done with it. */
import { z } from 'zod';
import { fits } from '../../knowledge/features.ts';
import type { Family } from '../../knowledge/schema.ts';
import { type Came, cameWays } from '../../shared/jobs/job.ts';
import type { Message } from '../../shared/language/message.ts';
import { atStart, inRow, joined, orList, packText, plain, say, verbatim } from '../../shared/language/say.ts';
import { amount, moneyWire, toWire } from '../../shared/money/money.ts';
import type { Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import {
  type Draft,
  type DraftBlock,
  type DraftChoice,
  type Invocation,
  reply,
  text,
} from '../framework/reply.ts';
import { models } from './lookups.ts';
import {
  type Corrections,
  correctionsSchema,
  familyOf,
  keyOf,
  readPhone,
  type SaidPhone,
  type SaidThing,
} from './said-phone.ts';
import { thingInWords } from './said-words.ts';

const key = z.string();
/** Ids of what was read; each list as it stood in the text. */
export const readData = z.object({
  kind: z.literal('read'),
  complaints: z.array(key),
  denials: z.array(key),
  damage: z.array(key),
  /** `check/outcome`. */
  found: z.array(key),
  history: z.array(key),
  wishes: z.array(key),
  came: z.string().nullable(),
  others: z.array(key),
  /** `model:3`, `family:...`. */
  model: z.string().nullable(),
  newModel: z.string().nullable(),
  price: moneyWire.nullable(),
  unsure: z.array(z.object({ text: z.string(), candidates: z.array(key) })),
  notUnderstood: z.array(z.string()),
});
export type ReadDraft = Draft<z.infer<typeof readData>>;

/** What a goal says of the phone besides the symptoms. */
export interface ReadBack {
  text: string;
  /** The command that asked, with the options that were exact; none where the words came alone. */
  goal?: Invocation | undefined;
  /** The phone that the goal names already. */
  family?: Family | null;
  corrections?: Corrections;
}

const ids = ({ things }: SaidPhone, kind: SaidThing['kind']): string[] =>
  things.filter((one) => one.kind === kind).map(({ id }) => id);
const cameOf = (said: SaidPhone): Came | null =>
  cameWays.find((way) => ids(said, 'came').includes(way)) ?? null;

/** Options that an action has, by its command. */
const carries: Readonly<Record<string, readonly string[]>> = {
  worth: ['denied', 'damage', 'found', 'price'],
  trace: ['denied', 'damage', 'found', 'came', 'price', 'words'],
  job: ['denied', 'damage', 'found', 'came', 'price', 'words'],
};

/** The goal with what was read, for a phone of this family: what it cannot have is left out. */
function goalWith(
  { knowledge }: Context,
  goal: Invocation,
  said: SaidPhone,
  phone: { named: Named | null; family: Family | null },
): Invocation {
  const { family, named } = phone;
  const own = carries[goal.command] ?? [];
  const fitting = (list: string[], map: ReadonlyMap<string, Parameters<typeof fits>[1]>) =>
    family ? list.filter((id) => fits(family, map.get(id) ?? {})) : list;
  const came = cameOf(said);
  const bought = came === 'bought' || (came === null && goal.command === 'job' && said.price !== null);
  const paid = said.price && (goal.command === 'worth' || bought) ? toWire(said.price).amount : '';
  const found = said.things
    .filter((one) => one.kind === 'found')
    .filter(({ id }) => fitting([id.split('/')[0] ?? ''], knowledge.checks).length > 0)
    .map(({ id, reading }) => {
      const [check, outcome] = id.split('/');
      return `${check}=${reading?.replace(',', '.') ?? outcome}`;
    });
  const damage = ids(said, 'damage').filter((id) => !family || id in family.components);
  const values: Record<string, string> = {
    symptoms: fitting(ids(said, 'symptom'), knowledge.symptoms).join(', '),
    denied: fitting(ids(said, 'deny'), knowledge.symptoms).join(', '),
    damage: damage.join(', '),
    found: found.join(', '),
    came: bought ? 'bought' : (came ?? ''),
    price: paid,
    words: said.text.slice(0, 500),
    model: named?.id ?? '',
  };
  const mine = ['symptoms', 'model', ...own].filter(
    (name) => values[name] && (name === 'symptoms' || goal.options[name] === undefined),
  );
  const { symptoms: _, ...exact } = goal.options;
  const withJob = goal.options.job !== undefined || goal.options.trace !== undefined;
  const noPhone = (name: string) => withJob && ['model', 'came', 'price'].includes(name);
  return {
    ...goal,
    options: {
      ...exact,
      ...Object.fromEntries(mine.filter((name) => !noPhone(name)).map((name) => [name, values[name] ?? ''])),
    },
  };
}

const traceGoal: Invocation = { command: 'trace', action: 'start', options: {} };
const worthGoal: Invocation = { command: 'worth', action: '', options: {} };
const jobGoal: Invocation = { command: 'job', action: 'open', options: {} };

/** What can be done with what was said, the likeliest first. */
function goalsOf({ person }: Context, said: SaidPhone, goal: Invocation | undefined): Invocation[] {
  if (goal) return [goal];
  if (person.role === 'visitor') return [worthGoal];
  const offered = said.price !== null && cameOf(said) === null;
  return offered
    ? [worthGoal, traceGoal, jobGoal]
    : [traceGoal, worthGoal, ...(cameOf(said) ? [] : [jobGoal])];
}

function goalLabel(goal: Invocation, said: SaidPhone, asked: boolean): Message {
  if (asked) return say`Yes`;
  if (goal.command === 'worth') return say`Yes: what is it worth`;
  if (goal.command === 'job') return say`Yes: take it in`;
  return cameOf(said) ? say`Yes: take it in and find the fault` : say`Yes: find the fault`;
}

/** The same words, with something put right. */
function again(
  { text: words, goal }: ReadBack,
  corrections: Corrections,
  learn?: { phrase: string; meaning: string; taken: boolean },
): Invocation {
  const state = { goal, corrections, ...(learn ? { learn } : {}) };
  return { command: 'read', action: '', options: { text: words, 'so-far': JSON.stringify(state) } };
}

const more = (corrections: Corrections, change: Partial<Corrections>): Corrections => ({
  ...corrections,
  ...change,
});

/** So many are offered of each kind. */
const COMMON = 12;
const MOST = { models: 6, out: 8, doubts: 3 } as const;

function yesChoices(context: Context, asked: ReadBack, said: SaidPhone): DraftChoice[] {
  const goals = goalsOf(context, said, asked.goal);
  const named = asked.goal?.options.model ?? asked.goal?.options.job ?? asked.goal?.options.trace;
  const family = asked.family ?? (said.model && familyOf(context, said.model));
  if (named !== undefined || said.model || asked.family)
    return goals.map((goal, index) => ({
      label: goalLabel(goal, said, asked.goal !== undefined),
      invoke: goalWith(context, goal, said, { named: said.model, family: family ?? null }),
      ...(index === 0 ? { main: true } : {}),
    }));
  const [first] = goals;
  if (!first) return [];
  const known = models.entries(context).slice(0, MOST.models);
  const picks = known.map((one): DraftChoice => {
    const model = { ...one, id: `model:${one.id}` };
    return {
      label: say`Yes, and it is: ${verbatim(one.name)}`,
      invoke: goalWith(context, first, said, { named: model, family: familyOf(context, model) }),
    };
  });
  const next = JSON.stringify(goalWith(context, first, said, { named: null, family: null }));
  const guess: DraftChoice = {
    label: said.newModel
      ? say`Yes, and “${verbatim(said.newModel)}” is new here`
      : known.length
        ? say`Yes, and it is another phone`
        : say`Yes`,
    // Where it may be any of those that are known, none of them is likelier.
    ...(said.newModel || !picks.length ? { main: true } : {}),
    invoke: {
      command: 'family',
      action: 'guess',
      options: { ...(said.newModel ? { model: said.newModel.slice(0, 60) } : {}), next },
    },
  };
  return said.newModel ? [guess, ...picks] : [...picks, guess];
}

function doubtChoices(asked: ReadBack, said: SaidPhone, context: Context): DraftChoice[] {
  const corrections = asked.corrections ?? correctionsSchema.parse({});
  return said.unsure.slice(0, MOST.doubts).flatMap(({ text: words, candidates }) => {
    const settled = [...corrections.settled, words];
    return candidates.map((one): DraftChoice => {
      const change = more(corrections, { in: [...corrections.in, keyOf(one)], settled });
      return {
        label: say`“${verbatim(words)}”: ${thingInWords(context, one)}`,
        invoke: again(asked, change, { phrase: words, meaning: keyOf(one), taken: false }),
      };
    });
  });
}

function outChoices(asked: ReadBack, said: SaidPhone, context: Context): DraftChoice[] {
  const corrections = asked.corrections ?? correctionsSchema.parse({});
  return said.things.slice(0, MOST.out).map((one): DraftChoice => {
    const change = more(corrections, {
      out: [...corrections.out, keyOf(one)],
      in: corrections.in.filter((each) => each !== keyOf(one)),
    });
    const learn = one.text ? { phrase: one.text, meaning: keyOf(one), taken: true } : undefined;
    return {
      label: say`Take out: ${thingInWords(context, one)}`,
      aside: true,
      invoke: again(asked, change, learn),
    };
  });
}

/** Where nothing was understood: the commonest, to be tapped. */
function commonChoices(asked: ReadBack, said: SaidPhone, context: Context): DraftChoice[] {
  const corrections = asked.corrections ?? correctionsSchema.parse({});
  const family = asked.family ?? (said.model && familyOf(context, said.model));
  const { symptoms, wordRules } = context.knowledge;
  const phrase = said.notUnderstood.length === 1 ? said.notUnderstood[0] : undefined;
  return wordRules.common
    .flatMap((id) => symptoms.get(id) ?? [])
    .filter((one) => !family || fits(family, one))
    .map((one): DraftChoice => {
      const meaning = `symptom:${one.id}`;
      return {
        label: packText(one.name),
        invoke: again(
          asked,
          more(corrections, { in: [...corrections.in, meaning] }),
          phrase === undefined ? undefined : { phrase, meaning, taken: false },
        ),
      };
    });
}

function priceChoices(asked: ReadBack, { eitherPrice }: SaidPhone): DraftChoice[] {
  const corrections = asked.corrections ?? correctionsSchema.parse({});
  return (eitherPrice?.either ?? []).map((one) => ({
    label: say`“${verbatim(eitherPrice?.text ?? '')}” is ${amount(one)}`,
    invoke: again(asked, more(corrections, { price: toWire(one).amount })),
  }));
}

function questions(context: Context, said: SaidPhone): DraftBlock[] {
  const lines: Message[] = [
    ...said.unsure.map(
      ({ text: words, candidates }) =>
        say`Is “${verbatim(words)}” ${orList(candidates.map((one) => thingInWords(context, one)))}? It is left out unless you say.`,
    ),
    ...(said.eitherPrice
      ? [
          say`“${verbatim(said.eitherPrice.text)}” can be ${orList(said.eitherPrice.either.map((one) => amount(one)))}. It is left out unless you say.`,
        ]
      : []),
    ...(said.strangePrice
      ? [say`“${verbatim(said.strangePrice.text)}” is left out: ${said.strangePrice.problem}.`]
      : []),
    ...(said.notUnderstood.length
      ? [
          say`Not understood, kept as words: ${inRow(said.notUnderstood.slice(0, 12).map((one) => plain`“${verbatim(one)}”`))}`,
        ]
      : []),
  ];
  return lines.map((line) => text(line));
}

const dataOf = (said: SaidPhone): z.infer<typeof readData> => ({
  kind: 'read',
  complaints: ids(said, 'symptom'),
  denials: ids(said, 'deny'),
  damage: ids(said, 'damage'),
  found: ids(said, 'found'),
  history: ids(said, 'history'),
  wishes: ids(said, 'wish'),
  came: cameOf(said),
  others: ids(said, 'other'),
  model: said.model?.id ?? null,
  newModel: said.newModel,
  price: said.price && toWire(said.price),
  unsure: said.unsure.map(({ text: words, candidates }) => ({
    text: words,
    candidates: candidates.map(keyOf),
  })),
  notUnderstood: said.notUnderstood,
});

/** What a goal needs: something that is wrong with it; what only happened to it is not. */
const saysWhatIsWrong = ({ knowledge }: Context, { things }: SaidPhone): boolean =>
  things.some(
    ({ kind, id }) => kind === 'damage' || (kind === 'symptom' && !knowledge.symptoms.get(id)?.history),
  );

/** Reads somebody's words and asks whether that is right; nothing is kept but what was put right. */
export function readBack(context: Context, asked: ReadBack): ReadDraft {
  const said = readPhone(context, asked.text, {
    family: asked.family ?? null,
    ...(asked.corrections ? { corrections: asked.corrections } : {}),
  });
  const wrong = saysWhatIsWrong(context, said);
  const phone = said.model ? [verbatim(said.model.name)] : said.newModel ? [verbatim(said.newModel)] : [];
  const list = [
    ...phone,
    ...said.things.map((one) => thingInWords(context, one)),
    ...(said.price ? [amount(said.price)] : []),
  ];
  const title = wrong
    ? say`I read: ${joined(list, '; ')}. Right?`
    : said.unsure.length
      ? say`I am not sure what is wrong with it. Which is it?`
      : list.length
        ? say`I read: ${joined(list, '; ')}. And what is wrong with it?`
        : say`I do not know these words. What is wrong with it?`;
  const doubts = doubtChoices(asked, said, context);
  const choices = wrong
    ? [
        ...yesChoices(context, asked, said),
        ...doubts,
        ...priceChoices(asked, said),
        ...outChoices(asked, said, context),
      ]
    : [...doubts, ...commonChoices(asked, said, context).slice(0, COMMON - doubts.length)];
  return reply({
    audience: 'room',
    title: atStart(title),
    blocks: [
      ...questions(context, said),
      ...(wrong ? [] : [text(say`Tap one, or say it in other words. /help symptoms lists all.`)]),
    ],
    choices,
    data: dataOf(said),
  });
}
