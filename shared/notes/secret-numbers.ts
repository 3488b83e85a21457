/** Numbers as people write them in notes: in digits, in groups, spelt out digit by digit or put together in words. */
import { glued, type SecretToken } from './secret-tokens.ts';

export interface WrittenNumber {
  /** Its digits; those of tens and teens in words stand as 0. */
  digits: string;
  /** The token behind it. */
  next: number;
  /** A measured value, a date or a time: never a code. */
  measured: boolean;
  /** Two groups with a mark between, `90/21`: a code only right at the name of one. */
  loose: boolean;
  /** Said in words, at least in part. */
  worded: boolean;
}

/** At most this many groups make one number. */
const GROUPS = 20;
const HYPHEN = /^[-–—_>→]$/;
const MARK = /^[.,:/]$/;
const SPACED = /^[-–—_./·*>→]$/;

/** "47 11" and "1 2 3 4" are one number, "12 3110" are two. */
const joins = (sizes: readonly number[], group: SecretToken): boolean =>
  group.text.length === sizes[0] && group.text.length <= 6;

/** "4711", "47 11", "1-2-3-6", "4 - 7 - 1 - 1", "0.345", "2026-03-02", "09:30": the number in digits that begins at a token. */
export function numberAt(tokens: readonly SecretToken[], start: number): WrittenNumber {
  let digits = tokens[start]?.text ?? '';
  let next = start + 1;
  let marked = false;
  let spaced = false;
  const sizes = [digits.length];
  while (sizes.length < GROUPS) {
    const [mark, number] = [tokens[next], tokens[next + 1]];
    if (mark?.kind === 'number' && !glued(tokens[next - 1], mark)) {
      if (marked || !joins(sizes, mark)) break;
      spaced = true;
      next += 1;
    } else if (mark?.kind === 'mark' && number?.kind === 'number') {
      const touching = glued(tokens[next - 1], mark) && glued(mark, number);
      const apart = SPACED.test(mark.text) && joins(sizes, number) && !marked;
      const listed = mark.text === ',' && sizes.every((size) => size === 1) && number.text.length === 1;
      if (!(touching && (HYPHEN.test(mark.text) || MARK.test(mark.text))) && !apart && !listed) break;
      // 3.85 and 0,345 are measured; 09:30 is a time; 2/3/2026 a date.
      if (touching && MARK.test(mark.text)) marked = true;
      next += 2;
    } else break;
    const group = tokens[next - 1]?.text ?? '';
    digits += group;
    sizes.push(group.length);
  }
  const even = sizes.every((size) => size === sizes[0]);
  // "2.5.8.0" is no measure.
  const single = even && sizes[0] === 1 && sizes.length >= 4;
  const loose = marked && !single && even && !spaced && sizes.length >= 2 && digits.length >= 4;
  // ISO 8601: a calendar date.
  const date = sizes.join() === '4,2,2' && /^(19|20)/.test(digits);
  return { digits, next, measured: (marked && !single && !loose) || date, loose, worded: false };
}

/** The words for numbers of one language, folded. */
export interface NumberWords {
  digits: ReadonlyMap<string, string>;
  plurals: ReadonlyMap<string, string>;
  /** Of two digits: teens and tens. */
  teens: ReadonlySet<string>;
  tens: ReadonlySet<string>;
  large: ReadonlySet<string>;
  and: ReadonlySet<string>;
  times: readonly { words: readonly string[]; count: number }[];
}

type Atom = { kind: 'digit'; digit: string } | { kind: 'teen' | 'ten' | 'large' | 'and' };

function atomOf(words: NumberWords, key: string): Atom | undefined {
  const digit = words.digits.get(key);
  if (digit !== undefined) return { kind: 'digit', digit };
  if (words.teens.has(key)) return { kind: 'teen' };
  if (words.tens.has(key)) return { kind: 'ten' };
  if (words.large.has(key)) return { kind: 'large' };
  return words.and.has(key) ? { kind: 'and' } : undefined;
}

