/**
 * The words that people use, by language: `words/<language>.yaml` in a pack's folder. A folder laid over the pack adds to the
 * words below it and takes none away.
 */
import { z } from 'zod';
import { joinFiles, many, readLanguageFiles } from './language-files.ts';
import type { Finding } from './locate.ts';
import { seenFacts } from './schema.ts';
import { issueInWords } from './schema-words.ts';

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
const ending = z.string().regex(/^\p{L}*$/u, 'letters alone');

/** What tells of danger in a language. */
const dangerSchema = z.strictObject({
  /** What `~` stands for. A word without an ending always counts. */
  endings: many(ending).default([]),
  /** Words that stand for one thing. What is said of the set `cell` is never taken for innocent by what stands near it. */
  sets: z
    .record(z.string().regex(/^[a-z-]+$/, 'the name of a set is lower-case letters with hyphens'), many(word))
    .default({}),
  /** Words that deny what comes next: `not`. Those of `none` also reach over the name of a cell: `no battery bulge`. */
  not: many(word).default([]),
  none: many(word).default([]),
  /** Words that may stand between a denial and what it denies. */
  between: many(word).default([]),
  /** Words that a denial behind them belongs to, so that it denies nothing behind it: `lädt nicht`. */
  own: many(word).default([]),
  /** Words that make a denial tell of what was: `any more`. */
  before: many(word).default([]),
  /** Words that carry a denial on to the next: `or`. */
  or: many(word).default([]),
  /** Words that begin something else: no part of a phrase that begins before them is looked for behind them. */
  and: many(word).default([]),
  /** Words passed over in phrases: articles. */
  pass: many(word).default([]),
  /** Phrases in which a word of danger means something else: `smoke alarm`. */
  innocent: many(phrase).default([]),
  /** Words that look like a slip of a word of danger and are none: `frames`. */
  unlike: many(word).default([]),
  says: z
    .array(
      z.strictObject({
        fact: z.enum(seenFacts),
        /** Whom to call. */
        service: z.literal('fire').optional(),
        /** Verbs that are denied by what follows them: `raucht nicht`. */
        verbs: z.boolean().default(false),
        phrases: many(phrase),
      }),
    )
    .default([]),
});
export type DangerLanguage = z.infer<typeof dangerSchema>;

const senseName = z.string().regex(/^[a-z]+(-[a-z]+)*$/, 'a sense is lower-case words joined by hyphens');
const said = z.string().trim().min(1).max(60);

/** What the reader of whole sentences knows in a language. */
const readingSchema = z.strictObject({
  /** Words that carry nothing of their own. */
  skip: many(said).default([]),
  /** Words that begin another clause, and those that also join what is said of several things: `and`. */
  split: many(said).default([]),
  and: many(said).default([]),
  /** Words that deny what comes next, and those that deny the verb before them: `lädt nicht`. */
  not: many(said).default([]),
  notBehind: many(said).default([]),
  /** Ends of verbs that stand at the end of a clause, whatever lies between: `geht … aus`, `turn … on`. */
  particles: many(said).default([]),
  /** True where words are joined into one: `Displaytausch`. */
  compounds: z.boolean().default(false),
  /** Words for units, by unit. */
  units: z.record(z.string(), many(said)).default({}),
  /** Words for currencies, by ISO 4217 code, or `$` where it can be several. */
  money: z.record(z.string(), many(said)).default({}),
  /** Words before a price. */
  paid: many(said).default([]),
  /**
   * What a word, or several said in this order, can mean, by sense. With `!` before it the words deny the sense:
   * `work: ["!out of order"]`.
   */
  senses: z.record(senseName, many(said)).default({}),
});
export type ReadingLanguage = z.infer<typeof readingSchema>;

