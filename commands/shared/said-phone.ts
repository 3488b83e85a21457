/** What a person says of a phone in their own words, put to what the bench knows. It proposes; "Right?" is asked before it counts. */
import { z } from 'zod';
import { fits } from '../../knowledge/features.ts';
import type { Check, Family } from '../../knowledge/schema.ts';
import { readAnswer } from '../../shared/diagnosis/reading.ts';
import { languageIn } from '../../shared/language/locale.ts';
import type { Message } from '../../shared/language/message.ts';
import type { Money } from '../../shared/money/money.ts';
import { parseAmount } from '../../shared/money/parse-amount.ts';
import { lexiconOf, type Meaning } from '../../shared/words/lexicon.ts';
import type { Measured, Span } from '../../shared/words/measures.ts';
import { meaningLists, readSentence, type SentenceReading } from '../../shared/words/read-sentence.ts';
import { tokensOf } from '../../shared/words/tokens.ts';
import type { Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
import { modelsAndFamilies } from './lookups.ts';

/** `found`: a check that was done already; its id is `check/outcome`. */
const saidKinds = ['symptom', 'deny', 'damage', 'found', 'history', 'wish', 'came', 'other'] as const;
type SaidKind = (typeof saidKinds)[number];
export interface SaidThing {
  kind: SaidKind;
  id: string;
  /** The words that say it; empty for what was tapped. */
  text: string;
  /** Of a check that was done: what was read, as it was typed. */
  reading?: string;
}
/** `symptom:dead`. */
export const keyOf = ({ kind, id }: Pick<SaidThing, 'kind' | 'id'>): string => `${kind}:${id}`;
function thingOf(key: string): Pick<SaidThing, 'kind' | 'id'> | null {
  const [, before, id = ''] = /^([a-z]+):(.+)$/s.exec(key) ?? [];
  const kind = saidKinds.find((one) => one === before);
  return kind && id ? { kind, id } : null;
}

/** What was put right at "Right?" so far: keys that were taken out or put in, and words that are asked no more. */
export const correctionsSchema = z.object({
  out: z.array(z.string()).default([]),
  in: z.array(z.string()).default([]),
  settled: z.array(z.string()).default([]),
  /** As the lookup has it: `model:3`, `family:...`. */
  model: z.string().optional(),
  /** Which of two amounts was meant, as a plain decimal. */
  price: z.string().optional(),
});
export type Corrections = z.infer<typeof correctionsSchema>;

export interface SaidPhone {
  text: string;
  things: SaidThing[];
  /** What can mean several things, to be asked, the likelier first. */
  unsure: { text: string; candidates: Pick<SaidThing, 'kind' | 'id'>[] }[];
  model: Named | null;
  /** Words that look like the name of a model that nobody has named here. */
  newModel: string | null;
  price: Money | null;
  /** An amount that can be read in two ways. */
  eitherPrice: { text: string; either: readonly Money[] } | null;
  /** An amount that cannot be taken, and why. */
  strangePrice: { text: string; problem: Message } | null;
  /** Kept as words. */
  notUnderstood: string[];
}

/** Kinds that are taken from a reading as they are; answers and fitted components are looked at more closely. */
const takenKinds = ['symptom', 'deny', 'damage', 'history', 'wish', 'came', 'other'] as const;

const overlap = (a: Pick<Span, 'from' | 'to'>, b: Pick<Span, 'from' | 'to'>): boolean =>
  a.from < b.to && b.from < a.to;

/** Where words stand in a text one after the other, whatever their capitals, accents and marks; null where they do not. */
function placeOf(words: readonly string[], text: string): Pick<Span, 'from' | 'to'> | null {
  const tokens = tokensOf(text);
  if (!words.length) return null;
  const at = tokens.findIndex((_, start) =>
    words.every((word, index) => tokens[start + index]?.word === word),
  );
  const [first, last] = [tokens[at], tokens[at + words.length - 1]];
  return first && last ? { from: first.from, to: last.to } : null;
}
export const wordsIn = (text: string): string[] => tokensOf(text).map(({ word }) => word);

/** The model or family that is named in a text by its whole name, the longest one. */
function modelIn(context: Context, text: string): { named: Named; from: number; to: number } | null {
  const words = new Set(wordsIn(text));
  let best: { named: Named; from: number; to: number } | null = null;
  for (const named of modelsAndFamilies.entries(context)) {
    for (const name of [named.name, ...(named.alias ?? [])]) {
      const wanted = wordsIn(name);
      if (!wanted.every((word) => words.has(word))) continue;
      const place = placeOf(wanted, text);
      if (place && (!best || place.to - place.from > best.to - best.from)) best = { named, ...place };
    }
  }
  return best;
}

/** Numbers with their units that answer a check, where no other part of the sentence has them. */
function foundIn(
  { knowledge }: Context,
  reading: SentenceReading,
  family: Family | null,
): { found: (SaidThing & Span)[]; left: Measured[] } {
  const said = [...reading.complaints, ...reading.damage, ...reading.history];
  const found: (SaidThing & Span)[] = [];
  const left: Measured[] = [];
  for (const one of reading.measured) {
    if (said.some((other) => overlap(one, other))) continue;
    const ids = knowledge.wordRules.readings[one.unit] ?? [];
    const checks = ids.flatMap((id): Check[] => [knowledge.checks.get(id) ?? []].flat());
    const check = family ? checks.find((each) => fits(family, each)) : checks[0];
    const [value] = one.values;
    const answer = check && value !== undefined ? readAnswer(check, String(value)) : null;
    if (check && answer?.ok)
      found.push({ ...one, kind: 'found', id: `${check.id}/${answer.outcome.id}`, reading: one.text });
    else left.push(one);
  }
  return { found, left };
}

/** The price that is said: in the collective's currency, asked where it can be read in two ways. */
function priceIn({ collective }: Context, reading: SentenceReading, chosen: string | undefined) {
  const { currency } = collective.settings;
  const none = { price: null, eitherPrice: null, strangePrice: null };
  const [said] = reading.prices;
  if (!said) return none;
  const { text } = said;
  const reads = (chosen === undefined ? said.amounts : [chosen]).map((amount) =>
    parseAmount(`${said.currency ?? ''} ${amount}`.trim(), currency),
  );
  const right = reads.flatMap((read) => (read.ok ? [read.money] : []));
  const [first] = right;
  if (first && right.length === 1) return { ...none, price: first };
  if (first) return { ...none, eitherPrice: { text, either: right } };
  const [wrong] = reads;
  return wrong && !wrong.ok ? { ...none, strangePrice: { text, problem: wrong.problem } } : none;
}

type PlacedThing = SaidThing & Pick<Span, 'from' | 'to'>;
type PlacedDoubt = Pick<Span, 'from' | 'to'> & SaidPhone['unsure'][number];

const asThing = ({ kind, id }: Meaning): Pick<SaidThing, 'kind' | 'id'>[] =>
  kind === 'answer' ? [{ kind: 'found', id }] : kind === 'fitted' ? [] : [{ kind, id }];

/** What was corrected in this collective before is offered: what was put in, and asked, where it was taken out. */
function remembered({ store }: Context, text: string, things: PlacedThing[], unsure: PlacedDoubt[]): void {
  for (const { phrase, meaning, taken } of store.learnedWords.list()) {
    const place = placeOf(phrase.split(' '), text);
    const thing = place && thingOf(meaning);
    if (!thing) continue;
    const at = things.findIndex((one) => keyOf(one) === meaning && overlap(one, place));
    if (taken ? at >= 0 : !things.some((one) => keyOf(one) === meaning)) {
      if (taken) things.splice(at, 1);
      const doubt = unsure.find((one) => overlap(one, place));
      const others = doubt?.candidates.filter((one) => keyOf(one) !== meaning) ?? [];
      // What was put in before comes first, what was taken out comes last.
      const candidates = taken ? [...others, thing] : [thing, ...others];
      if (doubt) doubt.candidates = candidates;
      else unsure.push({ ...place, text: text.slice(place.from, place.to), candidates });
    }
  }
}

/** What a sentence says for certain. `found`: what its numbers say. */
const thingsIn = (reading: SentenceReading, found: readonly PlacedThing[]): PlacedThing[] => [
  ...takenKinds.flatMap((kind) =>
    reading[meaningLists[kind]].map(({ id, text: words, from, to }) => ({
      kind,
      id,
      text: words,
      from,
      to,
    })),
  ),
  ...reading.answers.map(({ id, text: words, from, to }) => ({
    kind: 'found' as const,
    id,
    text: words,
    from,
    to,
  })),
  ...found.filter(({ id }) => !reading.answers.some((one) => one.id.split('/')[0] === id.split('/')[0])),
];

/** What stays of it once it was corrected, and what is still to be asked. */
function corrected(things: readonly PlacedThing[], unsure: readonly PlacedDoubt[], corrections: Corrections) {
  const kept = things.filter((one) => !corrections.out.includes(keyOf(one)));
  for (const key of corrections.in) {
    const thing = thingOf(key);
    if (thing && !kept.some((one) => keyOf(one) === key)) kept.push({ ...thing, text: '', from: 0, to: 0 });
  }
  const open = unsure
    .filter((one) => !corrections.settled.includes(one.text))
    .map((one) => ({
      text: one.text,
      candidates: one.candidates.filter(
        (each) =>
          !corrections.out.includes(keyOf(each)) && !kept.some((thing) => keyOf(thing) === keyOf(each)),
      ),
    }));
  return { kept, open };
}

/** Reads what is said of a phone; `family` where it is known which phone that is. */
export function readPhone(
  context: Context,
  text: string,
  given: { family?: Family | null; corrections?: Corrections },
): SaidPhone {
  const { knowledge, locale } = context;
  const corrections = given.corrections ?? correctionsSchema.parse({});
  const named = modelIn(context, text);
  const chosen = corrections.model
    ? modelsAndFamilies.entries(context).find(({ id }) => id === corrections.model)
    : undefined;
  const model = chosen ?? named?.named ?? null;
  const family = given.family ?? (model ? familyOf(context, model) : null);
  // The name of the phone says nothing of what is wrong with it.
  const rest = named
    ? `${text.slice(0, named.from)}${' '.repeat(named.to - named.from)}${text.slice(named.to)}`
    : text;
  const reading = readSentence(lexiconOf(knowledge), rest, {
    language: languageIn(locale),
    families: family ? [family] : [],
  });
  const { found, left } = foundIn(context, reading, family);
  const things = thingsIn(reading, found);
  const unsure: PlacedDoubt[] = reading.unsure.map(({ text: words, from, to, candidates }) => ({
    text: words,
    from,
    to,
    candidates: candidates.flatMap(asThing),
  }));
  remembered(context, rest, things, unsure);
  const { kept, open } = corrected(things, unsure, corrections);
  const meant = (span: Span) => unsure.some((one) => overlap(one, span) && one.candidates.length > 0);
  const words = [
    ...reading.notUnderstood.filter((one) => !meant(one)),
    ...reading.numbers,
    ...left,
    ...(model && reading.model && !named ? [] : []),
  ];
  return {
    text,
    things: kept.map(({ kind, id, text: said, reading: read }) => ({
      kind,
      id,
      text: said,
      ...(read === undefined ? {} : { reading: read }),
    })),
    unsure: open.filter(({ candidates }) => candidates.length > 0),
    model,
    newModel: model ? null : (reading.model?.text ?? null),
    ...priceIn(context, reading, corrections.price),
    notUnderstood: words.sort((a, b) => a.from - b.from).map((one) => one.text),
  };
}

/** The family of what the lookup of models and families names. */
export function familyOf({ store, knowledge }: Context, { id }: Named): Family | null {
  const [kind, which = ''] = id.split(/:(.*)/s);
  const family = kind === 'family' ? which : store.models.get(Number(which))?.family;
  return (family === undefined ? undefined : knowledge.families.get(family)) ?? null;
}
