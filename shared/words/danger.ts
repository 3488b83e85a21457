/**
 * Finds words of danger in any text, in all languages of the pack at once. It looks for phrases and understands nothing: when in
 * doubt it says danger. A denial counts only where it stands right at the word.
 */
import type { SeenFact } from '../../knowledge/schema.ts';
import type { DangerLanguage, DangerWords } from '../../knowledge/words.ts';
import { Slips } from './slips.ts';
import { spellings, type Token, tokensOf } from './tokens.ts';

interface FoundDanger {
  /** As it was typed. */
  text: string;
  /** Its place in the text, in UTF-16 units: from <= i < to. */
  from: number;
  to: number;
  fact: SeenFact;
  /** Whom to call, where that is not a matter of choice. */
  service?: 'fire';
}
export interface Danger {
  /** Each fact once, in the order it was first said. */
  facts: SeenFact[];
  /** In the order of the text; where two tell the same fact of the same words, the longer. */
  found: FoundDanger[];
}

/** Words beside each other, by their numbers; `plain` when none of them stands for a set. */
interface Part {
  words: readonly number[];
  plain: boolean;
}
interface Phrase {
  parts: readonly Part[];
  /** Index of the part that is looked for first. */
  anchor: number;
  says?: { fact: SeenFact; service?: 'fire'; verbs: boolean };
  /** It holds a word for the cell. */
  cell: boolean;
}

/** So many words may stand between two parts of a phrase. */
const NEAR = 3;
/** So many words may stand between a denial and what it denies. */
const REACH = 5;

interface Known {
  numbers: ReadonlySet<number>;
  /** False for a slip. */
  exact: boolean;
}

/** Which listed words a typed word can be. */
class Vocabulary {
  private readonly whole = new Map<string, Set<number>>();
  private readonly starts = new Map<string, Set<number>>();
  private readonly ends = new Map<string, Set<number>>();
  private readonly unlike = new Set<string>();
  private readonly slippery = new Set<string>();
  private readonly known = new Map<string, Known>();
  private slips: Slips | undefined;
  private longest = 0;

  /** A slip of a word counts where the word tells of danger by itself. */
  add(listed: string, number: number, endings: readonly string[], slips: boolean): void {
    const bare = listed.replace(/[*~]/g, '');
    for (const word of spellings(bare)) {
      this.longest = Math.max(this.longest, word.length);
      if (listed.startsWith('*')) put(this.ends, word, number);
      else if (listed.endsWith('*')) put(this.starts, word, number);
      else {
        for (const ending of listed.endsWith('~') ? ['', ...endings] : ['']) {
          if (ending && this.unlike.has(word + ending)) continue;
          put(this.whole, word + ending, number);
          // With one letter behind the stem the form is often no word at all, and is near to many that are.
          if (slips && ending.length !== 1) this.slippery.add(word + ending);
        }
      }
    }
  }
  never(words: readonly string[]): void {
    for (const word of words) for (const spelt of spellings(word)) this.unlike.add(spelt);
  }
  /** Numbers of the listed words that this one is; where it is none, of those that it is a slip of. */
  of(word: string): Known {
    const before = this.known.get(word);
    if (before) return before;
    const made = this.look(word);
    // People say the same words over and over; strange ones must not fill the memory.
    if (this.known.size >= 5000) this.known.clear();
    this.known.set(word, made);
    return made;
  }
  private look(word: string): Known {
    const exact = this.whole.get(word);
    const found = new Set(exact);
    for (let length = 2; length <= Math.min(word.length, this.longest); length += 1) {
      for (const number of this.starts.get(word.slice(0, length)) ?? []) found.add(number);
      for (const number of this.ends.get(word.slice(-length)) ?? []) found.add(number);
    }
    if (found.size || this.unlike.has(word)) return { numbers: found, exact: true };
    this.slips ??= new Slips(this.slippery);
    for (const near of this.slips.near(word))
      for (const number of this.whole.get(near) ?? []) found.add(number);
    return { numbers: found, exact: false };
  }
}

function put<K, V>(map: Map<K, Set<V>>, key: K, value: V): void {
  const set = map.get(key);
  if (set) set.add(value);
  else map.set(key, new Set([value]));
}

interface Compiled {
  vocabulary: Vocabulary;
  /** By the number of the first word of its anchor. */
  phrases: ReadonlyMap<number, readonly Phrase[]>;
  roles: ReadonlyMap<number, ReadonlySet<Role>>;
}

