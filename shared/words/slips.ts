/** Words that are one slip of the finger away: a letter too many, too few, wrong, or two swapped. */

/** Shorter words are too often another word when one letter changes. */
const SHORTEST = 6;

/** Rows of a keyboard; neighbours in a row are hit for each other, as are vowels, and letters that sound alike. */
const rows = ['qwertyuiop', 'asdfghjkl', 'zxcvbnm', 'qwertzuiop', 'yxcvbnm', 'azertyuiop'];
const alike = ['aeiouy', 'ck', 'sz', 'vf', 'vw', 'dt', 'bp'];
const mistaken = (a: string, b: string): boolean =>
  alike.some((letters) => letters.includes(a) && letters.includes(b)) ||
  rows.some((row) => row.includes(a) && row.includes(b) && Math.abs(row.indexOf(a) - row.indexOf(b)) === 1);

/**
 * True when the two differ by a letter too many or too few, two neighbours swapped, or one letter typed for another that is
 * near it on a keyboard or sounds like it. Equal words do not.
 */
function oneSlip(a: string, b: string): boolean {
  const [short, long] = a.length <= b.length ? [a, b] : [b, a];
  if (long.length - short.length > 1) return false;
  let start = 0;
  while (start < short.length && short[start] === long[start]) start += 1;
  if (short.length < long.length) return short.slice(start) === long.slice(start + 1);
  if (start === short.length) return false;
  if (short.slice(start + 1) === long.slice(start + 1))
    return mistaken(short[start] ?? '', long[start] ?? '');
  return (
    short[start] === long[start + 1] &&
    short[start + 1] === long[start] &&
    short.slice(start + 2) === long.slice(start + 2)
  );
}

/** Each way to leave one letter out, the first kept: people seldom slip on it, and it keeps many words apart. */
function* without(word: string): Generator<string> {
  yield word;
  for (let i = 1; i < word.length; i += 1) yield word.slice(0, i) + word.slice(i + 1);
}

/** Finds listed words of six letters or more that a typed word is one slip away from; the first letter must be right. */
export class Slips {
  private readonly byRest = new Map<string, string[]>();

  constructor(words: Iterable<string>) {
    for (const word of words) {
      if (word.length < SHORTEST) continue;
      for (const rest of without(word)) {
        const listed = this.byRest.get(rest);
        if (listed) listed.push(word);
        else this.byRest.set(rest, [word]);
      }
    }
  }

  /** Listed words one slip away, none twice. */
  near(typed: string): string[] {
    if (typed.length < SHORTEST - 1 || typed.length > 40) return [];
    const found = new Set<string>();
    for (const rest of without(typed)) {
      for (const word of this.byRest.get(rest) ?? []) if (oneSlip(word, typed)) found.add(word);
    }
    return [...found];
  }
}
