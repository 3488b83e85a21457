/** Reads pack folders into checked entries. Each folder lays over those before it: the same id replaces, a new id adds. */
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import type { z } from 'zod';
import { readParsed, sha256, writeParsed } from './cache.ts';
import type { Finding } from './locate.ts';
import type { ListFile, PackEntries, PackEntry } from './pack-entry.ts';
import { parseYaml } from './parse-yaml.ts';
import { type PackFile, packFiles, type Regions, regionSchema } from './schema.ts';
import { issueInWords } from './schema-words.ts';
import {
  type TranslatedList,
  type TranslationFile,
  type TranslationLayers,
  translationFiles,
} from './translation.ts';

export interface Pack {
  entries: PackEntries;
  regions: Regions;
  /** Ids of entries that their schema refused, by file; '' stands for what could not be read at all. */
  broken: ReadonlyMap<ListFile, ReadonlySet<string>>;
  /** Its texts in other languages, by the language's two letters. */
  languages: ReadonlyMap<string, TranslationLayers>;
  /** The folder that says where cells go, by region. */
  disposeFrom: ReadonlyMap<string, string>;
  /** Where a file of this name is, for what is said about it as a whole. */
  fileOf: (name: PackFile) => string;
  findings: Finding[];
  /** Changes when any file's content does. */
  version: string;
}

const names = Object.keys(packFiles);
const isPackFile = (name: string): name is PackFile => names.includes(name);
const translated = Object.keys(translationFiles);
const isTranslationFile = (name: string): name is TranslationFile => translated.includes(name);

interface Layer {
  folder: string;
  top: boolean;
  base: boolean;
  /** What the files hold, not yet checked, by name without `.yaml`. */
  raw: Readonly<Record<string, unknown>>;
}

function parseFiles(texts: ReadonlyMap<string, string>, folder: string, findings: Finding[]) {
  const raw: Record<string, unknown> = {};
  for (const [name, text] of texts) {
    const parsed = parseYaml(join(folder, `${name}.yaml`), text, findings);
    if (parsed) raw[name] = parsed.raw;
  }
  return raw;
}

/** One folder's files as plain values, from the cache when their contents have not changed. */
function readFolder(folder: string, cache: string | null, findings: Finding[]) {
  const texts = new Map<string, string>();
  let files: string[] = [];
  try {
    files = readdirSync(folder).sort();
  } catch {
    findings.push({ file: folder, path: [], line: 1, problem: 'there is no such folder' });
  }
  const take = (file: string, fits: (name: string) => boolean, what: string, those: readonly string[]) => {
    const name = file.replace(/\.yaml$/, '');
    if (fits(name.slice(name.lastIndexOf('/') + 1)))
      texts.set(name, readFileSync(join(folder, file), 'utf8'));
    else {
      const problem = `not a file of a ${what}; those are ${those.map((one) => `${one}.yaml`).join(', ')}`;
      findings.push({ file: join(folder, file), path: [], line: 1, problem });
    }
  };
  const isYaml = (name: string) => /\.ya?ml$/.test(name);
  for (const file of files.filter(isYaml)) take(file, isPackFile, 'pack', names);
  for (const language of files.filter((name) => /^[a-z]{2}$/.test(name))) {
    for (const file of readdirSync(join(folder, language)).sort().filter(isYaml))
      take(`${language}/${file}`, isTranslationFile, 'language of a pack', translated);
  }
  const key = sha256(JSON.stringify([...texts]));
  // By its place beside the cache: an installation may be moved.
  const place = cache === null ? '' : relative(cache, resolve(folder));
  const name = `pack-${sha256(place).slice(0, 16)}.json`;
  const before = readParsed(cache, name, key);
  if (before) return { texts, key, raw: before };
  const found = findings.length;
  const raw = parseFiles(texts, folder, findings);
  if (findings.length === found) writeParsed(cache, name, key, raw);
  return { texts, key, raw };
}

const at = (value: unknown, path: readonly PropertyKey[]): unknown => {
  let found: unknown = value;
  for (const key of path) found = found && typeof found === 'object' ? Reflect.get(found, key) : undefined;
  return found;
};