/** "siebenundvierzig": a word put together from words for numbers, or undefined. */
function atomsIn(words: NumberWords, key: string): Atom[] | undefined {
  const whole = atomOf(words, key);
  if (whole) return whole.kind === 'and' ? undefined : [whole];
  if (key.length < 6 || key.length > 60) return undefined;
  const atoms: Atom[] = [];
  for (let at = 0; at < key.length; ) {
    let found: { atom: Atom; length: number } | undefined;
    for (let length = Math.min(14, key.length - at); length >= 1 && !found; length -= 1) {
      const atom = atomOf(words, key.slice(at, at + length));
      if (atom) found = { atom, length };
    }
    if (!found) return undefined;
    atoms.push(found.atom);
    at += found.length;
  }
  return atoms[0]?.kind === 'and' ? undefined : atoms;
}

/** The digits that atoms make: a ten and a digit are two, with or without "and" between. */
function digitsOf(atoms: readonly Atom[]): string {
  let digits = '';
  for (let at = 0; at < atoms.length; at += 1) {
    const atom = atoms[at];
    if (!atom || atom.kind === 'and') continue;
    if (atom.kind === 'digit') {
      const [and, ten] = [atoms[at + 1], atoms[at + 2]];
      // "sieben und vierzig"
      if (and?.kind === 'and' && ten?.kind === 'ten') {
        digits += '00';
        at += 2;
      } else digits += atom.digit;
      continue;
    }
    digits += '00';
    if (atom.kind !== 'ten') continue;
    const behind = atoms[at + 1]?.kind === 'and' ? 2 : 1;
    const unit = atoms[at + behind];
    // "forty-seven", "soixante-dix"
    if (unit?.kind === 'digit' && unit.digit !== '0') at += behind;
    else if (unit?.kind === 'teen') at += behind;
  }
  return digits;
}

const LONGEST_RUN = 48;

/** The number in words, or in words and digits, that begins at a token; undefined where it has fewer than two parts. */
export function wordedNumberAt(
  words: NumberWords,
  tokens: readonly SecretToken[],
  start: number,
  passed: ReadonlySet<string>,
): WrittenNumber | undefined {
  const atoms: Atom[] = [];
  let next = start;
  /** Words for numbers, and whether one of them is surely meant: "on" is ten in Turkish. */
  let said = 0;
  let sure = false;
  let mixed = false;
  for (let at = start; at < Math.min(tokens.length, start + LONGEST_RUN); ) {
    const token = tokens[at];
    if (!token) break;
    if (token.kind === 'mark') {
      if (!/^[-–—,/._>→]$/.test(token.text) || at === start) break;
      at += 1;
      continue;
    }
    // "four zeros"
    const many = words.plurals.get(tokens[at + 1]?.key ?? '');
    const count = many === undefined ? 0 : Number(words.digits.get(token.key) ?? token.text);
    if (many !== undefined && count >= 2 && count <= 8) {
      for (let each = 0; each < count; each += 1) atoms.push({ kind: 'digit', digit: many });
      said += 2;
      at += 2;
      next = at;
      continue;
    }
    if (token.kind === 'number') {
      if (token.text.length > 2) break;
      mixed = true;
      atoms.push(...[...token.text].map((digit): Atom => ({ kind: 'digit', digit })));
      at += 1;
      next = at;
      continue;
    }
    const times = words.times.find(({ words: own }) =>
      own.every((one, index) => tokens[at + index]?.key === one),
    );
    if (times) {
      let behind = at + times.words.length;
      while (passed.has(tokens[behind]?.key ?? '') && behind - at < 4) behind += 1;
      const key = tokens[behind]?.key ?? '';
      const digit = words.digits.get(key) ?? (/^\d$/.test(key) ? key : undefined);
      if (digit === undefined) break;
      for (let count = 0; count < times.count; count += 1) atoms.push({ kind: 'digit', digit });
      said += 2;
      at = behind + 1;
      next = at;
      continue;
    }
    const made = atomsIn(words, token.key);
    if (made) {
      atoms.push(...made);
      said += 1;
      sure ||= token.key.length >= 3 && made[0]?.kind === 'digit';
      at += 1;
      next = at;
      continue;
    }
    if (atoms.length === 0 || !words.and.has(token.key)) break;
    atoms.push({ kind: 'and' });
    at += 1;
  }
  const digits = digitsOf(atoms);
  return said > 0 && (said > 1 || sure || !mixed) && digits.length > 1
    ? { digits, next, measured: false, loose: false, worded: true }
    : undefined;
}
