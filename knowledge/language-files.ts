/** Files of words, one a language, in a folder of a pack: read, parsed once for each content, and laid over each other. */
import { readdirSync, readFileSync } from 'node:fs';
import { join, relative, resolve } from 'node:path';
import { z } from 'zod';
import { readParsed, sha256, writeParsed } from './cache.ts';
import type { Finding } from './locate.ts';
import { parseYaml } from './parse-yaml.ts';

const commas = (text: string): string[] =>
  text
    .split(',')
    .map((one) => one.trim())
    .filter((one) => one !== '');

/** A list, or one text with commas between. */
export const many = <T extends z.ZodType>(one: T) =>
  z.preprocess((value) => (typeof value === 'string' ? commas(value) : value), z.array(one));

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

/** Two files of a language as one: lists are joined, the words of a set too. */
export function joinFiles(below: unknown, above: unknown): unknown {
  if (typeof below === 'string' && typeof above === 'string') return `${below}, ${above}`;
  const lists = [below, above].map((one) => (typeof one === 'string' ? commas(one) : one));
  if (lists.every(Array.isArray)) return lists.flat();
  if (!isRecord(below) || !isRecord(above)) return above;
  const both = { ...below };
  for (const [key, value] of Object.entries(above))
    both[key] = key in both ? joinFiles(both[key], value) : value;
  return both;
}

const filesOf = (folder: string, kind: string): string[] => {
  try {
    return readdirSync(join(folder, kind))
      .filter((name) => /\.ya?ml$/.test(name))
      .sort();
  } catch {
    return [];
  }
};

export interface LanguageFiles {
  /** In the order of the folders, and in each by name. */
  texts: { file: string; name: string; text: string }[];
  /** What each file holds, unchecked, by its path; a file that is no YAML is missing here and told of. */
  raw: Readonly<Record<string, unknown>>;
  findings: Finding[];
  /** Changes when any file does. */
  version: string;
}

/** The files of `kind` (a folder's name, as `words`) in pack folders; a folder without any has none. Throws nothing. */
export function readLanguageFiles(
  folders: readonly string[],
  kind: string,
  cache: string | null,
): LanguageFiles {
  const findings: Finding[] = [];
  const texts = folders.flatMap((folder) =>
    filesOf(folder, kind).map((name) => {
      const file = join(folder, kind, name);
      return { file, name, text: readFileSync(file, 'utf8') };
    }),
  );
  const version = sha256(JSON.stringify(texts.map(({ name, text }) => [name, text]))).slice(0, 12);
  // By their places beside the cache: an installation may be moved.
  const places = folders.map((folder) => (cache === null ? folder : relative(cache, resolve(folder))));
  const cacheName = `${kind}-${sha256(places.join('\n')).slice(0, 16)}.json`;
  const before = texts.length ? readParsed(cache, cacheName, version) : undefined;
  if (before) return { texts, raw: before, findings, version };
  const raw: Record<string, unknown> = {};
  for (const { file, text } of texts) {
    const parsed = parseYaml(file, text, findings);
    if (parsed) raw[file] = parsed.raw;
  }
  if (texts.length && findings.length === 0) writeParsed(cache, cacheName, version, raw);
  return { texts, raw, findings, version };
}
