/**
 * Reads a sentence about a phone, in whatever order and language of the pack it is said. It proposes and settles nothing: what
 * calls it asks "Right?" before anything counts.
 */
import type { Family } from '../../knowledge/schema.ts';
import { type Danger, dangerIn } from './danger.ts';
import type { Lexicon, Meaning, MeaningKind, WordLanguage } from './lexicon.ts';
import { decimalsOf, type Measured, type Price, type Span } from './measures.ts';
import { type Clause, distinct, type Found, place, type Read, readClauses, Sentence } from './sentence.ts';
import { type Token, tokensOf } from './tokens.ts';

/** Something that was said, and where. */
interface SaidItem extends Span {
  /** Of a symptom, a component, `check/outcome`, or what the rules of the pack call it. */
  id: string;
  /** How much the words tell: the more and the rarer they are. Only good for putting in order. */
  weight: number;
}

/** Words that can mean several things, or that were not said plainly: to be asked, the likelier first. */
interface Unsure extends Span {
  candidates: Meaning[];
}

export interface SentenceReading {
  /** The language that most of it is in. */
  language: string;
  /** Before anything else. */
  danger: Danger;
  /** Symptoms, and those that are said not to be there. */
  complaints: SaidItem[];
  denials: SaidItem[];
  /** Components that are damaged or are to be replaced. */
  damage: SaidItem[];
  /** What it has behind it: opened before, strange parts. Falls and water are complaints. */
  history: SaidItem[];
  /** What is wanted: its data first, to be sold. */
  wishes: SaidItem[];
  /** How it came: given, bought, left, of a customer. */
  came: SaidItem[];
  /** Understood, and nothing that the pack knows of: slow, a full memory. */
  others: SaidItem[];
  /** Answers to checks; the id is `check/outcome`. */
  answers: SaidItem[];
  /** Components that somebody has put in. */
  fitted: SaidItem[];
  measured: Measured[];
  prices: Price[];
  /** Numbers that say nothing of what they count, each as the decimals it can mean. */
  numbers: (Span & { amounts: string[] })[];
  unsure: Unsure[];
  /** Words that no language of the pack has, which look like the name of a model. */
  model: Span | null;
  /** Everything else that was not understood, to be shown and kept as words. */
  notUnderstood: Span[];
}

export interface ReadOptions {
  /** The language that is likeliest, as `en`. */
  language: string;
  /** What the phone can be: a symptom that none of these can have is asked. */
  families?: readonly Family[] | undefined;
}

/** Longer texts are read to here; the rest is not understood. */
const LONGEST = 2000;
/** A language is taken over the likeliest one when it knows so much more of the words. */
const CLEARLY = 0.15;
/** The symptom of a fall. */
const FALL = 'dropped';
/** What tells of danger comes first. */
const DANGER = 100;

/** How much of a text's words a language knows, from 0 to 1. */
function share(tokens: readonly Token[], language: WordLanguage): number {
  // What stands behind a number is its unit.
  const words = tokens.filter(
    ({ word }, at) => /^\p{L}{2,}/u.test(word) && !/^\d+$/.test(tokens[at - 1]?.word ?? ''),
  );
  if (words.length === 0) return 0;
  return words.filter(({ word }) => language.knows(word)).length / words.length;
}

/** The language that knows most, the likeliest one when it is not clear. */
function languagesFor(lexicon: Lexicon, tokens: readonly Token[], wanted: string): WordLanguage[] {
  const scored = [...lexicon.languages.values()].map((language) => ({
    language,
    score: share(tokens, language) + (language.name === wanted ? CLEARLY : 0),
  }));
  return scored.sort((a, b) => b.score - a.score).map(({ language }) => language);
}

/** Where a reading keeps each kind of meaning. */
export const meaningLists = {
  symptom: 'complaints',
  deny: 'denials',
  damage: 'damage',
  history: 'history',
  wish: 'wishes',
  came: 'came',
  other: 'others',
  answer: 'answers',
  fitted: 'fitted',
} as const satisfies Record<MeaningKind, keyof SentenceReading>;