const roleNames = ['not', 'none', 'between', 'own', 'before', 'or', 'and', 'pass'] as const;
type Role = (typeof roleNames)[number] | 'cell';

/** Numbers every listed word of a language, and adds its phrases. */
function compileLanguage(
  language: DangerLanguage,
  next: () => number,
  {
    vocabulary,
    phrases,
    roles,
  }: { vocabulary: Vocabulary; phrases: Map<number, Phrase[]>; roles: Map<number, Set<Role>> },
): void {
  const known = new Map<string, number>();
  const alone = new Set(
    language.says.flatMap(({ phrases: listed }) => listed).filter((one) => !one.includes(' ')),
  );
  alone.add('<cell>');
  const numberOf = (listed: string): number => {
    const before = known.get(listed);
    if (before !== undefined) return before;
    const number = next();
    known.set(listed, number);
    const set = /^<(.+)>$/.exec(listed)?.[1];
    for (const word of set === undefined ? [listed] : (language.sets[set] ?? []))
      vocabulary.add(word, number, language.endings, alone.has(listed));
    return number;
  };
  const partOf = (text: string): Part => {
    const listed = text.split(/\s+/);
    return { words: listed.map(numberOf), plain: !listed.every((word) => word.startsWith('<')) };
  };
  const addPhrase = (text: string, says?: Phrase['says']) => {
    const parts = text.split(/\s*&\s*/).map(partOf);
    const anchor = Math.max(
      0,
      parts.findIndex(({ plain }) => plain),
    );
    const first = parts[anchor]?.words[0];
    if (first === undefined) return;
    const phrase = { parts, anchor, cell: text.includes('<cell>'), ...(says ? { says } : {}) };
    const listed = phrases.get(first);
    if (listed) listed.push(phrase);
    else phrases.set(first, [phrase]);
  };
  for (const { fact, service, verbs, phrases: listed } of language.says) {
    for (const text of listed) addPhrase(text, { fact, verbs, ...(service ? { service } : {}) });
  }
  for (const text of language.innocent) addPhrase(text);
  for (const role of roleNames) for (const word of language[role]) put(roles, numberOf(word), role);
  put(roles, numberOf('<cell>'), 'cell');
}

function compile(words: DangerWords): Compiled {
  const compiled = { vocabulary: new Vocabulary(), phrases: new Map(), roles: new Map() };
  let last = 0;
  for (const { unlike } of words.values()) compiled.vocabulary.never(unlike);
  for (const language of words.values()) {
    compileLanguage(
      language,
      () => {
        last += 1;
        return last;
      },
      compiled,
    );
  }
  return compiled;
}

const compiledOf = new WeakMap<DangerWords, Compiled>();

/** Where a phrase stands: the places of the words of each of its parts. */
interface Place {
  phrase: Phrase;
  parts: readonly (readonly number[])[];
  /** From its first word to its last. */
  first: number;
  last: number;
  /** The same of what tells of danger in it, leaving out what it is told of. */
  from: number;
  to: number;
}

/** A text cut into words, with what each can be. */
class Seen {
  readonly tokens: readonly Token[];
  private readonly numbers: readonly ReadonlySet<number>[];
  private readonly roles: readonly ReadonlySet<Role>[];
  /** Which clause a word is in; commas, questions and full stops part them. */
  private readonly clause: readonly number[];

  private readonly compiled: Compiled;

  constructor(compiled: Compiled, text: string) {
    this.compiled = compiled;
    this.tokens = tokensOf(text);
    const before = new Map<string, { numbers: ReadonlySet<number>; roles: ReadonlySet<Role> }>();
    const known = this.tokens.map(({ word }) => {
      const seen = before.get(word);
      if (seen) return seen;
      const { numbers, exact } = compiled.vocabulary.of(word);
      const roles = new Set<Role>();
      // A slip makes a word of danger out of another word, and never a denial.
      if (exact)
        for (const number of numbers) for (const role of compiled.roles.get(number) ?? []) roles.add(role);
      const made = { numbers, roles };
      before.set(word, made);
      return made;
    });
    this.numbers = known.map(({ numbers }) => numbers);
    this.roles = known.map(({ roles }) => roles);
    let clause = 0;
    this.clause = this.tokens.map(({ after }) => {
      if (after !== 'space' && after !== 'mark') clause += 1;
      return clause;
    });
  }