/** What a schema said, in words that name the value. */
function explain(issue: z.core.$ZodIssue, item: unknown): { path: PropertyKey[]; problem: string }[] {
  const value = at(item, issue.path);
  if (issue.code === 'invalid_union') {
    const inner = typeof value === 'object' ? issue.errors.at(-1) : undefined;
    if (inner?.length) {
      return inner.flatMap((one) => explain({ ...one, path: [...issue.path, ...one.path] }, item));
    }
  }
  const where = issue.path.join('.');
  const given =
    typeof value === 'string' || typeof value === 'number' ? ` is ${JSON.stringify(value)}:` : ':';
  const message =
    issue.code === 'invalid_union'
      ? `${value === undefined ? 'missing, ' : ''}wanted practice, memory, or {source: id, at: place}`
      : issue.message;
  const path = issue.code === 'unrecognized_keys' ? [...issue.path, issue.keys[0] ?? ''] : issue.path;
  return [{ path, problem: where ? `${where}${given} ${message}` : message }];
}

const idOf = (item: unknown): string | undefined => {
  const id = at(item, ['id']);
  return typeof id === 'string' ? id : undefined;
};

const isTranslatedList = (name: TranslationFile): name is TranslatedList => name !== 'regions';

/**
 * The languages of all folders. A folder that replaces an English entry takes the translation of the one below away: what
 * it does not translate itself is said in English.
 */
function readLanguages(layers: readonly Layer[], findings: Finding[]): Map<string, TranslationLayers> {
  const languages = new Map<string, TranslationLayers>();
  for (const { folder, raw } of layers) {
    for (const { entries, dispose } of languages.values()) {
      for (const [file, those] of entries) {
        const replaced: unknown = raw[file];
        for (const id of Array.isArray(replaced) ? replaced.map(idOf) : [])
          if (id !== undefined) those.delete(id);
      }
      for (const code of Object.keys(Object(at(raw.regions, ['dispose'])))) dispose.delete(code);
    }
    for (const [name, content] of Object.entries(raw)) {
      const [language = '', which = ''] = name.split('/');
      if (!isTranslationFile(which) || content === null) continue;
      const file = join(folder, `${name}.yaml`);
      const layer: TranslationLayers = languages.get(language) ?? {
        entries: new Map(),
        dispose: new Map(),
        folders: new Set(),
        files: new Set(),
      };
      languages.set(language, layer);
      layer.folders.add(dirname(join(folder, 'cautions.yaml')));
      layer.files.add(file);
      const read = translationFiles[which].safeParse(content, { error: issueInWords });
      for (const { path, problem } of (read.error?.issues ?? []).flatMap((issue) => explain(issue, content)))
        findings.push({ file, path, problem });
      if (!read.success) continue;
      if (!Array.isArray(read.data)) {
        for (const [code, says] of Object.entries(read.data.dispose)) layer.dispose.set(code, { says, file });
        continue;
      }
      if (!isTranslatedList(which)) continue;
      const those = layer.entries.get(which) ?? new Map();
      layer.entries.set(which, those);
      read.data.forEach((texts, index) => {
        if (those.get(texts.id)?.file === file)
          findings.push({ file, path: [index, 'id'], problem: `${texts.id} is there twice` });
        those.set(texts.id, { texts, file, index });
      });
    }
  }
  return languages;
}