/** Reads a text whole. Never throws; what it cannot read is in `notUnderstood`. */
export function readSentence(
  lexicon: Lexicon,
  given: string,
  { language, families = [] }: ReadOptions,
): SentenceReading {
  const text = given.slice(0, LONGEST);
  const danger = dangerIn(lexicon.danger, given);
  const [main, ...others] = languagesFor(lexicon, tokensOf(text), language);
  const sentence = new Sentence(lexicon, text, main);
  const reading: SentenceReading = {
    language: main?.name ?? language,
    danger,
    complaints: [],
    denials: [],
    damage: [],
    history: [],
    wishes: [],
    came: [],
    others: [],
    answers: [],
    fitted: [],
    numbers: [],
    measured: sentence.measured.map((one) => ({ ...one })),
    prices: [...sentence.prices],
    unsure: [],
    model: null,
    notUnderstood: [],
  };
  if (main) takeClauses(sentence, readClauses(sentence, main), others, { lexicon, families, reading });
  takeDanger(lexicon, reading);
  settle(reading);
  if (given.length > LONGEST) {
    const from = LONGEST;
    reading.notUnderstood.push(place(given, from, given.length));
  }
  return reading;
}

interface Taking {
  lexicon: Lexicon;
  families: readonly Family[];
  reading: SentenceReading;
}

function takeClauses(
  sentence: Sentence,
  reads: readonly { clause: Clause; read: Read }[],
  others: readonly WordLanguage[],
  taking: Taking,
): void {
  const strange: number[] = [];
  for (const { clause, read } of reads) {
    const own = read.found.length > 0;
    const words = clause.to - clause.from;
    // A clause in another language than the rest: much of it is unknown, and nothing was found.
    const other =
      own || read.unknown.length * 2 < words ? undefined : readElsewhere(sentence, clause, others);
    const { items, unknown, found } = other ?? read;
    for (const one of found)
      if (!takeAbout(one, clause, sentence, taking.reading)) takeFound(sentence, one, taking);
    strange.push(...unknown);
    if (found.length || items.every(({ terms }) => [...terms].every((term) => term.startsWith('#'))))
      continue;
    const partly = sentence.partly(items);
    const tokens = items.flatMap((item) => item.tokens);
    if (partly) taking.reading.unsure.push({ ...sentence.span(tokens), candidates: partly.meanings });
    else {
      const whole = Array.from({ length: words }, (_, index) => clause.from + index);
      strange.push(...whole.filter((index) => !sentence.isNumber(index)));
    }
  }
  const dangerous = (index: number) => {
    const { from, to } = sentence.span([index]);
    return taking.reading.danger.found.some((one) => one.from <= from && to <= one.to);
  };
  const left = [...new Set(strange)].sort((a, b) => a - b).filter((index) => !dangerous(index));
  takeStrange(sentence, left, taking);
}

function readElsewhere(
  sentence: Sentence,
  clause: Clause,
  others: readonly WordLanguage[],
): Read | undefined {
  for (const language of others) {
    const { items, unknown } = sentence.items(language, clause);
    const found = sentence.pick(items, new Set(), () => true);
    if (found.length) return { items, unknown, found };
  }
  return undefined;
}

/** "3.82 V cell": the number is the cell's, and the cell is not said to be damaged. */
function takeAbout(found: Found, clause: Clause, sentence: Sentence, reading: SentenceReading): boolean {
  if (!found.ask || found.items.some(({ part }) => !part)) return false;
  const meaning = found.rule.asked.find(({ kind }) => kind === 'damage');
  const from = sentence.tokens[clause.from]?.from ?? 0;
  const to = sentence.tokens[clause.to - 1]?.to ?? 0;
  const numbers = reading.measured.filter((one) => from <= one.from && one.from < to && one.unit !== 'year');
  if (!meaning || numbers.length === 0) return false;
  for (const one of numbers) one.about = meaning.id;
  return true;
}

function takeFound(sentence: Sentence, found: Found, { lexicon, families, reading }: Taking): void {
  const span = sentence.span(found.items.flatMap((item) => item.tokens));
  const strange = ({ kind, id }: Meaning) => kind === 'symptom' && !lexicon.fits(id, families);
  const sure = found.ask ? [] : found.rule.sure.filter((meaning) => !strange(meaning));
  for (const { kind, id } of sure) reading[meaningLists[kind]].push({ ...span, id, weight: found.score });
  if (sure.length) return;
  const candidates = distinct([...found.rule.sure, ...found.rule.asked]);
  reading.unsure.push({ ...span, candidates });
}