/** Senses that stand together in a clause: `screen|glass crack`, `!charge`, `@group`, with ` ?` where it has to be asked. */
const rule = z
  .string()
  .max(300)
  .regex(
    /^[!@]?[#%a-z-]+(\|[!@]?[#%a-z-]+)*( [!@]?[#%a-z-]+(\|[!@]?[#%a-z-]+)*)*( \?)?$/i,
    'senses, with | between choices and ? at the end',
  );
const rules = z.record(z.string(), many(rule)).default({});

/** What senses mean together, in any language. */
const rulesSchema = z.strictObject({
  parts: many(senseName).default([]),
  verbs: many(senseName).default([]),
  /** Choices that stand in many rules, by name: `mic @bad`. */
  groups: z
    .record(senseName, many(z.string().regex(/^!?[a-z-]+$/, 'a sense, with ! before it where it is denied')))
    .default({}),
  /** Which symptom a fact that words of danger tell is; the first, unless another of them is said. */
  danger: z.partialRecord(z.enum(seenFacts), many(z.string())).default({}),
  symptoms: rules,
  /** Symptoms that are said not to be there. */
  denies: rules,
  /** Components that are said to be damaged, or are to be replaced. */
  damage: rules,
  history: rules,
  wishes: rules,
  came: rules,
  /** Understood, and nothing of the pack. */
  others: rules,
  /** Components that somebody has put in. */
  fitted: rules,
  /** Answers to checks, as `check/outcome`. */
  answers: rules,
  /** Which checks a reading answers, by its unit: the first that the phone can have. */
  readings: z.record(z.string(), many(z.string())).default({}),
  /** The symptoms that come most, the commonest first: offered where nothing was understood. */
  common: many(z.string()).default([]),
});
export type WordRules = z.infer<typeof rulesSchema>;

const wordsSchema = z.strictObject({
  danger: dangerSchema.prefault({}),
  reading: readingSchema.prefault({}),
});
type LanguageWords = z.infer<typeof wordsSchema>;

/** By language, as `en`. */
export type Words = ReadonlyMap<string, LanguageWords>;
/** What tells of danger, by language. */
export type DangerWords = ReadonlyMap<string, DangerLanguage>;

const dangerOf = new WeakMap<Words, DangerWords>();
/** The same object for the same words, so that what is made from it is made once. */
export function dangerWords(words: Words): DangerWords {
  const before = dangerOf.get(words);
  if (before) return before;
  const made = new Map([...words].map(([language, { danger }]) => [language, danger]));
  dangerOf.set(words, made);
  return made;
}

export interface ReadWords {
  words: Words;
  rules: WordRules;
  findings: Finding[];
  /** Changes when any file does. */
  version: string;
}

/** Reads the words of pack folders; a folder without any has none. Throws nothing: what is wrong is in `findings`. */
export function readWords(folders: readonly string[], cache: string | null): ReadWords {
  const words = new Map<string, LanguageWords>();
  const { texts, raw, version, findings } = readLanguageFiles(folders, 'words', cache);
  const wholes = new Map<string, unknown>();
  const tell = (file: string, error: z.ZodError | undefined) => {
    for (const { path, message } of error?.issues ?? [])
      findings.push({ file, path, problem: `${path.join('.')}: ${message}` });
  };
  let rulesRead = rulesSchema.parse({});
  for (const { file, name } of texts) {
    if (!(file in raw)) continue;
    const language = name.replace(/\.ya?ml$/, '');
    if (!/^([a-z]{2}|rules)$/.test(language)) {
      findings.push({
        file,
        path: [],
        problem: 'the name of the file is a language of two letters, or rules',
      });
      continue;
    }
    const below = wholes.get(language);
    const own = raw[file] ?? {};
    const whole = below === undefined ? own : joinFiles(below, own);
    // The file by itself, so that what is wrong is told of it and not of those below it.
    if (language === 'rules') {
      const read = rulesSchema.safeParse(own, { error: issueInWords });
      tell(file, read.error);
      if (!read.success) continue;
      rulesRead = below === undefined ? read.data : rulesSchema.parse(whole);
    } else {
      const read = wordsSchema.safeParse(own, { error: issueInWords });
      tell(file, read.error);
      if (!read.success) continue;
      words.set(language, below === undefined ? read.data : wordsSchema.parse(whole));
    }
    wholes.set(language, whole);
  }
  for (const [language, { danger }] of words) {
    const phrases = [...danger.innocent, ...danger.says.flatMap((one) => one.phrases)];
    for (const [, name = ''] of phrases.flatMap((one) => [...one.matchAll(/<([a-z-]+)>/g)])) {
      const file = texts.find((one) => one.name.startsWith(language))?.file ?? '';
      if (!(name in danger.sets)) findings.push({ file, path: ['danger'], problem: `no set "${name}"` });
    }
  }
  return { words, rules: rulesRead, findings, version };
}

/** A rule with its groups written out. */
export const ungrouped = (text: string, groups: WordRules['groups']): string =>
  text.replace(/@([a-z-]+)/g, (whole, name: string) => groups[name]?.join('|') ?? whole);

/** The senses of a rule, with those denied without their mark; numbers with a unit are none. */
const sensesOf = (text: string): string[] =>
  text
    .replace(/ \?$/, '')
    .split(/[ |]/)
    .map((one) => one.replace(/^!/, ''))
    .filter((one) => !one.startsWith('#'));

/** Ids of the pack that the rules may name. */
interface PackIds {
  symptoms: ReadonlyMap<string, unknown>;
  components: ReadonlyMap<string, unknown>;
  checks: ReadonlyMap<string, { outcomes: readonly { id: string }[] }>;
}

/** What is wrong between the rules, the words and the rest of the pack. */
export function checkWords(
  { words, rules: all, findings: findingsOf }: ReadWords,
  named: PackIds,
  file: string,
): Finding[] {
  const findings: Finding[] = [];
  // A language that could not be read is told of already.
  if (findingsOf.length) return [];
  const known = new Set([...words.values()].flatMap(({ reading }) => Object.keys(reading.senses)));
  const told = new Set<string>();
  const say = (path: string[], problem: string) => findings.push({ file, path, problem });
  const idIs = {
    symptoms: (id: string) => named.symptoms.has(id),
    denies: (id: string) => named.symptoms.has(id),
    damage: (id: string) => named.components.has(id),
    fitted: (id: string) => named.components.has(id),
    answers: (id: string) => {
      const [check = '', outcome = ''] = id.split('/');
      return named.checks.get(check)?.outcomes.some((one) => one.id === outcome) ?? false;
    },
    history: () => true,
    wishes: () => true,
    came: () => true,
    others: () => true,
  };
  for (const [kind, isId] of Object.entries(idIs)) {
    const list = Object.entries(all).find(([name]) => name === kind)?.[1];
    for (const [id, texts] of Object.entries(list ?? {})) {
      if (!isId(id)) say([kind, id], `${id}: nothing in the pack has this id`);
      for (const text of Array.isArray(texts) ? texts : []) {
        for (const sense of sensesOf(ungrouped(text, all.groups)))
          if (!known.has(sense) && !told.has(sense) && told.add(sense))
            say([kind, id], `${id}: no language has words for "${sense}"`);
      }
    }
  }
  for (const [fact, ids] of Object.entries(all.danger))
    for (const id of ids)
      if (!named.symptoms.has(id)) say(['danger', fact], `${fact}: no symptom has the id "${id}"`);
  return findings;
}
