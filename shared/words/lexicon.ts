/**
 * What the reader of sentences knows, made ready: for each language a tree of the words that carry a sense, and one index of the rules
 * by which senses mean something together.
 */
import { stemmer as dutch } from '@orama/stemmers/dutch';
import { stemmer as english } from '@orama/stemmers/english';
import { stemmer as french } from '@orama/stemmers/french';
import { stemmer as german } from '@orama/stemmers/german';
import { stemmer as spanish } from '@orama/stemmers/spanish';
import MiniSearch from 'minisearch';
import type { Knowledge } from '../../knowledge/load.ts';
import type { Family, SeenFact, Symptom } from '../../knowledge/schema.ts';
import {
  type DangerWords,
  dangerWords,
  type ReadingLanguage,
  ungrouped,
  type WordRules,
} from '../../knowledge/words.ts';
import { type MeasuredUnit, type MeasureWords, measuredUnits } from './measures.ts';
import { Slips } from './slips.ts';
import { fold, spellings, tokensOf } from './tokens.ts';

const stemmers: Readonly<Record<string, (word: string) => string>> = {
  de: german,
  en: english,
  es: spanish,
  fr: french,
  nl: dutch,
};

/** What something that was said is about. */
const meaningKinds = [
  'symptom',
  'deny',
  'damage',
  'history',
  'wish',
  'came',
  'other',
  'answer',
  'fitted',
] as const;
export type MeaningKind = (typeof meaningKinds)[number];
export interface Meaning {
  kind: MeaningKind;
  /** Of a symptom, a component, `check/outcome`, or what the rules of the pack call it. */
  id: string;
}

/** What a word does in a clause, besides carrying senses. */
type WordRole = 'skip' | 'split' | 'and' | 'not' | 'not-behind';

interface Node {
  next: Map<string, Node>;
  senses?: Set<string>;
  role?: WordRole;
}

/** Words of a language that were found: how many, and what they carry. */
export interface Match {
  /** Indexes of the words, in order; words passed over are not among them. */
  at: number[];
  senses: ReadonlySet<string>;
  role: WordRole | undefined;
}

/** One stem of a text; two where a word was joined. */
export interface Unit {
  stem: string;
  /** Index of the word it comes from. */
  token: number;
  slip: boolean;
  known: boolean;
}

/** So many words that carry nothing may stand within an expression: "turn it back on". */
const GAP = 2;
const REMEMBERED = 5000;
/** Words of so many letters and more are cut to their stem. */
const STEMMED = 5;

export class WordLanguage {
  readonly name: string;
  readonly measures: MeasureWords;
  private readonly root: Node = { next: new Map() };
  private readonly stems = new Map<string, string>();
  private readonly words = new Set<string>();
  private readonly known = new Set<string>();
  private readonly compounds: boolean;
  private readonly particles: ReadonlySet<string>;
  private readonly made = new Map<string, readonly Omit<Unit, 'token'>[]>();
  private slips: Slips | undefined;

  constructor(name: string, reading: ReadingLanguage) {
    this.name = name;
    this.compounds = reading.compounds;
    this.particles = new Set(reading.particles.flatMap(spellings).map((word) => this.stem(word)));
    const roles = {
      skip: reading.skip,
      split: reading.split,
      and: reading.and,
      not: reading.not,
      'not-behind': reading.notBehind,
    } as const satisfies Record<WordRole, readonly string[]>;
    for (const role of ['skip', 'split', 'and', 'not', 'not-behind'] as const)
      for (const said of roles[role]) this.add(said, (node) => Object.assign(node, { role }));
    for (const [sense, list] of Object.entries(reading.senses)) {
      for (const said of list) {
        const term = said.startsWith('!') ? `!${sense}` : sense;
        this.add(said.replace(/^!/, ''), (node) => {
          node.senses ??= new Set();
          node.senses.add(term);
        });
      }
    }
    this.measures = {
      units: new Map(
        Object.entries(reading.units).flatMap(([unit, list]) =>
          isUnit(unit) ? list.map((word) => [fold(word), unit] as const) : [],
        ),
      ),
      money: new Map(
        Object.entries(reading.money).flatMap(([code, list]) =>
          list.map((word) => [fold(word), code] as const),
        ),
      ),
      paid: new Set(reading.paid.map(fold)),
      comma: name !== 'en',
    };
  }

