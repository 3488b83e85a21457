/**
 * The words by which secrets are told from bench notes, by language: `secrets/<language>.yaml` in a pack's folder. A folder laid
 * over the pack adds to the words below it and takes none away. How they are used: shared/notes/secrets.ts.
 */
import { z } from 'zod';
import { joinFiles, many, readLanguageFiles } from './language-files.ts';
import type { Finding } from './locate.ts';
import { issueInWords } from './schema-words.ts';

const secretKinds = ['passcode', 'pattern', 'password', 'recovery', 'card'] as const;
export type SecretKind = (typeof secretKinds)[number];

/** Words beside each other. `*` at either end of a word stands for any letters. Case and accents do not count. */
const phrase = z
  .string()
  .trim()
  .max(60)
  .regex(/^\*?[\p{L}\p{N}]+\*?(?: \*?[\p{L}\p{N}]+\*?)*$/u, 'words of letters, with * at an end');
const phrases = many(phrase).default([]);
const word = z
  .string()
  .trim()
  .regex(/^\p{L}+$/u, 'one word, of letters alone');
const words = many(word).default([]);

const nameSchema = z.strictObject({
  kind: z.enum(secretKinds),
  /** The fewest digits that count as its value. */
  digits: z.int().min(3).max(8).default(4),
  /**
   * What else its value may be than digits: a word that mixes letters with digits or marks (`mixed`); any word after a colon too
   * (`marked`); also one after "is" (`said`); also one that stands right behind it and ends the sentence (`bare`); a list of
   * four words or more (`list`).
   */
  value: z.enum(['digits', 'mixed', 'marked', 'said', 'bare', 'list']).default('digits'),
  /** Only right before or behind its value: the word has other meanings. */
  close: z.boolean().default(false),
  words: phrases,
});
export type SecretName = z.infer<typeof nameSchema>;

const languageSchema = z.strictObject({
  /** What secrets are called. */
  names: z.array(nameSchema).default([]),
  /** Words for 0 to 9, each with a digit; for 10 to 19; and for tens. Longer numbers put together from them are read too. */
  digits: z.record(z.string().regex(/^\d$/, 'a digit'), many(word)).default({}),
  /** Several of a digit: `four zeros`. */
  plurals: z.record(z.string().regex(/^\d$/, 'a digit'), many(word)).default({}),
  teens: words,
  tens: words,
  /** Words for a hundred and more. */
  large: words,
  /** Between the parts of a number: `siebenundvierzig`. */
  and: words,
  /** How often the next digit is said: `double`. */
  times: z.record(z.string().regex(/^[2-9]$/, 'a digit from 2 to 9'), phrases).default({}),
  /** What is said of getting past a lock: `unlock*`, `get in`. */
  opens: phrases,
  /** How a code is given to a phone: `type`, `enter`. */
  types: phrases,
  /** How a pattern is: `draw`, `swipe`. */
  draws: phrases,
  /** Signing in to an account. */
  logs: phrases,
  /** Where a pattern goes, and how: `top`, `left`, `down`. */
  places: words,
  /** What else is said between them: `then`, `start`. */
  moves: words,
  /** What a password is spelt with: `zero`, `capital`. */
  spelling: words,
  /** Joins a name and its value: `is`. */
  is: words,
  /** What may stand between a value and what is said of it: articles, pronouns, `with`. */
  passed: words,
  /** Before a name: there is none, or nobody knows it. */
  not: words,
  /** Behind a name: it is no value, or there is none. */
  noValue: words,
  /** Behind a number: it measures something. */
  units: words,
  /** Before `code` or `pattern`: one of something else. */
  others: words,
  /** Before a number: it is the number of something. */
  numbered: words,
  /** Long numbers that are no card's: `imei`. */
  longNumbers: words,
});
type SecretLanguage = z.infer<typeof languageSchema>;
/** By language, as `en`. */
export type SecretWords = ReadonlyMap<string, SecretLanguage>;

export interface ReadSecretWords {
  words: SecretWords;
  findings: Finding[];
  /** Changes when any file does. */
  version: string;
}

/** Reads the words of pack folders; a folder without any has none. Throws nothing: what is wrong is in `findings`. */
export function readSecretWords(folders: readonly string[], cache: string | null): ReadSecretWords {
  const { texts, raw, version, findings } = readLanguageFiles(folders, 'secrets', cache);
  const wholes = new Map<string, unknown>();
  const read = new Map<string, SecretLanguage>();
  for (const { file, name } of texts) {
    if (!(file in raw)) continue;
    const language = name.replace(/\.ya?ml$/, '');
    if (!/^[a-z]{2}$/.test(language)) {
      findings.push({ file, path: [], problem: 'the name of the file is a language of two letters' });
      continue;
    }
    const own = raw[file] ?? {};
    // The file by itself, so that what is wrong is told of it and not of those below it.
    const checked = languageSchema.safeParse(own, { error: issueInWords });
    for (const { path, message } of checked.error?.issues ?? [])
      findings.push({ file, path, problem: `${path.join('.')}: ${message}` });
    if (!checked.success) continue;
    const below = wholes.get(language);
    const whole = below === undefined ? own : joinFiles(below, own);
    wholes.set(language, whole);
    read.set(language, below === undefined ? checked.data : languageSchema.parse(whole));
  }
  return { words: read, findings, version };
}
