/**
 * The words that people use, by language: `words/<language>.yaml` in a pack's folder. A folder laid over the pack adds to the
 * words below it and takes none away.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';
import { readCached, sha256, writeCached } from './cache.ts';
import type { Finding } from './locate.ts';
import { seenFacts } from './schema.ts';
import { yaml } from './yaml.ts';

/**
 * How a phrase is written. Words that stand beside each other are said beside each other, in that order; `&` joins parts that
 * are said near each other, in any order. `word~` takes the endings of its language, `*` stands for any letters at
 * either end of a word, `<name>` is any word of that set.
 */
const phrase = z
  .string()
  .trim()
  .max(80)
  .regex(
    /^(?:<[a-z-]+>|\*?[\p{L}\p{N}'’]+[~*]?)(?: (?:& )?(?:<[a-z-]+>|\*?[\p{L}\p{N}'’]+[~*]?))*$/u,
    'words, with ~ or * at an end, <sets>, and & between parts',
  );
const word = z.string().regex(/^\*?[\p{L}\p{N}'’]+[~*]?$/u, 'one word, with ~ or * at an end');
const ending = z.string().regex(/^\p{L}*$/u);

/** What tells of danger in a language. */
const dangerSchema = z.strictObject({
  /** What `~` stands for. A word without an ending always counts. */
  endings: z.array(ending).default([]),
  /** Words that stand for one thing. What is said of the set `cell` is never taken for innocent by what stands near it. */
  sets: z.record(z.string().regex(/^[a-z-]+$/), z.array(word).min(1)).default({}),
  /** Words that deny what comes next: `not`. Those of `none` also reach over the name of a cell: `no battery bulge`. */
  not: z.array(word).default([]),
  none: z.array(word).default([]),
  /** Words that may stand between a denial and what it denies. */
  between: z.array(word).default([]),
  /** Words that a denial behind them belongs to, so that it denies nothing behind it: `lädt nicht`. */
  own: z.array(word).default([]),
  /** Words that make a denial tell of what was: `any more`. */
  before: z.array(word).default([]),
  /** Words that carry a denial on to the next: `or`. */
  or: z.array(word).default([]),
  /** Words passed over in phrases: articles. */
  pass: z.array(word).default([]),
  /** Phrases in which a word of danger means something else: `smoke alarm`. */
  innocent: z.array(phrase).default([]),
  /** Words that look like a slip of a word of danger and are none: `frames`. */
  unlike: z.array(word).default([]),
  says: z
    .array(
      z.strictObject({
        fact: z.enum(seenFacts),
        /** Whom to call. */
        service: z.literal('fire').optional(),
        /** Verbs that are denied by what follows them: `raucht nicht`. */
        verbs: z.boolean().default(false),
        phrases: z.array(phrase).min(1),
      }),
    )
    .default([]),
});
export type DangerLanguage = z.infer<typeof dangerSchema>;

const wordsSchema = z.strictObject({
  danger: dangerSchema.prefault({}),
});
type LanguageWords = z.infer<typeof wordsSchema>;

/** By language, as `en`. */
export type Words = ReadonlyMap<string, LanguageWords>;
/** What tells of danger, by language. */
export type DangerWords = ReadonlyMap<string, DangerLanguage>;

export const dangerWords = (words: Words): DangerWords =>
  new Map([...words].map(([language, { danger }]) => [language, danger]));

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** Two files of a language as one: lists are joined, the words of a set too. */
function joined(below: unknown, above: unknown): unknown {
  if (Array.isArray(below) && Array.isArray(above)) return [...below, ...above];
  if (!isRecord(below) || !isRecord(above)) return above;
  const both = { ...below };
  for (const [key, value] of Object.entries(above))
    both[key] = key in both ? joined(both[key], value) : value;
  return both;
}

const cacheSchema = z.object({ key: z.string(), raw: z.record(z.string(), z.unknown()) });

export interface ReadWords {
  words: Words;
  findings: Finding[];
  /** Changes when any file does. */
  version: string;
}

function parsedBefore(cached: string | undefined, key: string): Record<string, unknown> | undefined {
  if (cached === undefined) return undefined;
  try {
    const read = cacheSchema.parse(JSON.parse(cached));
    return read.key === key ? read.raw : undefined;
  } catch {
    return undefined;
  }
}

const wordFiles = (folder: string): string[] => {
  try {
    return readdirSync(join(folder, 'words'))
      .filter((name) => /\.ya?ml$/.test(name))
      .sort();
  } catch {
    return [];
  }
};

/** Reads the words of pack folders; a folder without any has none. Throws nothing: what is wrong is in `findings`. */
export function readWords(folders: readonly string[], cache: string | null): ReadWords {
  const findings: Finding[] = [];
  const words = new Map<string, LanguageWords>();
  const texts = folders.flatMap((folder) =>
    wordFiles(folder).map((name) => {
      const file = join(folder, 'words', name);
      return { file, name, text: readFileSync(file, 'utf8') };
    }),
  );
  const version = sha256(JSON.stringify(texts.map(({ name, text }) => [name, text]))).slice(0, 12);
  const cacheName = `words-${sha256(folders.join('\n')).slice(0, 16)}.json`;
  const before = texts.length ? parsedBefore(readCached(cache, cacheName), version) : undefined;
  const raw: Record<string, unknown> = before ?? {};
  if (!before) {
    for (const { file, text } of texts) {
      const { LineCounter, parseDocument } = yaml();
      const lines = new LineCounter();
      const document = parseDocument(text, { lineCounter: lines, prettyErrors: false });
      for (const error of document.errors) {
        const line = lines.linePos(error.pos[0]).line;
        findings.push({ file, path: [], line, problem: error.message });
      }
      if (document.errors.length === 0) raw[file] = document.toJS();
    }
    if (texts.length && findings.length === 0)
      writeCached(cache, cacheName, JSON.stringify({ key: version, raw }));
  }
  const wholes = new Map<string, unknown>();
  for (const { file, name } of texts) {
    if (!(file in raw)) continue;
    const language = name.replace(/\.ya?ml$/, '');
    if (!/^[a-z]{2}$/.test(language)) {
      findings.push({ file, path: [], problem: 'the name of the file is a language of two letters' });
      continue;
    }
    const read = wordsSchema.safeParse(raw[file] ?? {});
    for (const issue of read.error?.issues ?? [])
      findings.push({ file, path: issue.path, problem: `${issue.path.join('.')}: ${issue.message}` });
    if (!read.success) continue;
    const whole = joined(wholes.get(language), raw[file] ?? {});
    wholes.set(language, whole);
    words.set(language, wordsSchema.parse(whole));
  }
  for (const [language, { danger }] of words) {
    const phrases = [...danger.innocent, ...danger.says.flatMap((one) => one.phrases)];
    for (const [, name = ''] of phrases.flatMap((one) => [...one.matchAll(/<([a-z-]+)>/g)])) {
      const file = texts.find((one) => one.name.startsWith(language))?.file ?? '';
      if (!(name in danger.sets)) findings.push({ file, path: ['danger'], problem: `no set "${name}"` });
    }
  }
  return { words, findings, version };
}
