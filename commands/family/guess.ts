/** `/family guess`: a model that nobody has named yet, by what anybody can see of it. */
import { z } from 'zod';
import type { Family } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { packText, say, verbatim } from '../../shared/language/say.ts';
import { minorDigits } from '../../shared/money/currency.ts';
import { amount, fromMajor, type Money, toWire } from '../../shared/money/money.ts';
import type { ModelRecord } from '../../shared/store/index.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf, type Context } from '../framework/context.ts';
import {
  choiceOption,
  integerOption,
  moneyOption,
  type Option,
  optional,
  refuseValue,
  textOption,
} from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { type Draft, type DraftChoice, type Invocation, reply, text } from '../framework/reply.ts';
import { checkModelName, looksLike } from './name.ts';

const opens = ['by-hand', 'clips', 'screws', 'glued-back', 'glued-front', 'folds'] as const;
const buttons = ['keys', 'home', 'side', 'rear', 'display', 'face', 'none'] as const;
/** Years that stand for about when it came out. */
const eras = [2010, 2014, 2017, 2020, 2023] as const;

const openWords: Readonly<Record<(typeof opens)[number], Message>> = {
  'by-hand': say`Its back comes off by hand`,
  clips: say`Its back is clipped on`,
  screws: say`It has screws that one sees`,
  'glued-back': say`Its back is glued on`,
  'glued-front': say`Its screen comes out at the front`,
  folds: say`It folds`,
};
const openFeature: Readonly<Record<(typeof opens)[number], string>> = {
  'by-hand': 'removable-back',
  clips: 'clipped-back',
  screws: 'screwed-frame',
  'glued-back': 'glued-back',
  'glued-front': 'glued-front',
  folds: 'folds',
};
const buttonWords: Readonly<Record<(typeof buttons)[number], Message>> = {
  keys: say`Keys that one presses`,
  home: say`A home button under the screen`,
  side: say`It reads a finger at its side`,
  rear: say`It reads a finger on its back`,
  display: say`It reads a finger through the screen`,
  face: say`It knows a face`,
  none: say`None of these`,
};
const buttonFeature: Readonly<Partial<Record<(typeof buttons)[number], string>>> = {
  keys: 'mechanical-keys',
  home: 'home-sensor',
  side: 'side-sensor',
  rear: 'rear-sensor',
  display: 'under-display-sensor',
  face: 'face-unit',
};
const eraWords: Readonly<Record<(typeof eras)[number], Message>> = {
  2010: say`Before 2012`,
  2014: say`2012 to 2015`,
  2017: say`2016 to 2018`,
  2020: say`2019 to 2021`,
  2023: say`2022 or later`,
};

const familyGuessData = z.object({
  asked: z.enum(['opens', 'button', 'year']).nullable(),
  /** Families that it can be, the likeliest first. */
  families: z.array(z.string()),
  /** Name of the model that was kept; null while it is asked, and where no name was given. */
  saved: z.string().nullable(),
});

interface Seen {
  opens?: (typeof opens)[number] | undefined;
  button?: (typeof buttons)[number] | undefined;
  year?: number | undefined;
}

const sensors = Object.values(buttonFeature).filter((one) => one !== undefined);

/** How badly what was seen fits a family; 0 where all of it does. */
function misfit({ features, era }: Family, { opens: how, button, year }: Seen): number {
  const has = (feature: string) => features.some((one) => one === feature);
  const feature = button && buttonFeature[button];
  const wrongButton =
    button === undefined
      ? false
      : feature
        ? !has(feature)
        : sensors.some((one) => one !== undefined && has(one));
  const late =
    year === undefined ? 0 : Math.max(0, era.from - year, year - (era.to ?? Number.POSITIVE_INFINITY));
  return (how && !has(openFeature[how]) ? 100 : 0) + (wrongButton ? 20 : 0) + Math.min(19, 2 * late);
}

/** The families that fit best, the likeliest first; of those that fit as well the one with less to it. */
function likeliest({ knowledge }: Context, seen: Seen): Family[] {
  const scored = [...knowledge.families.values()].map((family) => ({ family, score: misfit(family, seen) }));
  const best = Math.min(...scored.map(({ score }) => score));
  return scored
    .filter(({ score }) => score <= best + 3)
    .sort((a, b) => a.score - b.score || a.family.features.length - b.family.features.length)
    .map(({ family }) => family);
}

