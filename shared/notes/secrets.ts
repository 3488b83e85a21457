/**
 * What kept text must not hold: passcodes, PINs, unlock patterns, passwords, recovery codes and card numbers. What is never
 * written cannot be read by the wrong person.
 *
 * It looks, in all languages of the pack at once (knowledge/pack/secrets/), for what a secret is called near a value; for a
 * number near what is said of getting past a lock; for patterns told in words; and for card numbers. A number alone is
 * let through: benches write many. The text is read from left to right, as words and numbers; every look ahead or back has a
 * fixed reach, so the time grows with the length of the text alone.
 */
import type { SecretKind, SecretWords } from '../../knowledge/secrets.ts';
import type { Message } from '../language/message.ts';
import { say } from '../language/say.ts';
import { hasCardNumber } from './card-number.ts';
import { type NameOfSecret, type SecretIndex, secretIndexOf } from './secret-index.ts';
import { numberAt, type WrittenNumber, wordedNumberAt } from './secret-numbers.ts';
import { glued, type SecretToken, secretTokens } from './secret-tokens.ts';

/** How far a value may stand from its name: tokens and characters. */
const REACH_TOKENS = 14;
const REACH_CHARACTERS = 60;
/** How far from a number what is said of a lock may stand, in tokens. */
const LOCK_REACH = 10;

const set = (words: string): ReadonlySet<string> => new Set(words.split(' '));
/** Units of one letter: as capitals, or right behind the number. */
const SHORT_UNITS = set('v a w m g k h s c f x');
const MONEY_MARKS = set('€ $ £ ¥');
const NUMBER = set('number no nummer nr numero num numer');
const IN = set('in im en em w i since seit');
const isYear = (digits: string): boolean => /^(19[5-9]|20[0-4])/.test(digits);
const CURRENCIES = set('eur usd aud gbp chf nzd cad jpy sek nok dkk pln euro euros dollars');
const STOPS = set('. ; ! ?');
const QUOTES = set('" \' “ ” „ « » ` ‘ ’');
const JOINERS = set(': = - – — → > ( [ { * # / | ? ~ , . _ …');

interface Text {
  index: SecretIndex;
  tokens: readonly SecretToken[];
  /** The number that begins at a token. */
  values: readonly (WrittenNumber | undefined)[];
  /** Where the number begins that ends before a token. */
  begins: ReadonlyMap<number, number>;
}

function textOf(index: SecretIndex, tokens: readonly SecretToken[]): Text {
  const begins = new Map<number, number>();
  const values = tokens.map((token, at) => {
    if (token.kind === 'mark') return undefined;
    const written = token.kind === 'number' ? numberAt(tokens, at) : undefined;
    const worded = index.numbers
      .map((words) => wordedNumberAt(words, tokens, at, index.passed))
      .reduce((a, b) => (b && b.digits.length > (a?.digits.length ?? 0) ? b : a), undefined);
    const value = worded && worded.next > (written?.next ?? 0) ? worded : written;
    if (value && !begins.has(value.next)) begins.set(value.next, at);
    return value;
  });
  return { index, tokens, values, begins };
}