/** The entries of one file over all folders, by id. What cannot be read goes into `findings`, and its id into `broken`. */
function readList<T extends { id: string }>(
  layers: readonly Layer[],
  findings: Finding[],
  broken: Map<ListFile, Set<string>>,
  name: ListFile,
  schema: z.ZodType<T>,
): Map<string, PackEntry<T>> {
  const entries = new Map<string, PackEntry<T>>();
  const refused = new Set<string>();
  broken.set(name, refused);
  for (const { folder, raw, top, base } of layers) {
    const file = join(folder, `${name}.yaml`);
    if (base && !(name in raw)) refused.add('');
    const items: unknown = raw[name] ?? [];
    if (!Array.isArray(items)) {
      findings.push({ file, path: [], problem: 'must be a list' });
      refused.add('');
      continue;
    }
    const seen = new Set<string>();
    items.forEach((item: unknown, index) => {
      const id = idOf(item);
      if (id !== undefined && seen.has(id))
        findings.push({ file, path: [index, 'id'], problem: `${id} is there twice` });
      if (id !== undefined) seen.add(id);
      const read = schema.safeParse(item, { error: issueInWords });
      if (read.success) {
        entries.set(read.data.id, { value: read.data, file, index, top });
        return;
      }
      refused.add(id ?? '');
      for (const { path, problem } of read.error.issues.flatMap((issue) => explain(issue, item)))
        findings.push({ file, path: [index, ...path], problem: id ? `${id}: ${problem}` : problem });
    });
  }
  return entries;
}

/** The regions of all folders joined, and the folder that each place to dispose of a cell comes from. */
function readRegions(
  layers: readonly Layer[],
  findings: Finding[],
): { regions: Regions; disposeFrom: Map<string, string> } {
  const regions: Regions = { emergency: {}, eu: [], dispose: {} };
  const disposeFrom = new Map<string, string>();
  for (const { folder, raw, base } of layers) {
    if (raw.regions === undefined || raw.regions === null) continue;
    const read = (base ? regionSchema : regionSchema.partial()).safeParse(raw.regions, {
      error: issueInWords,
    });
    for (const issue of read.error?.issues ?? []) {
      for (const { path, problem } of explain(issue, raw.regions))
        findings.push({ file: join(folder, 'regions.yaml'), path, problem });
    }
    for (const [code, numbers] of Object.entries(read.data?.emergency ?? {}))
      regions.emergency[code] = { ...regions.emergency[code], ...numbers };
    Object.assign(regions.dispose, read.data?.dispose);
    for (const code of Object.keys(read.data?.dispose ?? {}))
      disposeFrom.set(code, dirname(join(folder, 'regions.yaml')));
    regions.eu = [...new Set([...regions.eu, ...(read.data?.eu ?? [])])];
  }

  return { regions, disposeFrom };
}

/** Reads and checks the shape of pack folders, the first of which must have every file. Throws nothing. */
export function readPack(folders: readonly string[], cache: string | null): Pack {
  const findings: Finding[] = [];
  const broken = new Map<ListFile, Set<string>>();
  const keys: string[] = [];
  const layers = folders.map((folder, index): Layer => {
    const { texts, key, raw } = readFolder(folder, cache, findings);
    keys.push(key);
    for (const name of index === 0 && texts.size ? names : []) {
      if (!texts.has(name))
        findings.push({ file: join(folder, `${name}.yaml`), path: [], line: 1, problem: 'missing' });
    }
    return { folder, raw, base: index === 0, top: index === folders.length - 1 };
  });

  const { regions, disposeFrom } = readRegions(layers, findings);
  const list = <T extends { id: string }>(name: ListFile, schema: z.ZodType<T>) =>
    readList(layers, findings, broken, name, schema);
  return {
    entries: {
      sources: list('sources', packFiles.sources.element),
      features: list('features', packFiles.features.element),
      components: list('components', packFiles.components.element),
      families: list('families', packFiles.families.element),
      pairing: list('pairing', packFiles.pairing.element),
      symptoms: list('symptoms', packFiles.symptoms.element),
      faults: list('faults', packFiles.faults.element),
      checks: list('checks', packFiles.checks.element),
      remedies: list('remedies', packFiles.remedies.element),
      functions: list('functions', packFiles.functions.element),
      cautions: list('cautions', packFiles.cautions.element),
      laws: list('laws', packFiles.laws.element),
      lessons: list('lessons', packFiles.lessons.element),
      factors: list('factors', packFiles.factors.element),
      rates: list('rates', packFiles.rates.element),
    },
    regions,
    languages: readLanguages(layers, findings),
    disposeFrom,
    broken,
    fileOf: (name) => join(folders[0] ?? '.', `${name}.yaml`),
    findings,
    version: sha256(keys.join()).slice(0, 12),
  };
}