  private add(said: string, mark: (node: Node) => void): void {
    const words = tokensOf(said).map(({ from, to }) => said.slice(from, to));
    // Each spelling of the whole: umlauts are written out in all of it or nowhere.
    for (const spelling of [0, 1]) {
      let node = this.root;
      for (const raw of words) {
        const spelt = spellings(raw);
        const word = spelt[spelling] ?? spelt[0] ?? '';
        this.words.add(word);
        const stem = this.stem(word);
        this.known.add(stem);
        let next = node.next.get(stem);
        if (!next) {
          next = { next: new Map() };
          node.next.set(stem, next);
        }
        node = next;
      }
      if (node !== this.root) mark(node);
    }
  }

  private stem(word: string): string {
    const before = this.stems.get(word);
    if (before !== undefined) return before;
    // Short words lose what tells them apart: Dutch `heet` would be `het`.
    const made = word.length < STEMMED ? word : (stemmers[this.name]?.(word) ?? word);
    if (this.stems.size < 4 * REMEMBERED) this.stems.set(word, made);
    return made;
  }

  /** True when the word by itself carries something in this language. */
  knows(word: string): boolean {
    return this.known.has(this.stem(word));
  }

  /** The stems of a folded word: of a listed word one slip away where it is unknown, or of the words it is joined from. */
  unitsOf(word: string): readonly Omit<Unit, 'token'>[] {
    const before = this.made.get(word);
    if (before) return before;
    const made = this.look(word);
    if (this.made.size >= REMEMBERED) this.made.clear();
    this.made.set(word, made);
    return made;
  }

  private look(word: string): Omit<Unit, 'token'>[] {
    const stem = this.stem(word);
    if (this.known.has(stem)) return [{ stem, slip: false, known: true }];
    if (this.compounds) {
      const parts = this.parted(word);
      if (parts) return parts.map((part) => ({ stem: part, slip: false, known: true }));
    }
    this.slips ??= new Slips(this.words);
    const near = [...new Set(this.slips.near(word).map((one) => this.stem(one)))];
    const [only] = near;
    if (only !== undefined && near.length === 1) return [{ stem: only, slip: true, known: true }];
    return [{ stem, slip: false, known: false }];
  }

  /** The stems of the listed words that a word is joined from, the longest first part first. */
  private parted(word: string): string[] | null {
    if (word.length > 40) return null;
    for (let cut = word.length - 3; cut >= 3; cut -= 1) {
      const head = this.partOf(word.slice(0, cut));
      if (head === null) continue;
      const tail = word.slice(cut);
      const stem = this.stem(tail);
      if (this.words.has(tail) || this.known.has(stem)) return [head, stem];
      const more = tail.length >= 7 ? this.parted(tail) : null;
      if (more) return [head, ...more];
    }
    return null;
  }
  private partOf(head: string): string | null {
    for (const word of [head, head.replace(/(?<=...)(s|n|en|e)$/, ''), `${head}e`, `${head}en`])
      if (word.length >= 3 && this.words.has(word)) return this.stem(word);
    return null;
  }

  /** The longest expression that begins at a unit, over as few words that carry nothing as can be. */
  match(units: readonly Unit[], start: number, end: number): Match | null {
    const best: { match: Match | null; words: number; gaps: number } = { match: null, words: 0, gaps: 0 };
    const walk = (node: Node, index: number, at: readonly number[], gaps: number) => {
      const better = at.length > best.words || (at.length === best.words && gaps < best.gaps);
      if ((node.senses || node.role) && better) {
        best.match = { at: [...at], senses: node.senses ?? none, role: node.role };
        best.words = at.length;
        best.gaps = gaps;
      }
      const unit = units[index];
      if (node.next.size === 0 || index >= end || !unit) return;
      const next = node.next.get(unit.stem);
      if (next) walk(next, index + 1, [...at, index], gaps);
      if (at.length === 0) return;
      // Half of a verb stands at the end: "geht trotz voller Batterie aus".
      const behind = at.length === 1 && index < end - 1 ? units[end - 1]?.stem : undefined;
      const whole = behind !== undefined && this.particles.has(behind) ? node.next.get(behind) : undefined;
      if (whole) walk(whole, end, [...at, end - 1], gaps + GAP);
      // A number in between parts nothing: "geht bei 30 Prozent aus".
      if (unit.stem === '') walk(node, index + 1, at, gaps);
      else if (gaps < GAP && this.passed(unit.stem)) walk(node, index + 1, at, gaps + 1);
    };
    walk(this.root, start, [], 0);
    return best.match;
  }