const overlap = (a: Pick<Span, 'from' | 'to'>, b: Pick<Span, 'from' | 'to'>): boolean =>
  a.from < b.to && b.from < a.to;

/** What words of danger tell is a complaint too. */
function takeDanger({ symptomOf }: Lexicon, reading: SentenceReading): void {
  for (const { fact, text, from, to } of reading.danger.found) {
    const ids = symptomOf.get(fact) ?? [];
    const [id] = ids;
    // "Dropped down the loo, camera misty": the water is told besides the mist.
    const here = { from, to };
    const before = reading.complaints.filter(
      (one) => one.id === id || (ids.includes(one.id) && overlap(one, here)),
    );
    for (const one of before) one.weight = DANGER;
    // A fall into water is no fall on the floor.
    if (fact === 'wet')
      reading.complaints = reading.complaints.filter(
        (one) => one.id !== FALL || one.from >= to || one.to <= from,
      );
    if (id === undefined || before.length) continue;
    reading.complaints.push({ text, from, to, id, weight: DANGER });
  }
  // What was found to be dangerous is no longer asked, nor unknown.
  const within = (span: Span) =>
    reading.danger.found.some(({ from, to }) => from <= span.from && span.to <= to);
  reading.unsure = reading.unsure.filter((one) => !within(one));
  reading.notUnderstood = reading.notUnderstood.filter((one) => !within(one));
}

/** Runs of words that were not understood; the first that looks like a name is the model. */
function takeStrange(sentence: Sentence, tokens: readonly number[], { lexicon, reading }: Taking): void {
  const language = lexicon.languages.get(reading.language);
  const runs: number[][] = [];
  for (const token of tokens) {
    const run = runs.at(-1);
    const gap = sentence.text.slice(sentence.tokens[token - 1]?.to ?? 0, sentence.tokens[token]?.from ?? 0);
    if (run && run.at(-1) === token - 1 && /^[\s-]*$/.test(gap)) run.push(token);
    else runs.push([token]);
  }
  for (const run of runs) {
    const span = sentence.span(run);
    const amounts = decimalsOf(span.text, reading.language !== 'en');
    if (amounts.length) {
      reading.numbers.push({ ...span, amounts });
      continue;
    }
    const named = /\d/.test(span.text) || /^\p{Lu}/u.test(span.text);
    // A sentence that begins with a capital is no name.
    const words = run.filter((token) => language?.knows(sentence.tokens[token]?.word ?? '')).length;
    const name = named && /\p{L}/u.test(span.text) && words * 2 <= run.length;
    if (reading.model === null && name) reading.model = span;
    else reading.notUnderstood.push(span);
  }
}

/** Each thing once, in the order of the text; what is said is not asked again, and what is shown is not denied. */
function settle(reading: SentenceReading): void {
  for (const name of Object.values(meaningLists)) {
    const seen = new Map<string, SaidItem>();
    for (const one of reading[name].sort((a, b) => a.from - b.from || b.weight - a.weight)) {
      const before = seen.get(one.id);
      if (before) before.weight = Math.max(before.weight, one.weight);
      else seen.set(one.id, one);
    }
    reading[name] = [...seen.values()];
  }
  const shown = new Set(reading.complaints.map(({ id }) => id));
  reading.denials = reading.denials.filter(({ id }) => !shown.has(id));
  const said = (meaning: Meaning) => reading[meaningLists[meaning.kind]].some(({ id }) => id === meaning.id);
  reading.unsure = reading.unsure
    .filter(({ candidates }) => !candidates.some(said))
    .sort((a, b) => a.from - b.from);
  reading.notUnderstood.sort((a, b) => a.from - b.from);
}

/** All that a reading can be about, the likeliest first: what was said plainly, then what is to be asked. */
export function offered(reading: SentenceReading): Meaning[] {
  const sure = (['symptom', 'damage', 'history', 'other'] as const).flatMap((kind) =>
    reading[meaningLists[kind]].map(({ id, weight }) => ({ kind, id, weight })),
  );
  const asked = reading.unsure.flatMap(({ candidates }) => candidates);
  return distinct([
    ...sure.sort((a, b) => b.weight - a.weight).map(({ kind, id }) => ({ kind, id })),
    ...asked,
  ]);
}