const nextSchema = z.object({
  command: z.string(),
  action: z.string(),
  options: z.record(z.string(), z.string()),
  /** The option that takes the phone; null where it is named in what was said, and only had to be made known. */
  option: z.string().nullable().default('model'),
});
type Next = z.infer<typeof nextSchema>;
const nextOption: Option<Next, true> = {
  summary: say`What to go on with; a tap fills it in`,
  example: '{}',
  required: true,
  many: false,
  wire: { type: 'text', max: 4000 },
  expected: say`what a tap fills in`,
  schema: () =>
    z.string().transform((given, issue): Next => {
      try {
        return nextSchema.parse(JSON.parse(given));
      } catch {
        return refuseValue(issue, say`not understood`);
      }
    }),
};

/** What was wanted, with the phone that it turned out to be. */
const goOnWith = ({ command, action, options, option }: Next, phone: string): Invocation => ({
  command,
  action,
  options: option === null ? options : { ...options, [option]: phone },
});

type GuessDraft = Draft<z.infer<typeof familyGuessData>>;

const asked = (
  title: Message,
  what: 'opens' | 'button' | 'year',
  answers: readonly (readonly [value: string, label: Message])[],
  texts: Readonly<Record<string, string>>,
  families: readonly Family[],
): GuessDraft =>
  reply({
    title,
    blocks:
      what === 'opens' && texts.next !== undefined
        ? [text(say`Nobody has named it here yet. Two or three looks tell how it is built, then it goes on.`)]
        : [],
    choices: answers.map(
      ([value, label]): DraftChoice => ({
        label,
        invoke: { command: 'family', action: 'guess', options: { ...texts, [what]: value } },
      }),
    ),
    data: { asked: what, families: families.map(({ id }) => id), saved: null },
  });

/** About what phones like it sell for, to be tapped: from little to much, in round sums of the currency. */
function sellsChoices({ collective }: Context, texts: Readonly<Record<string, string>>): DraftChoice[] {
  const { currency } = collective.settings;
  const scale = minorDigits(currency) === 0 ? 100 : 1;
  return [30, 80, 150, 300].map((sum): DraftChoice => {
    const value = fromMajor(sum * scale, currency);
    return {
      label: say`One that works sells for about ${amount(value)}`,
      invoke: { command: 'family', action: 'guess', options: { ...texts, sells: toWire(value).amount } },
    };
  });
}

function checkGuess(context: Context, model: string | undefined, year: number | undefined): void {
  if (model) checkModelName(model, context);
  const like = model === undefined ? undefined : looksLike(model, context);
  if (model !== undefined && like)
    throw new Refusal({
      code: 'bad-option',
      option: 'model',
      problem: say`“${verbatim(model)}” looks like ${verbatim(like.name)}, which is named already.`,
      expected: say`that name, or sure:yes with /family name where it is another phone`,
      nearest: [like.name],
    });
  if (year !== undefined && year > context.now.getUTCFullYear())
    throw new Refusal({
      code: 'bad-option',
      option: 'year',
      problem: say`${year} is in the future.`,
      expected: say`a year up to ${context.now.getUTCFullYear()}`,
    });
}

/** What is asked next, while more than one family is left; null: nothing. */
function nextQuestion(
  { opens: how, button, year }: Seen,
  name: Message,
  texts: Readonly<Record<string, string>>,
  families: readonly Family[],
): GuessDraft | null {
  if (how === undefined)
    return asked(
      say`How does ${name} open?`,
      'opens',
      opens.map((one) => [one, openWords[one]]),
      texts,
      families,
    );
  if (button === undefined && families.length > 1)
    return asked(
      say`What has ${name} to press or touch?`,
      'button',
      buttons.map((one) => [one, buttonWords[one]]),
      texts,
      families,
    );
  if (year === undefined && families.length > 1)
    return asked(
      say`About when did ${name} come out?`,
      'year',
      eras.map((one) => [String(one), eraWords[one]]),
      texts,
      families,
    );
  return null;
}

function keepSellingPrice(context: Context, model: number, price: Money): void {
  context.store.sightings.add({
    kind: 'phone',
    model,
    component: null,
    partGrade: null,
    grade: 0,
    storage: null,
    price,
    how: 'asked',
    seen: isoDateIn(context.collective.settings.zone, context.now),
    note: context.write(say`said when it was named`),
    by: actorOf(context),
    at: context.now,
  });
}

