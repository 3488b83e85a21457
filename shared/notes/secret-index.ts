/** The words of all languages of the pack, folded and indexed: what the recogniser of secrets looks up. */
import type { SecretKind, SecretName, SecretWords } from '../../knowledge/secrets.ts';
import type { NumberWords } from './secret-numbers.ts';
import { foldWord, type SecretToken } from './secret-tokens.ts';

interface PhraseWord {
  text: string;
  /** Any letters may stand before, or behind it. */
  before: boolean;
  behind: boolean;
}
interface Phrase<T> {
  words: readonly PhraseWord[];
  of: T;
}
interface PhraseFound<T> {
  of: T;
  /** The token behind the phrase. */
  end: number;
  /** How many letters it names: the longest says what is meant. */
  length: number;
}

const phraseWord = (text: string): PhraseWord => ({
  text: foldWord(text.replace(/^\*|\*$/g, '')),
  before: text.startsWith('*'),
  behind: text.endsWith('*'),
});
const matches = ({ text, before, behind }: PhraseWord, key: string): boolean =>
  before ? (behind ? key.includes(text) : key.endsWith(text)) : behind ? key.startsWith(text) : key === text;

/** Phrases, looked up at a token. */
class Phrases<T> {
  private readonly whole = new Map<string, Phrase<T>[]>();
  private readonly open: Phrase<T>[] = [];

  add(text: string, of: T): void {
    const words = text.split(' ').map(phraseWord);
    const [first] = words;
    if (!first) return;
    if (first.before || first.behind) this.open.push({ words, of });
    else this.whole.set(first.text, [...(this.whole.get(first.text) ?? []), { words, of }]);
  }

  /** A word that is a phrase by itself. */
  has(key: string): boolean {
    return (
      (this.whole.get(key)?.some(({ words }) => words.length === 1) ?? false) ||
      this.open.some(({ words: [first, second] }) => first?.text === key && !second)
    );
  }

  /** What begins at a token, the longest first. */
  at(tokens: readonly SecretToken[], start: number): PhraseFound<T>[] {
    const key = tokens[start]?.key ?? '';
    const possible = [
      ...(this.whole.get(key) ?? []),
      ...this.open.filter(({ words: [first] }) => first !== undefined && matches(first, key)),
    ];
    return possible
      .flatMap(({ words, of }) => {
        let end = start;
        let length = 0;
        for (const word of words) {
          // "code d'accès", "pass-code": one mark may stand between.
          if (end > start && /^['’\-–_.]$/.test(tokens[end]?.text ?? '')) end += 1;
          if (!matches(word, tokens[end]?.key ?? '')) return [];
          length += word.text.length;
          end += 1;
        }
        return [{ of, end, length }];
      })
      .sort((a, b) => b.end - a.end || b.length - a.length);
  }
}

export type NameOfSecret = Omit<SecretName, 'words'> & { kind: SecretKind };

export interface SecretIndex {
  names: Phrases<NameOfSecret>;
  opens: Phrases<true>;
  types: Phrases<true>;
  draws: Phrases<true>;
  logs: Phrases<true>;
  numbers: readonly NumberWords[];
  places: ReadonlySet<string>;
  moves: ReadonlySet<string>;
  spelling: ReadonlySet<string>;
  and: ReadonlySet<string>;
  is: ReadonlySet<string>;
  passed: ReadonlySet<string>;
  not: ReadonlySet<string>;
  noValue: ReadonlySet<string>;
  units: ReadonlySet<string>;
  others: ReadonlySet<string>;
  numbered: ReadonlySet<string>;
  longNumbers: ReadonlySet<string>;
}

const byWord = (digits: Readonly<Record<string, readonly string[]>>): ReadonlyMap<string, string> =>
  new Map(
    Object.entries(digits).flatMap(([digit, said]) =>
      said.map((word): [string, string] => [foldWord(word), digit]),
    ),
  );

const made = new WeakMap<SecretWords, SecretIndex>();

/** Made once for the same words. */
export function secretIndexOf(words: SecretWords): SecretIndex {
  const before = made.get(words);
  if (before) return before;
  const languages = [...words.values()];
  const set = (pick: (language: (typeof languages)[number]) => readonly string[]): ReadonlySet<string> =>
    new Set(languages.flatMap((language) => pick(language).map(foldWord)));
  const phrases = (pick: (language: (typeof languages)[number]) => readonly string[]): Phrases<true> => {
    const all = new Phrases<true>();
    for (const language of languages) for (const text of pick(language)) all.add(text, true);
    return all;
  };
  const names = new Phrases<NameOfSecret>();
  for (const { names: own } of languages)
    for (const { words: said, ...name } of own) for (const text of said) names.add(text, name);
  const index: SecretIndex = {
    names,
    opens: phrases(({ opens }) => opens),
    types: phrases(({ types }) => types),
    draws: phrases(({ draws }) => draws),
    logs: phrases(({ logs }) => logs),
    numbers: languages.map(({ digits, plurals, teens, tens, large, and, times }) => ({
      digits: byWord(digits),
      plurals: byWord(plurals),
      teens: new Set(teens.map(foldWord)),
      tens: new Set(tens.map(foldWord)),
      large: new Set(large.map(foldWord)),
      and: new Set(and.map(foldWord)),
      times: Object.entries(times).flatMap(([count, said]) =>
        said.map((text) => ({ words: text.split(' ').map(foldWord), count: Number(count) })),
      ),
    })),
    places: set(({ places }) => places),
    moves: set(({ moves }) => moves),
    and: set(({ and }) => and),
    spelling: set(({ spelling }) => spelling),
    is: set(({ is }) => is),
    passed: set(({ passed }) => passed),
    not: set(({ not }) => not),
    noValue: set(({ noValue }) => noValue),
    units: set(({ units }) => units),
    others: set(({ others }) => others),
    numbered: set(({ numbered }) => numbered),
    longNumbers: set(({ longNumbers }) => longNumbers),
  };
  made.set(words, index);
  return index;
}