/** True when the number at `start` could be a code of at least `least` digits. */
function isCode({ index, tokens, values }: Text, start: number, least: number, adjacent: boolean): boolean {
  const written = values[start];
  if (!written || written.measured || written.digits.length < least || written.digits.length > 16)
    return false;
  if (written.loose && !adjacent) return false;
  const after = tokens[written.next];
  if (isUnit(index, tokens[written.next - 1], after)) return false;
  // "1200er paper"
  if (after?.kind === 'word' && after.text.length <= 3 && glued(tokens[written.next - 1], after))
    return false;
  const [before, further] = [tokens[start - 1], tokens[start - 2]];
  if (!before) return true;
  if (index.numbered.has(before.key) || CURRENCIES.has(before.key) || MONEY_MARKS.has(before.text))
    return false;
  // "error code 4013": the code of something else.
  if (further && before.kind === 'word' && index.others.has(further.key) && index.names.has(before.key))
    return false;
  // "in 2026"
  if (!adjacent && written.digits.length === 4 && isYear(written.digits) && IN.has(before.key)) return false;
  // "model number 2201"
  if (further && NUMBER.has(before.key) && index.numbered.has(further.key)) return false;
  // "job #1204": the number of something.
  return !(/^[#.]$/.test(before.text) && further && index.numbered.has(further.key));
}

function isUnit(index: SecretIndex, number: SecretToken | undefined, after: SecretToken | undefined) {
  if (!after) return false;
  if (index.units.has(after.key) || CURRENCIES.has(after.key) || MONEY_MARKS.has(after.text)) return true;
  if (after.text === '%' || after.text === '°') return true;
  return SHORT_UNITS.has(after.key) && (glued(number, after) || after.text !== after.key);
}

/** The piece of text from a token to the next space: "Tr0ub4dor&3". */
function chunkAt(tokens: readonly SecretToken[], start: number): { text: string; next: number } {
  let text = tokens[start]?.text ?? '';
  let at = start + 1;
  for (; at - start < REACH_TOKENS && glued(tokens[at - 1], tokens[at]); at += 1)
    text += tokens[at]?.text ?? '';
  return { text: text.replace(/[.,;:!?)"'’”]+$/, ''), next: at };
}

/** French "l'" and "d'". */
const isArticle = (tokens: readonly SecretToken[], at: number): boolean =>
  /^[ld]$/.test(tokens[at]?.key ?? '') && /^['’]$/.test(tokens[at + 1]?.text ?? '');

/** A mark that no word has within it. */
const STRANGE = /\p{L}[&!$%+#*^~=]+[\p{L}0-9]/u;
/** Letters mixed with digits, or with a mark that no word has: "lamp-stone-44", "Farn&Moos". */
const looksMade = (chunk: string): boolean =>
  chunk.length >= 5 &&
  /\p{L}/u.test(chunk) &&
  (/[0-9]/.test(chunk) || STRANGE.test(chunk)) &&
  !/^[0-9]+\p{L}{1,3}$/u.test(chunk);

const isOther = (index: SecretIndex, key: string): boolean =>
  index.others.has(key) || index.numbered.has(key);

const LETTER = /^[A-HJ-Z]$/;
/** "a U", "an L": the shape of a pattern. Ohms are no shape. */
const isShapeAt = ({ tokens, values }: Text, at: number): boolean =>
  LETTER.test(tokens[at]?.text ?? '') && values[at - 1] === undefined && tokens[at - 1]?.kind !== 'number';

/** How many words of places stand from a token on, with nothing but movement between. */
function placesFrom({ index, tokens, values }: Text, start: number): number {
  let places = 0;
  for (let at = start; at < Math.min(tokens.length, start + 2 * REACH_TOKENS); at += 1) {
    const token = tokens[at];
    if (!token || token.text === ';') break;
    if (token.kind === 'mark') continue;
    if (index.places.has(token.key)) places += 1;
    else if (
      !index.moves.has(token.key) &&
      !index.passed.has(token.key) &&
      !index.is.has(token.key) &&
      token.kind !== 'number' &&
      values[at] === undefined
    )
      break;
  }
  return places;
}

const PLACES = 3;
const WORDS_OF_LIST = 4;

/** Four words in a row or more, with commas between or none: a recovery phrase. */
function listFrom({ index, tokens }: Text, start: number): boolean {
  let words = 0;
  for (let at = start; at < tokens.length && words < WORDS_OF_LIST; at += 1) {
    const token = tokens[at];
    if (!token || (token.kind === 'mark' && !/^[,\-–:/|]$/.test(token.text))) return false;
    if (token.kind === 'number' && token.text.length > 2) return false;
    if (token.kind !== 'word') continue;
    if (words === 0 && index.is.has(token.key)) continue;
    if (index.noValue.has(token.key) || index.not.has(token.key)) return false;
    if (index.passed.has(token.key)) {
      if (words === 0) return false;
      continue;
    }
    words += 1;
  }
  return words >= WORDS_OF_LIST;
}

/** Whether the token at `at` ends a sentence. "Kennw. Lampe44": a mark right behind the name does not. */
const stops = (tokens: readonly SecretToken[], at: number, end: number): boolean =>
  STOPS.has(tokens[at]?.text ?? '') &&
  !(at < end + 3 && tokens.slice(end, at).every(({ kind }) => kind === 'mark'));

/** What was read on the way from a name to its value, which decides what may be one. */
interface Search {
  readonly text: Text;
  readonly name: NameOfSecret;
  /** Where the name ends, and its last word. */
  readonly end: number;
  readonly word: SecretToken;
  readonly denied: boolean;
  /** Something was said that a value does not follow. */
  doubted: boolean;
  /** A colon or an equals sign came. */
  marked: boolean;
  /** A word for "is" came. */
  said: boolean;
  words: number;
  /** Words that are no article and the like. */
  others: number;
}
/** Whether there is a value, or the token to go on with. */
type Outcome = boolean | number;

const IS_MARK = /^[:=]$/;

function overNumber(search: Search, at: number, token: SecretToken, written: WrittenNumber): Outcome {
  const { text, name, end, word } = search;
  const { index, tokens } = text;
  const joiner = tokens[at - 1];
  const close = search.words === 0 || IS_MARK.test(joiner?.text ?? '');
  // "the code that came by text was 662 019"
  const joined = close || (joiner !== undefined && index.is.has(joiner.key));
  const own = joined && !tokens.slice(end, at).some(({ key }) => isOther(index, key));
  if (isCode(text, at, name.digits, close) && (!name.close || search.others === 0 || own)) return true;
  if (search.words === 0) {
    // "Tr0ub4dor" and "4you2see" are words of a kind.
    if (name.value !== 'digits' && !search.doubted && looksMade(chunkAt(tokens, at).text)) return true;
    // "PUK1 = 8844 2211"
    if (glued(word, token) && IS_MARK.test(tokens[written.next]?.text ?? '')) return written.next;
    // "PIN 12 of the connector"
    if (name.digits === 4 && written.digits.length <= 2 && token.kind === 'number') return false;
  }
  search.words += 1;
  search.others += 1;
  return written.next;
}

function overMark(search: Search, at: number, token: SecretToken): Outcome {
  const { text, name } = search;
  const { index, tokens, values } = text;
  // Behind a comma begins something else, unless it is the value itself.
  const next = values[at + 1] !== undefined || looksMade(chunkAt(tokens, at + 1).text);
  if (token.text === ',' && (search.doubted || !next))
    return !search.denied && isSaidNext(text, at + 1, name.digits);
  if (IS_MARK.test(token.text)) search.marked ||= search.others === 0;
  // "the passcode's 4711"
  if (search.words === 0 && /^['’]$/.test(token.text) && glued(tokens[at - 1], token)) return at + 1;
  const quoted = QUOTES.has(token.text) && search.words === 0 && /^(said|bare)$/.test(name.value);
  if (quoted && tokens[at + 1]?.kind === 'word' && !index.noValue.has(tokens[at + 1]?.key ?? ''))
    return !search.doubted;
  if (!QUOTES.has(token.text) && !JOINERS.has(token.text)) search.words += 1;
  return at + 1;
}

/** "The password is swordfish." A word with more behind it says something of the password. */
function isPasswordWord(search: Search, chunk: string, next: number): boolean {
  const { text, name, said } = search;
  const { index, tokens } = text;
  const behind = tokens[next];
  const ends = !behind || behind.kind === 'mark' || /^[.,;:!?)]$/.test(tokens[next - 1]?.text ?? '');
  const spelt = tokens.slice(next, next + 6).some(({ key }) => index.spelling.has(key));
  const hyphened = /^\p{L}{2,}(?:-\p{L}{2,})+$/u.test(chunk);
  return (
    (said || name.value === 'bare' || (hyphened && name.kind === 'password')) &&
    /^(said|bare)$/.test(name.value) &&
    (ends || spelt)
  );
}

function overWord(search: Search, at: number, token: SecretToken): Outcome {
  const { text, name } = search;
  const { index, tokens } = text;
  if (search.others === 0 && index.is.has(token.key)) {
    search.said = true;
    return at + 1;
  }
  // "The password is on the note: Pear7": it is given after all.
  const given = !search.denied && name.value !== 'digits' && IS_MARK.test(tokens[at - 1]?.text ?? '');
  if (given && looksMade(chunkAt(tokens, at).text)) return true;
  const plain = index.noValue.has(token.key) || isArticle(tokens, at);
  const passed =
    index.passed.has(token.key) ||
    index.is.has(token.key) ||
    (name.kind === 'pattern' && index.moves.has(token.key));
  if (!search.doubted && search.others === 0) {
    if (name.kind === 'pattern' && isShapeAt(text, at))
      return search.said || search.marked || search.words > 0 || name.value !== 'digits';
    if (name.value !== 'digits') {
      const { text: chunk, next } = chunkAt(tokens, at);
      if (looksMade(chunk)) return true;
      const own = !plain && !passed;
      if (own && ((search.marked && name.value !== 'mixed') || isPasswordWord(search, chunk, next)))
        return true;
    }
  }
  search.doubted ||= plain && !passed;
  search.words += 1;
  if (!passed) search.others += 1;
  return at + 1;
}

/** A value behind the name at [start, end). */
function valueBehind(text: Text, start: number, end: number, name: NameOfSecret): boolean {
  const { index, tokens, values } = text;
  const word = tokens[end - 1];
  if (!word) return false;
  const denied = [tokens[start - 1], tokens[start - 2]].some((one) => one && index.not.has(one.key));
  if (!denied && name.value === 'list') {
    if (name.close) return IS_MARK.test(tokens[end]?.text ?? '') && listFrom(text, end);
    return listFrom(text, end) || codesBehind(text, start, end, name);
  }
  if (!denied && name.kind === 'pattern' && placesFrom(text, end) >= PLACES) return true;
  const read = { doubted: denied, marked: false, said: false, words: 0, others: 0 };
  const search: Search = { text, name, end, word, denied, ...read };
  const last = Math.min(tokens.length, end + REACH_TOKENS);
  for (let at = end; at < last; ) {
    const token = tokens[at];
    if (!token || token.from - word.to > REACH_CHARACTERS || stops(tokens, at, end)) return false;
    const written = values[at];
    let outcome: Outcome;
    if (written && (token.kind === 'number' || written.digits.length >= 3))
      outcome = overNumber(search, at, token, written);
    else outcome = token.kind === 'word' ? overWord(search, at, token) : overMark(search, at, token);
    if (typeof outcome === 'boolean') return outcome;
    at = outcome;
  }
  return false;
}

/** "PUK is on the card, it is 55667788" */
function isSaidNext(text: Text, start: number, least: number): boolean {
  const { index, tokens } = text;
  let at = start;
  while (at < start + 4 && (index.is.has(tokens[at]?.key ?? '') || index.passed.has(tokens[at]?.key ?? '')))
    at += 1;
  return at > start && index.is.has(tokens[at - 1]?.key ?? '') && isCode(text, at, least, true);
}

/** The same for names whose value is a list of words: their codes are looked for as for others. */
const codesBehind = (text: Text, start: number, end: number, name: NameOfSecret): boolean =>
  valueBehind(text, start, end, { ...name, value: 'marked' });

/** A number before the name at `start`: "4711 is the passcode", "1234 (PIN)". */
function valueBefore(text: Text, start: number, end: number, name: NameOfSecret): boolean {
  const { index, tokens, begins } = text;
  const word = tokens[start];
  if (!word) return false;
  for (let at = start - 1; at >= Math.max(0, start - 6); at -= 1) {
    const token = tokens[at];
    if (!token || word.from - token.to > REACH_CHARACTERS) return false;
    if (/^(said|bare)$/.test(name.value) && isQuoted(tokens, at)) return true;
    const begin = begins.get(at + 1);
    if (begin !== undefined && isCode(text, begin, Math.max(4, name.digits), false)) {
      const touches = at === start - 1;
      // "Box 2210 passcode unknown": the number is not the passcode's.
      return !(touches && index.noValue.has(tokens[end]?.key ?? ''));
    }
    if (token.kind === 'number') return false;
    const isJoiner =
      token.kind === 'mark' &&
      token.text !== ',' &&
      (JOINERS.has(token.text) || QUOTES.has(token.text) || token.text === ')');
    if (!isJoiner && !index.passed.has(token.key) && !index.is.has(token.key)) return false;
  }
  return false;
}

/** "open sesame 12": a quotation that ends at a token. */
const isQuoted = (tokens: readonly SecretToken[], end: number): boolean =>
  QUOTES.has(tokens[end]?.text ?? '') &&
  tokens.slice(Math.max(0, end - 8), Math.max(0, end - 1)).some(({ text }) => QUOTES.has(text));

function named(text: Text): SecretKind | null {
  const { index, tokens } = text;
  for (let start = 0; start < tokens.length; start += 1) {
    if (tokens[start]?.kind !== 'word') continue;
    const found = index.names.at(tokens, start);
    const end = found[0]?.end ?? start;
    const before = [tokens[start - 1], tokens[start - 2]].some((one) => one && index.others.has(one.key));
    const behind = index.others.has(tokens[end]?.key ?? '');
    // The longest; it may be the name of several.
    for (const { of: name, end: itsEnd } of found) {
      if (itsEnd !== end) break;
      if ((name.close || name.value === 'digits') && (before || behind)) continue;
      if (valueBehind(text, start, end, name) || valueBefore(text, start, end, name)) return name.kind;
    }
  }
  return null;
}

/** Which tokens begin a phrase, and which belong to one. */
function marked(text: Text, phrases: SecretIndex['opens']): { from: number; end: number }[] {
  return text.tokens.flatMap((token, from) => {
    const [longest] = token.kind === 'word' ? phrases.at(text.tokens, from) : [];
    return longest ? [{ from, end: longest.end }] : [];
  });
}

/** True where nothing but articles, pronouns and marks stands in [from, to), and no sentence ends. */
const onlyPassed = ({ index, tokens }: Text, from: number, to: number): boolean =>
  from <= to &&
  to - from <= 8 &&
  tokens
    .slice(from, to)
    .every(
      ({ kind, text, key }) =>
        (kind === 'mark' && text !== ';' && text !== '!') ||
        (index.passed.has(key) && !index.and.has(key)) ||
        index.is.has(key),
    );

type Span = { from: number; end: number };

/** Something said of a lock, with what gets past it: "unlocks with 4711", "type 0852 to get in", "draw a Z past the lock". */
function unlocked(text: Text): SecretKind | null {
  const { tokens, values } = text;
  const opens = marked(text, text.index.opens);
  const logs = marked(text, text.index.logs);
  for (const { end } of logs) {
    let strange = false;
    for (let at = end; at < Math.min(tokens.length, end + REACH_TOKENS); ) {
      const { text: chunk, next } = chunkAt(tokens, at);
      if (looksMade(chunk) && (!strange || STRANGE.test(chunk)) && !chunk.includes('@')) return 'password';
      if (stops(tokens, at, end)) break;
      // The account's own name may stand before what opens it, which then has a mark in it.
      strange ||= !chunk.includes('@') && !onlyPassed(text, at, at + 1);
      at = chunk.includes('@') ? next : at + 1;
    }
  }
  if (opens.length === 0) return null;
  for (const { end } of opens)
    for (let at = end; at < tokens.length && onlyPassed(text, end, at); at += 1)
      if (/^\p{L}{3,}[0-9]{2,}$/u.test(chunkAt(tokens, at).text)) return 'password';
  const types = marked(text, text.index.types);
  const draws = marked(text, text.index.draws);
  const near = (list: readonly Span[], from: number, to: number): boolean =>
    list.some(({ from: start, end }) => onlyPassed(text, end, from) || onlyPassed(text, to, start));
  const around = (list: readonly Span[], from: number, to: number): boolean =>
    list.some(
      ({ from: start, end }) =>
        (end <= from && from - end <= LOCK_REACH && !stopBetween(tokens, end, from)) ||
        (start >= to && start - to <= LOCK_REACH && !stopBetween(tokens, to, start)),
    );
  let read = 0;
  for (const [at, value] of values.entries()) {
    if (!value || at < read) continue;
    read = value.next;
    if (!isCode(text, at, 4, false)) continue;
    if (near(opens, at, value.next)) return 'passcode';
    if (near([...types, ...draws], at, value.next) && around(opens, at, value.next)) return 'passcode';
  }
  for (const { from, end } of draws) {
    if (!around(opens, from, end)) continue;
    const [first, last] = [Math.max(0, from - 4), Math.min(tokens.length, end + 5)];
    for (let at = first; at < last; at += 1) if (isShapeAt(text, at)) return 'pattern';
    if (placesFrom(text, end) >= PLACES) return 'pattern';
    const told = opens.some(
      (open) => open.from >= end && open.from - end <= LOCK_REACH && placesFrom(text, open.end) >= PLACES,
    );
    if (told) return 'pattern';
  }
  return null;
}

const stopBetween = (tokens: readonly SecretToken[], from: number, to: number): boolean =>
  tokens.slice(from, to).some(({ text }) => /^[.;!]$/.test(text));

/** An address and, glued behind it, what opens it: "moss@mail.example / Sunflower99". */
const isCredential = (plain: string): boolean =>
  plain.split(/\s+/).some((word, index, words) => {
    if (!/^[^@]{1,64}@[^@]{1,200}$/.test(word)) return false;
    const [, behind = ''] = word.split(/[:|/](.*)/s);
    const mark = words[index + 1] ?? '';
    const next = /^[:|/]$/.test(mark) ? (words[index + 2] ?? '') : '';
    return looksMade(behind) || looksMade(next);
  });

/** What the text seems to hold that must not be kept; null when nothing was recognised. Never throws. */
export function findSecret(text: string, words: SecretWords): SecretKind | null {
  const index = secretIndexOf(words);
  const { plain, tokens } = secretTokens(text, (key) => index.names.has(key));
  const read = textOf(index, tokens);
  return (
    named(read) ??
    unlocked(read) ??
    (hasCardNumber(tokens, index.longNumbers) ? 'card' : null) ??
    (isCredential(plain) ? 'password' : null)
  );
}

/** What it is called, for a refusal. */
export const secretWords: Readonly<Record<SecretKind, Message>> = {
  passcode: say`a passcode or PIN`,
  pattern: say`an unlock pattern`,
  password: say`a password`,
  recovery: say`a recovery or one-time code`,
  card: say`a card number`,
};