  is(index: number, role: Role): boolean {
    return this.roles[index]?.has(role) ?? false;
  }
  together(a: number, b: number): boolean {
    return this.clause[a] !== undefined && this.clause[a] === this.clause[b];
  }
  after(index: number): Token['after'] | undefined {
    return this.tokens[index]?.after;
  }

  /** The places of a part that begins at a word; null when it does not. */
  private partAt(part: Part, start: number): number[] | null {
    const places: number[] = [];
    let index = start;
    for (const word of part.words) {
      while (places.length > 0 && !this.numbers[index]?.has(word) && this.is(index, 'pass')) index += 1;
      if (!this.numbers[index]?.has(word) || !this.together(start, index)) return null;
      places.push(index);
      index += 1;
    }
    return places;
  }

  /** A part near words that are taken, nearest first. */
  private partNear(part: Part, taken: readonly number[]): number[] | null {
    const first = Math.min(...taken);
    const last = Math.max(...taken);
    const free = (places: number[] | null) => places && !places.some((place) => taken.includes(place));
    let beyond = 0;
    for (let index = first + 1; index <= last + 1 || beyond <= NEAR; index += 1) {
      if (!this.together(first, index) || (index > last && this.is(index, 'and'))) break;
      const places = this.partAt(part, index);
      if (free(places)) return places;
      if (index > last && !this.is(index, 'pass')) beyond += 1;
    }
    beyond = 0;
    const back = NEAR + part.words.length;
    for (let index = first - 1; beyond < back; index -= 1) {
      if (!this.together(first, index)) break;
      const places = this.partAt(part, index);
      if (free(places)) return places;
      if (!this.is(index, 'pass')) beyond += 1;
    }
    return null;
  }

  /** Every phrase that is said. */
  places(): Place[] {
    const found: Place[] = [];
    for (let index = 0; index < this.tokens.length; index += 1) {
      for (const number of this.numbers[index] ?? []) {
        for (const phrase of this.compiled.phrases.get(number) ?? []) {
          const place = this.placeAt(phrase, index);
          if (place) found.push(place);
        }
      }
    }
    return found;
  }

  private placeAt(phrase: Phrase, start: number): Place | null {
    const anchor = phrase.parts[phrase.anchor];
    const at = anchor && this.partAt(anchor, start);
    if (!at) return null;
    const parts: (readonly number[])[] = [];
    parts[phrase.anchor] = at;
    const taken = [...at];
    for (const [number, part] of phrase.parts.entries()) {
      if (number === phrase.anchor) continue;
      const near = this.partNear(part, taken);
      if (!near) return null;
      parts[number] = near;
      taken.push(...near);
    }
    const plain = parts.filter((_, number) => phrase.parts[number]?.plain).flat();
    const telling = plain.length ? plain : taken;
    return {
      phrase,
      parts,
      first: Math.min(...taken),
      last: Math.max(...taken),
      from: Math.min(...telling),
      to: Math.max(...telling),
    };
  }

  /** True when a denial stands right before a word: only words that may stand between lie between them. */
  private deniedBefore(start: number, verbs: boolean): boolean {
    let cell = false;
    for (let index = start - 1; index >= start - 1 - REACH && this.together(start, index); index -= 1) {
      const none = this.is(index, 'none');
      const not = this.is(index, 'not');
      if (none || not) {
        // "Not without smoke" denies nothing; nor does a denial that belongs to the word before it.
        if (this.together(index, index - 1)) {
          if (this.is(index - 1, 'not') || this.is(index - 1, 'none')) return false;
          if (not && !none && this.is(index - 1, 'own')) return false;
        }
        return none || (!cell && !verbs);
      }
      if (this.is(index, 'cell')) cell = true;
      else if (!this.is(index, 'between') && !this.is(index, 'pass')) return false;
    }
    return false;
  }

  /** True when a denial follows: "raucht nicht", "swollen? no". */
  private deniedAfter(end: number, verbs: boolean): boolean {
    let index = end + 1;
    while (verbs && this.together(end, index) && this.is(index, 'between')) index += 1;
    if (!this.is(index, 'not') && !this.is(index, 'none')) return false;
    const asked = this.after(index) === 'question' && index === end + 1;
    if (!asked && !this.together(end, index)) return false;
    const last = !this.together(index, index + 1);
    return verbs || last;
  }

  /** True when what is denied was so before: "raucht nicht mehr". */
  private wasSo(end: number): boolean {
    for (let index = end + 1; index <= end + 3 && this.together(end, index); index += 1)
      if (this.is(index, 'before')) return true;
    return false;
  }

