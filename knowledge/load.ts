import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { readCached, sha256, writeCached } from './cache.ts';
import { checkPack, checksFile } from './check-pack.ts';
import { type Finding, locate, type PackProblem } from './locate.ts';
import type { PackEntry } from './pack-entry.ts';
import { type Pack, readPack } from './read-pack.ts';
import type {
  Caution,
  Check,
  Component,
  Factor,
  Family,
  Fault,
  Law,
  Lesson,
  Pairing,
  PhoneFunction,
  Rate,
  Regions,
  Remedy,
  Source,
  Symptom,
} from './schema.ts';
import { type ReadSecretWords, readSecretWords, type SecretWords } from './secrets.ts';
import { textHazardsFile } from './text-hazards.ts';
import { englishOf, type Translations, translationFile, translationsOf } from './translation.ts';
import { checkWords, type ReadWords, readWords, type WordRules, type Words } from './words.ts';

/** The pack whole: checked, indexed by id, in the order of its files. */
export interface Knowledge {
  /** Short SHA-256 of the content: two with the same version say the same. */
  version: string;
  sources: ReadonlyMap<string, Source>;
  features: ReadonlyMap<string, { id: string; says: string }>;
  components: ReadonlyMap<string, Component>;
  families: ReadonlyMap<string, Family>;
  pairing: readonly Pairing[];
  symptoms: ReadonlyMap<string, Symptom>;
  faults: ReadonlyMap<string, Fault>;
  checks: ReadonlyMap<string, Check>;
  remedies: ReadonlyMap<string, Remedy>;
  /** In the order they are gone through. */
  functions: ReadonlyMap<string, PhoneFunction>;
  cautions: ReadonlyMap<string, Caution>;
  laws: readonly Law[];
  lessons: readonly Lesson[];
  factors: readonly Factor[];
  rates: ReadonlyMap<string, Rate>;
  regions: Regions;
  /** The words that people use, by language. */
  words: Words;
  /** What they mean together. */
  wordRules: WordRules;
  /** The words by which secrets are told from bench notes, by language. */
  secrets: SecretWords;
  /** Its texts in other languages. */
  translations: Translations;
}

/** The pack that comes with the bot. */
export const packFolder = fileURLToPath(new URL('./pack', import.meta.url));
/** Where parsed packs are kept: reading YAML again takes most of a second, reading this does not. Filled by the build. */
const cacheFolder = fileURLToPath(new URL('../dist/pack', import.meta.url));

/** A pack that must not be used. The message lists everything that is wrong with it. */
export class BadPack extends Error {
  readonly problems: readonly PackProblem[];
  constructor(problems: readonly PackProblem[]) {
    const lines = problems.map(({ file, line, problem }) => `${file}:${line} ${problem}`);
    super(
      `The knowledge pack has ${problems.length} problem${problems.length === 1 ? '' : 's'}:\n${lines.join('\n')}`,
    );
    this.name = 'BadPack';
    this.problems = problems;
  }
}

const values = <T>(entries: ReadonlyMap<string, PackEntry<T>>): Map<string, T> =>
  new Map([...entries].map(([id, { value }]) => [id, value]));

/** A pack's folders as they were read. */
interface ReadFolders {
  pack: Pack;
  words: ReadWords;
  secrets: ReadSecretWords;
}

const readFolders = (folders: readonly string[], cache: string | null): ReadFolders => ({
  pack: readPack(folders, cache),
  words: readWords(folders, cache),
  secrets: readSecretWords(folders, cache),
});

const knowledgeOf = ({
  pack: { entries, regions, languages, version },
  words,
  secrets,
}: ReadFolders): Knowledge => ({
  version: sha256(`${version} ${words.version} ${secrets.version}`).slice(0, 12),
  secrets: secrets.words,
  words: words.words,
  wordRules: words.rules,
  sources: values(entries.sources),
  features: values(entries.features),
  components: values(entries.components),
  families: values(entries.families),
  pairing: [...values(entries.pairing).values()],
  symptoms: values(entries.symptoms),
  faults: values(entries.faults),
  checks: values(entries.checks),
  remedies: values(entries.remedies),
  functions: values(entries.functions),
  cautions: values(entries.cautions),
  laws: [...values(entries.laws).values()],
  lessons: [...values(entries.lessons).values()],
  factors: [...values(entries.factors).values()],
  rates: values(entries.rates),
  regions,
  translations: translationsOf(languages, englishOf(entries), regions.dispose),
});

export interface Inspected {
  /** As far as it could be read. */
  knowledge: Knowledge;
  findings: Finding[];
  /** Worth knowing, but not wrong. */
  notes: Finding[];
}

/** What is wrong with the words, by themselves and beside the pack. */
const wordFindings = (read: ReadFolders, folders: readonly string[]): Finding[] => [
  ...read.words.findings,
  ...read.secrets.findings,
  ...checkWords(read.words, knowledgeOf(read), join(folders[0] ?? '.', 'words', 'rules.yaml')),
];

/** Reads a pack and says everything that is wrong with it. Folders and cache as for `loadKnowledge`; throws nothing. */
export function inspectPack(folders: readonly string[], cache: string | null = cacheFolder): Inspected {
  const read = readFolders(folders, cache);
  const { findings, notes } = checkPack(read.pack);
  return {
    knowledge: knowledgeOf(read),
    findings: [...read.pack.findings, ...wordFindings(read, folders), ...findings],
    notes,
  };
}

/** The note that a pack of this content has passed the checks across its files, as these are now. */
const passNameOf = ({ pack, words, secrets }: ReadFolders): string =>
  `passed-${sha256(
    [
      pack.version,
      words.version,
      secrets.version,
      ...[checksFile, textHazardsFile, translationFile].map((file) => readFileSync(file, 'utf8')),
    ].join(' '),
  ).slice(0, 16)}`;

/**
 * Loads the pack from its folders. The first must be whole; each later one lays over it: an entry with the same id
 * replaces, a new id adds, regions are joined. `cache` is a folder for what was parsed (null: none); it is keyed by the
 * contents of the files, and what is read from it is held against the schema like the files themselves. The checks
 * across files run once for each content. Throws BadPack, which lists every problem with file and line.
 */
export function loadKnowledge(
  folders: readonly string[] = [packFolder],
  cache: string | null = cacheFolder,
): Knowledge {
  const read = readFolders(folders, cache);
  const passed = passNameOf(read);
  const { pack, words, secrets } = read;
  const sound = [pack, words, secrets].every(({ findings }) => findings.length === 0);
  if (sound && readCached(cache, passed) !== undefined) return knowledgeOf(read);
  const findings = [...pack.findings, ...wordFindings(read, folders), ...checkPack(pack).findings];
  if (findings.length) throw new BadPack(locate(findings));
  writeCached(cache, passed, '');
  return knowledgeOf(read);
}
