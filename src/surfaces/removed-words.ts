/** Words taken out of a text that a platform shows, however it drew them. Pure. */

/** A part of a text that stands for letters, from..to in it. */
interface Unit {
  letters: string;
  from: number;
  to: number;
}

const letters = (text: string): string =>
  text
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]/gu, '');

const named: Readonly<Record<string, string>> = { amp: '&', lt: '<', gt: '>', quot: '"' };
/** What an entity of HTML stands for, as the renderer writes them. */
function entity(text: string): string {
  const name = text.slice(1, -1);
  return name.startsWith('#') ? String.fromCodePoint(Number(name.slice(1)) || 32) : (named[name] ?? '');
}

const PARTS = { plain: /./gsu, html: /<[^>]*>|&(?:#\d{1,6}|[a-z]{2,5});|./gsu } as const;
export type Markup = keyof typeof PARTS;

function unitsOf(text: string, markup: Markup): Unit[] {
  return [...text.matchAll(PARTS[markup])].flatMap(({ 0: part, index }) => {
    const tag = markup === 'html' && part.length > 1;
    const shown = tag ? (part.startsWith('<') ? '' : entity(part)) : part;
    const found = letters(shown);
    return found ? [{ letters: found, from: index, to: index + part.length }] : [];
  });
}

/** A text that was cut short still begins so. */
const BEGINNING = 16;

/** The first place of some letters, in letters; of a text that was cut, as far as it goes. */
function placeOf(all: string, sought: string, from: number): { at: number; length: number } | null {
  const whole = all.indexOf(sought, from);
  if (whole >= 0) return { at: whole, length: sought.length };
  if (sought.length <= BEGINNING) return null;
  const at = all.indexOf(sought.slice(0, BEGINNING), from);
  if (at < 0) return null;
  let length = BEGINNING;
  while (at + length < all.length && all[at + length] === sought[length]) length += 1;
  return { at, length };
}

const isLetter = (sign: string | undefined): boolean => sign !== undefined && /[\p{L}\p{N}]/u.test(sign);

/** Ranges of the text that show the words; a word within a longer one is none. */
function rangesOf(text: string, words: readonly string[], markup: Markup): { from: number; to: number }[] {
  const units = unitsOf(text, markup);
  const all = units.map((one) => one.letters).join('');
  /** Of each letter the unit that it is in. */
  const owner = units.flatMap((one, index) => Array.from({ length: one.letters.length }, () => index));
  const ranges: { from: number; to: number }[] = [];
  for (const word of words) {
    const sought = letters(word);
    if (!sought) continue;
    for (let found = placeOf(all, sought, 0); found; found = placeOf(all, sought, found.at + found.length)) {
      const first = units[owner[found.at] ?? -1];
      const last = units[owner[found.at + found.length - 1] ?? -1];
      if (!first || !last) break;
      const within = isLetter(text[first.from - 1]) || isLetter(text[last.to]);
      if (!within || markup === 'html') ranges.push({ from: first.from, to: last.to });
    }
  }
  return ranges.sort((a, b) => a.from - b.from);
}

/** The text with `instead` in the place of each of the words; null where it has none of them. `instead` is in the text's markup. */
export function wordsTakenOut(
  text: string,
  words: readonly string[],
  instead: string,
  markup: Markup = 'plain',
): string | null {
  const ranges = rangesOf(text, words, markup);
  if (!ranges.length) return null;
  let made = '';
  let at = 0;
  for (const { from, to } of ranges) {
    if (from < at) {
      at = Math.max(at, to);
      continue;
    }
    made += text.slice(at, from) + instead;
    at = to;
  }
  return made + text.slice(at);
}

export const holdsWords = (text: string, words: readonly string[], markup: Markup = 'plain'): boolean =>
  rangesOf(text, words, markup).length > 0;
