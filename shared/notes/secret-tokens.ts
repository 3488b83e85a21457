/** A text as words, numbers and marks, folded so that spelling, alphabets' digits and invisible characters do not hide a secret. */

export interface SecretToken {
  kind: 'word' | 'number' | 'mark';
  text: string;
  /** Without case and accents. */
  key: string;
  /** Place in the folded text. */
  from: number;
  to: number;
  /** Place in the text as it was typed. */
  start: number;
  end: number;
}

/** Zeros of the decimal digits that people type besides the Latin ones. */
const ZEROS = [0x0660, 0x06f0, 0x0966, 0x09e6, 0x0e50] as const;
const latinDigit = (character: string): string => {
  const code = character.codePointAt(0) ?? 0;
  const zero = ZEROS.find((start) => code >= start && code < start + 10);
  return zero === undefined ? character : String(code - zero);
};
/** Letters that do not come apart into a letter and an accent. */
const PLAIN: Readonly<Record<string, string>> = { ß: 'ss', ı: 'i', ł: 'l', ø: 'o', æ: 'ae', đ: 'd' };

/** A word as it is compared: lower case, without accents. */
export const foldWord = (text: string): string =>
  text
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[ßıłøæđ]/g, (letter) => PLAIN[letter] ?? letter);

/** Digits and marks that stand in for letters: `p4ssw0rd`. */
const STAND_INS: Readonly<Record<string, string>> = {
  '0': 'o',
  '1': 'i',
  '3': 'e',
  '4': 'a',
  '5': 's',
  '7': 't',
  '@': 'a',
  $: 's',
};

/** The text folded, and for each of its UTF-16 units the place that it came from. */
function folded(text: string): { plain: string; places: number[] } {
  let plain = '';
  const places: number[] = [];
  let at = 0;
  for (const character of text) {
    const made = character
      .normalize('NFKC')
      .normalize('NFD')
      .replace(/[\p{M}\p{Cf}]/gu, '')
      .replace(/\p{Nd}/gu, latinDigit);
    for (let unit = 0; unit < made.length; unit += 1) places.push(at);
    plain += made;
    at += character.length;
  }
  places.push(at);
  return { plain, places };
}

/** Tokens that are one word in another spelling, as one: `P I N`, `p4ssw0rd`, `PlN`. */
function joinedUp(tokens: readonly SecretToken[], isName: (key: string) => boolean): SecretToken[] {
  const made: SecretToken[] = [];
  for (let at = 0; at < tokens.length; ) {
    const first = tokens[at];
    if (!first) break;
    const end = spelt(tokens, at, isName) ?? disguised(tokens, at, isName);
    if (end) {
      const last = tokens[end.next - 1] ?? first;
      made.push({ ...first, kind: 'word', text: end.key, key: end.key, to: last.to, end: last.end });
      at = end.next;
    } else {
      made.push(first);
      at += 1;
    }
  }
  return made;
}

const LONGEST_NAME = 12;

/** "P I N", "P.I.N." */
function spelt(tokens: readonly SecretToken[], start: number, isName: (key: string) => boolean) {
  let key = '';
  let next = start;
  let best: { key: string; next: number } | undefined;
  while (key.length < LONGEST_NAME && tokens[next]?.kind === 'word' && tokens[next]?.text.length === 1) {
    key += tokens[next]?.key;
    next += 1;
    if (key.length >= 3 && isName(key)) best = { key, next };
    if (/^[.\-_]$/.test(tokens[next]?.text ?? '')) next += 1;
  }
  return best;
}

/** "p4ssw0rd", "PlN". */
function disguised(tokens: readonly SecretToken[], start: number, isName: (key: string) => boolean) {
  const first = tokens[start];
  if (!first || first.kind === 'mark') return undefined;
  if (/^[A-Z]+l[A-Z]+$/.test(first.text)) {
    const key = foldWord(first.text.replace('l', 'i'));
    if (isName(key)) return { key, next: start + 1 };
  }
  let key = '';
  let next = start;
  let odd = false;
  let best: { key: string; next: number } | undefined;
  for (; key.length < LONGEST_NAME; next += 1) {
    const token = tokens[next];
    if (!token || (next > start && tokens[next - 1]?.to !== token.from)) break;
    if (token.kind !== 'word') odd = true;
    if (token.kind === 'mark' && STAND_INS[token.text] === undefined) break;
    key +=
      token.kind === 'word'
        ? token.key
        : [...token.text].map((character) => STAND_INS[character] ?? character).join('');
    if (odd && next > start && key.length >= 4 && isName(key)) best = { key, next: next + 1 };
  }
  return best;
}

/** The text in tokens. `isName` says which words are looked for in disguise: single words that secrets are called by. */
export function secretTokens(
  text: string,
  isName: (key: string) => boolean,
): { plain: string; tokens: SecretToken[] } {
  const { plain, places } = folded(text);
  const tokens = [...plain.matchAll(/[\p{L}]+|[0-9]+|[^\s]/gu)].map((match): SecretToken => {
    const [word] = match;
    const to = match.index + word.length;
    return {
      kind: /^[0-9]/.test(word) ? 'number' : /^\p{L}/u.test(word) ? 'word' : 'mark',
      text: word,
      key: foldWord(word),
      from: match.index,
      to,
      start: places[match.index] ?? 0,
      end: places[to] ?? text.length,
    };
  });
  return { plain, tokens: joinedUp(tokens, isName) };
}

/** True when the tokens touch. */
export const glued = (left: SecretToken | undefined, right: SecretToken | undefined): boolean =>
  left !== undefined && right !== undefined && left.to === right.from;