interface Guess {
  /** As it was called; absent: by nobody. */
  model: string | undefined;
  kept: ModelRecord | null;
  family: Family;
  families: readonly Family[];
  sells: Money | undefined;
  next: Next | undefined;
  texts: Readonly<Record<string, string>>;
}

/** The same with another family. */
const ratherChoice = ({ model, next }: Guess, other: Family): DraftChoice => ({
  label: say`It is rather: ${packText(other.name)}`,
  invoke: model
    ? { command: 'family', action: 'name', options: { model, as: other.id } }
    : goOnWith(next ?? { command: 'family', action: 'show', options: {}, option: 'family' }, other.id),
});

/** What such a phone sells for: kept with its name, or told to what is gone on with. */
function sellsAsked(context: Context, { kept, family, sells, next, texts }: Guess): DraftChoice[] {
  if (kept) return sells ? [] : sellsChoices(context, texts);
  if (next?.command !== 'worth' || next.options.value !== undefined) return [];
  const { command, action, options } = goOnWith(next, family.id);
  return sellsChoices(context, texts).map((choice) => ({
    ...choice,
    invoke: { command, action, options: { ...options, value: choice.invoke.options.sells ?? '' } },
  }));
}

function guessReply(context: Context, guess: Guess): GuessDraft {
  const { kept, family, families, sells, next } = guess;
  const goOn: DraftChoice[] = next
    ? [{ label: say`Go on`, invoke: goOnWith(next, kept?.name ?? family.id) }]
    : [];
  return reply({
    tone: 'good',
    title: kept
      ? say`${verbatim(kept.name)} is kept as: ${packText(family.name)}`
      : say`Most likely: ${packText(family.name)}`,
    blocks: [
      text(packText(family.about)),
      ...(sells ? [text(say`${amount(sells)} is kept among the prices seen, as asked.`)] : []),
    ],
    choices: [
      ...goOn,
      ...sellsAsked(context, guess),
      ...families.slice(1, 4).map((other) => ratherChoice(guess, other)),
    ],
    data: { asked: null, families: families.map(({ id }) => id), saved: kept?.name ?? null },
  });
}

export const familyGuess = defineAction({
  summary: say`A model that nobody has named: two or three questions, and it is`,
  options: {
    model: optional(textOption({ max: 60, summary: say`What people call the phone`, example: 'Orrin K3' })),
    opens: optional(choiceOption({ summary: say`How it opens`, example: 'by-hand', choices: opens })),
    button: optional(
      choiceOption({ summary: say`What one presses or touches`, example: 'home', choices: buttons }),
    ),
    year: optional(
      integerOption({ summary: say`About when it came out`, example: '2017', min: 2000, max: 2100 }),
    ),
    sells: optional(moneyOption({ summary: say`What one that works sells for`, example: '80' })),
    next: optional(nextOption),
  },
  examples: ['/family guess "Orrin K3"', '/family guess "Orrin K3" opens:glued-front button:home year:2017'],

  data: familyGuessData,
  run: ({ model, opens: how, button, year, sells, next }, context, texts) => {
    checkGuess(context, model, year);
    const families = likeliest(context, { opens: how, button, year });
    const name = model ? verbatim(model) : say`this phone`;
    const question = nextQuestion({ opens: how, button, year }, name, texts, families);
    if (question) return question;
    const [family] = families;
    if (!family)
      throw new Refusal({
        code: 'unavailable',
        problem: say`The knowledge pack has no families.`,
        expected: say`a pack`,
      });
    const mayKeep = context.person.role !== 'visitor';
    const kept = model && mayKeep ? keep(context, model, family, year) : null;
    if (kept && sells && sells.minor > 0) keepSellingPrice(context, kept.id, sells);
    return guessReply(context, { model, kept, family, families, sells, next, texts });
  },
});

/** The model under its name; what is known of it already stays. */
function keep(context: Context, name: string, family: Family, year: number | undefined) {
  const before = context.store.models.findByName(name);
  return context.store.models.save({
    name,
    family: family.id,
    launched:
      before?.launched ??
      (year === undefined || year >= context.now.getUTCFullYear() ? null : `${year}-01-01`),
    newPrice: before?.newPrice ?? null,
    by: actorOf(context),
    at: context.now,
  });
}
