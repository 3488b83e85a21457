/** Cuts a text into words, folded so that capitals, accents and kinds of apostrophe make no difference. */

export interface Token {
  /** Folded: lower case, no marks, no apostrophes; `ß` is `ss`. */
  word: string;
  /** Place in the text as it was given, in UTF-16 units: from <= i < to. */
  from: number;
  to: number;
  /** What stands before it: nothing that parts, a comma, a mark that leads on (colon, dash, bracket), or an end. */
  after: 'space' | 'comma' | 'mark' | 'question' | 'end';
}

/** One word, folded as in {@link Token}. */
export const fold = (word: string): string =>
  word
    .normalize('NFKD')
    .replace(/[\p{M}'’ʼ‘`´]/gu, '')
    .toLowerCase()
    .replaceAll('ß', 'ss')
    .replaceAll('œ', 'oe')
    .replaceAll('æ', 'ae');

/** A listed word in each way it is typed: `aufgebläht` is `aufgeblaht` and `aufgeblaeht`. */
export function spellings(word: string): string[] {
  const expanded = word
    .normalize('NFC')
    .toLowerCase()
    .replace(/[äöü]/g, (letter) => ({ ä: 'ae', ö: 'oe', ü: 'ue' })[letter] ?? letter);
  return [...new Set([fold(word), fold(expanded)])];
}

const WORD = /[\p{L}\p{N}][\p{L}\p{N}\p{M}]*(?:['’ʼ‘`´]\p{L}[\p{L}\p{M}]*)*/gu;
/** French words that lose their vowel before the next one: `l'eau`, `n'est`, `qu'il`. */
const ELIDED = /^(?:[lndscjmt]|qu)['’ʼ‘`´](?=\p{L}{2})/iu;

function between(text: string): Token['after'] {
  if (/[\n\r;!.…]/.test(text)) return 'end';
  if (text.includes('?')) return 'question';
  if (text.includes(',')) return 'comma';
  return /[^\s]/.test(text) ? 'mark' : 'space';
}

/** The words of a text, in order. Any text; a point between digits parts nothing. */
export function tokensOf(text: string): Token[] {
  const tokens: Token[] = [];
  let last = 0;
  const push = (raw: string, from: number) => {
    const word = fold(raw);
    if (word === '') return;
    const mark = text.slice(last, from);
    // "0.9 A" is one number.
    const within = /^[.,]$/.test(mark) && /\d/.test(text[last - 1] ?? '') && /^\d/.test(raw);
    tokens.push({ word, from, to: from + raw.length, after: within ? 'space' : between(mark) });
    last = from + raw.length;
  };
  for (const match of text.matchAll(WORD)) {
    const elided = ELIDED.exec(match[0])?.[0].length ?? 0;
    if (elided) push(match[0].slice(0, elided - 1), match.index);
    if (elided) last = match.index + elided;
    push(match[0].slice(elided), match.index + elided);
  }
  return tokens;
}