  denied({ phrase, parts, last }: Place): boolean {
    if (this.wasSo(last)) return false;
    const verbs = phrase.says?.verbs ?? false;
    return parts.some((places, number) => {
      const part = phrase.parts[number];
      if (!part?.plain && phrase.parts.some(({ plain }) => plain)) return false;
      const [start = 0] = places;
      return this.deniedBefore(start, verbs) || this.deniedAfter(places.at(-1) ?? start, verbs);
    });
  }

  /** True when only words that carry a denial on stand between two places: "no smoke or fire", "no bulge, leak or smoke". */
  link(from: number, to: number): 'none' | 'comma' | 'or' {
    let or = false;
    for (let index = from + 1; index < to; index += 1) {
      if (this.is(index, 'or')) or = true;
      else if (!this.is(index, 'between') && !this.is(index, 'pass') && !this.is(index, 'cell'))
        return 'none';
    }
    for (let index = from + 1; index <= to; index += 1) {
      const after = this.after(index);
      if (after === 'end' || after === 'question') return 'none';
    }
    if (or) return 'or';
    return this.after(to) === 'comma' || this.after(from + 1) === 'comma' ? 'comma' : 'none';
  }
}

/** A word that stands in an innocent phrase means something else; what is said of the cell stays what it is. */
function innocent(place: Place, innocents: readonly Place[]): boolean {
  return innocents.some((other) => {
    const taken = other.parts.flat();
    if (other.parts.length === 1)
      return place.parts.some(
        (part, number) => place.phrase.parts[number]?.plain && part.every((index) => taken.includes(index)),
      );
    return (
      !place.phrase.cell &&
      place.parts.every(
        (part, number) => !place.phrase.parts[number]?.plain || part.every((index) => taken.includes(index)),
      )
    );
  });
}

/** Leaves out those that are denied, and those that a denial is carried on to. */
function undenied(seen: Seen, places: readonly Place[]): Place[] {
  const kept: Place[] = [];
  let denied: Place | null = null;
  /** Said after a comma behind a denial: denied if an "or" comes in the end, as in "no bulge, leak or smoke". */
  let pending: Place[] = [];
  for (const place of places) {
    if (seen.denied(place)) {
      kept.push(...pending);
      pending = [];
      denied = place;
      continue;
    }
    const last: Place | null = pending.at(-1) ?? denied;
    const overlaps = last !== null && place.from <= last.to;
    const link = last && !overlaps ? seen.link(last.to, place.from) : 'none';
    if (overlaps && pending.length > 0) pending.push(place);
    else if (overlaps && denied === last) {
      // The same words, denied as part of another phrase.
      const within = last !== null && place.from >= last.from && place.to <= last.to;
      if (!within) kept.push(place);
    } else if (link === 'or') {
      pending = [];
      denied = place;
    } else if (link === 'comma') pending.push(place);
    else {
      kept.push(...pending, place);
      pending = [];
      denied = null;
    }
  }
  return [...kept, ...pending];
}

/**
 * Finds words of danger in a text of any kind and length, in every language given, and never throws. What is denied in the same
 * breath ("not swollen", "kein Rauch") is left out, and what was so before ("no longer smokes") is not.
 */
export function dangerIn(words: DangerWords, text: string): Danger {
  let compiled = compiledOf.get(words);
  if (!compiled) {
    compiled = compile(words);
    compiledOf.set(words, compiled);
  }
  const seen = new Seen(compiled, text);
  const places = seen.places();
  const innocents = places.filter(({ phrase }) => !phrase.says);
  const said = places
    .filter((place) => place.phrase.says && !innocent(place, innocents))
    .sort((a, b) => a.from - b.from || b.to - a.to);
  const found: FoundDanger[] = [];
  for (const { phrase, first, last } of undenied(seen, said)) {
    const from = seen.tokens[first]?.from;
    const to = seen.tokens[last]?.to;
    if (!phrase.says || from === undefined || to === undefined) continue;
    const { fact, service } = phrase.says;
    const before = found.find((one) => one.fact === fact && from < one.to && one.from < to);
    if (before) {
      if (to > before.to) Object.assign(before, { to, text: text.slice(before.from, to) });
      if (service) before.service = service;
    } else found.push({ text: text.slice(from, to), from, to, fact, ...(service ? { service } : {}) });
  }
  return { facts: [...new Set(found.map(({ fact }) => fact))], found };
}