  private passed(stem: string): boolean {
    const role = this.root.next.get(stem)?.role;
    return role === 'skip' || role === 'not-behind' || role === 'split';
  }
}

const none: ReadonlySet<string> = new Set();
const isUnit = (unit: string): unit is MeasuredUnit => measuredUnits.some((one) => one === unit);

/** Senses that mean something together. */
export interface Rule {
  terms: readonly string[];
  /** How much each term tells: the rarer among the rules the more. */
  weight: number;
  sure: readonly Meaning[];
  /** To be asked. */
  asked: readonly Meaning[];
}

/** A rule and the terms that it shares with what was asked. */
interface Near {
  rule: Rule;
  shared: ReadonlySet<string>;
}

class Rules {
  private readonly rules: Rule[];
  private readonly index = new MiniSearch<{ id: number; terms: string }>({
    fields: ['terms'],
    tokenize: (text) => text.split(' '),
    processTerm: (term) => term,
  });
  private readonly rarity = new Map<string, number>();
  private readonly found = new Map<string, readonly Near[]>();

  constructor(made: ReadonlyMap<string, { terms: readonly string[]; sure: Meaning[]; asked: Meaning[] }>) {
    const counts = new Map<string, number>();
    for (const { terms } of made.values())
      for (const term of terms) counts.set(term, (counts.get(term) ?? 0) + 1);
    for (const [term, count] of counts) this.rarity.set(term, Math.log(1 + made.size / count));
    this.rules = [...made.values()].map(({ terms, sure, asked }) => ({
      terms,
      sure,
      asked,
      weight: terms.reduce((sum, term) => sum + this.weightOf(term), 0),
    }));
    this.index.addAll(this.rules.map(({ terms }, id) => ({ id, terms: terms.join(' ') })));
  }

  /** Inverse document frequency of a term among the rules: log(1 + rules / rules with it). */
  weightOf(term: string): number {
    return this.rarity.get(term) ?? 0;
  }

  /** Rules that share a term, with the terms shared; best first as the search library ranks them (BM25+). */
  near(terms: ReadonlySet<string>): readonly Near[] {
    const asked = [...terms].filter((term) => this.rarity.has(term));
    if (asked.length === 0) return [];
    const key = asked.sort().join(' ');
    const before = this.found.get(key);
    if (before) return before;
    const found = this.index
      .search(asked.join(' '), { combineWith: 'OR' })
      .flatMap(({ id, terms: shared }) => {
        const rule = this.rules[Number(id)];
        return rule ? [{ rule, shared: new Set(shared) }] : [];
      });
    if (this.found.size >= REMEMBERED / 10) this.found.clear();
    this.found.set(key, found);
    return found;
  }
}

export interface Lexicon {
  languages: ReadonlyMap<string, WordLanguage>;
  rules: Rules;
  parts: ReadonlySet<string>;
  verbs: ReadonlySet<string>;
  danger: DangerWords;
  /** Which symptoms a fact that words of danger tell can be; the first where none of them is said. */
  symptomOf: ReadonlyMap<SeenFact, readonly string[]>;
  /** True when a phone of one of these families can have the symptom. */
  fits(symptom: string, families: readonly Family[]): boolean;
}

const kinds = {
  symptom: 'symptoms',
  deny: 'denies',
  damage: 'damage',
  history: 'history',
  wish: 'wishes',
  came: 'came',
  other: 'others',
  answer: 'answers',
  fitted: 'fitted',
} as const satisfies Record<MeaningKind, keyof WordRules>;

/** Every choice of one alternative each: `a|b c` is `a c` and `b c`. */
const choices = (text: string): string[][] =>
  text
    .split(' ')
    .map((one) => one.split('|'))
    .reduce<string[][]>((all, more) => all.flatMap((terms) => more.map((term) => [...terms, term])), [[]]);

type Made = Map<string, { terms: string[]; sure: Meaning[]; asked: Meaning[] }>;

function addRule(made: Made, terms: readonly string[], meaning: Meaning, ask: boolean): void {
  const distinct = [...new Set(terms)].sort();
  const key = distinct.join(' ');
  const rule = made.get(key) ?? { terms: distinct, sure: [], asked: [] };
  (ask ? rule.asked : rule.sure).push(meaning);
  made.set(key, rule);
}

/** The senses of a name of the pack, one each; null when a word of it carries none. */
function termsOf(language: WordLanguage, name: string): string[] | null {
  const units = tokensOf(name).flatMap(({ word }, token) =>
    language.unitsOf(word).map((unit) => ({ ...unit, token })),
  );
  const terms: string[] = [];
  for (let index = 0; index < units.length; ) {
    const match = language.match(units, index, units.length);
    if (!match || match.role === 'not' || units[index]?.slip) return null;
    const [sense] = match.senses;
    if (sense !== undefined) terms.push(sense);
    else if (match.role !== 'skip') return null;
    index = (match.at.at(-1) ?? index) + 1;
  }
  return terms.length ? terms : null;
}

const fitting = ({ with: all = [], without: never = [] }: Symptom, { features }: Family): boolean =>
  all.every((one) => features.includes(one)) && !never.some((one) => features.includes(one));

function makeLexicon(knowledge: Knowledge): Lexicon {
  const { words, wordRules, symptoms, components } = knowledge;
  const languages = new Map([...words].map(([name, { reading }]) => [name, new WordLanguage(name, reading)]));
  const made: Made = new Map();
  for (const kind of meaningKinds) {
    for (const [id, texts] of Object.entries(wordRules[kinds[kind]])) {
      for (const one of texts) {
        const text = ungrouped(one, wordRules.groups);
        const ask = text.endsWith(' ?');
        for (const terms of choices(ask ? text.slice(0, -2) : text)) addRule(made, terms, { kind, id }, ask);
      }
    }
  }
  // The names that the pack has anyway; where a rule says what they mean, that holds.
  const english = languages.get('en');
  const named = (name: string, meaning: Meaning, ask: boolean) => {
    const terms = english && termsOf(english, name);
    if (!terms || made.has([...new Set(terms)].sort().join(' '))) return;
    addRule(made, terms, meaning, ask);
  };
  for (const { id, name, alias } of symptoms.values())
    for (const one of [name, ...alias]) named(one, { kind: 'symptom', id }, false);
  for (const { id, name, plain } of components.values())
    for (const one of [name, ...plain]) named(one, { kind: 'damage', id }, true);
  const danger = wordRules.danger;
  const symptomOf = new Map<SeenFact, readonly string[]>();
  for (const fact of ['swollen', 'hot', 'leaking', 'hurt', 'lifted', 'wet'] as const) {
    symptomOf.set(fact, danger[fact] ?? []);
  }
  return {
    languages,
    rules: new Rules(made),
    parts: new Set(wordRules.parts),
    verbs: new Set(wordRules.verbs),
    danger: dangerWords(words),
    symptomOf,
    fits: (id, families) => {
      const symptom = symptoms.get(id);
      return symptom === undefined || families.length === 0 || families.some((one) => fitting(symptom, one));
    },
  };
}

const lexicons = new WeakMap<Knowledge, Lexicon>();

/** The lexicon of a pack; made once for each. */
export function lexiconOf(knowledge: Knowledge): Lexicon {
  const before = lexicons.get(knowledge);
  if (before) return before;
  const made = makeLexicon(knowledge);
  lexicons.set(knowledge, made);
  return made;
}
