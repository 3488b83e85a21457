/**
 * The pack's texts in other languages, each beside the English that it stands for: a folder a language within the pack's
 * (`de/checks.yaml`, `de/cautions.yaml` ...). An entry has the id of the English one and its texts alone, in their order;
 * numbers, grounds, hazards and tone stay in the English file. Names that something is also found by are the language's own,
 * as many as it has.
 */
import { dirname, join } from 'node:path';
import { z } from 'zod';
import type { Finding } from './locate.ts';
import type { PackEntries, PackEntry } from './pack-entry.ts';
import { cautionSchema, idSchema, regionSchema } from './schema.ts';

/** The file that these checks run from: a pack that passed an older one is checked anew. */
export const translationFile = import.meta.filename;

const text = z.string().trim().min(1).max(800);
const texts = z.array(text);
const entry = <S extends z.core.$ZodLooseShape>(shape: S) =>
  z.array(z.strictObject({ id: idSchema, ...shape }));

/** Parts of a caution that hold statements, in the order in which they are said. */
export const statementParts = ['do', 'dont', 'stopWhen', 'getHelp', 'dispose'] as const;

/** The files of a language's folder. */
export const translationFiles = {
  features: entry({ says: text }),
  components: entry({ name: text, plain: texts, handling: texts, test: text }),
  families: entry({
    name: text,
    about: text,
    open: z.strictObject({ steps: texts, breaks: text.nullable(), tools: texts }),
    board: z.strictObject({ steps: texts }),
    close: z.strictObject({ note: text }),
    cell: z.strictObject({ note: text }),
  }),
  pairing: entry({ loses: text, mends: text }),
  symptoms: entry({ name: text, alias: texts }),
  faults: entry({ name: text, why: text }),
  /** `outcomes`: what each says, by its id. */
  checks: entry({
    name: text,
    ask: text,
    why: text.optional(),
    needs: texts,
    outcomes: z.record(idSchema, text),
  }),
  remedies: entry({ name: text, steps: texts, disclose: texts }),
  functions: entry({ name: text, how: text }),
  cautions: entry({
    name: text,
    alias: texts,
    lead: text,
    short: cautionSchema.shape.short,
    do: texts,
    dont: texts,
    stopWhen: texts,
    getHelp: texts,
    dispose: texts,
  }),
  laws: entry({ title: text, says: texts, limits: texts }),
  lessons: entry({ says: text }),
  factors: entry({ says: text }),
  rates: entry({ says: text }),
  regions: z.strictObject({ dispose: regionSchema.shape.dispose }),
} as const;
export type TranslationFile = keyof typeof translationFiles;
export type TranslatedList = Exclude<TranslationFile, 'regions'>;

/** Texts of an entry, laid out as they are in its translation. */
type Texts = string | null | undefined | readonly Texts[] | { readonly [key: string]: Texts };

interface EnglishEntry {
  texts: Texts;
  file: string;
}
type English = Readonly<Record<TranslatedList, ReadonlyMap<string, EnglishEntry>>>;

const textsOf = <T>(
  entries: ReadonlyMap<string, PackEntry<T>>,
  pick: (value: T) => Texts,
): Map<string, EnglishEntry> =>
  new Map([...entries].map(([id, { value, file }]) => [id, { texts: pick(value), file }]));

/** What there is to translate. */
export const englishOf = (entries: PackEntries): English => ({
  features: textsOf(entries.features, ({ says }) => ({ says })),
  components: textsOf(entries.components, ({ name, plain, handling, test }) => ({
    name,
    plain,
    handling,
    test,
  })),
  families: textsOf(entries.families, ({ name, about, open, board, close, cell }) => ({
    name,
    about,
    open: { steps: open.steps, breaks: open.breaks, tools: open.tools },
    board: { steps: board.steps },
    close: { note: close.note },
    cell: { note: cell.note },
  })),
  pairing: textsOf(entries.pairing, ({ loses, mends }) => ({ loses, mends })),
  symptoms: textsOf(entries.symptoms, ({ name, alias }) => ({ name, alias })),
  faults: textsOf(entries.faults, ({ name, why }) => ({ name, why })),
  checks: textsOf(entries.checks, ({ name, ask, why, needs, outcomes }) => ({
    name,
    ask,
    why,
    needs,
    outcomes: Object.fromEntries(outcomes.map(({ id, says }) => [id, says])),
  })),
  remedies: textsOf(entries.remedies, ({ name, steps, disclose }) => ({ name, steps, disclose })),
  functions: textsOf(entries.functions, ({ name, how }) => ({ name, how })),
  cautions: textsOf(entries.cautions, (caution) => ({
    name: caution.name,
    alias: caution.alias,
    lead: caution.lead,
    short: caution.short,
    ...Object.fromEntries(statementParts.map((part) => [part, caution[part].map(({ says }) => says)])),
  })),
  laws: textsOf(entries.laws, ({ title, says, limits }) => ({ title, says, limits })),
  lessons: textsOf(entries.lessons, ({ says }) => ({ says })),
  factors: textsOf(entries.factors, ({ says }) => ({ says })),
  rates: textsOf(entries.rates, ({ says }) => ({ says })),
});

/** An entry's texts and where they stand. */
interface TranslatedEntry {
  texts: Texts;
  file: string;
  index: number;
}
export interface TranslationLayers {
  entries: Map<TranslatedList, Map<string, TranslatedEntry>>;
  /** Where cells go, by the codes of `regions.yaml`. */
  dispose: Map<string, { says: string; file: string }>;
  /** Folders of packs that have this language. */
  folders: Set<string>;
  /** Files that are there. */
  files: Set<string>;
}

/** Texts in another language. */
interface Translation {
  /** By their English. A text that was changed since is not there, and is said in English. */
  texts: ReadonlyMap<string, string>;
  /** By file and id, such as `components/battery`: what it is also called. */
  names: ReadonlyMap<string, readonly string[]>;
}
/** By the language's two letters (ISO 639-1). English is the pack itself. */
export type Translations = ReadonlyMap<string, Translation>;

/** Fields with the names that something is also found by. */
const nameFields = new Set(['alias', 'plain']);
const isList = (value: Texts): value is readonly Texts[] => Array.isArray(value);
const nameOf = (value: Texts): string[] =>
  typeof value === 'object' && value !== null && !isList(value) && typeof value.name === 'string'
    ? [value.name]
    : [];
const namesOf = (value: Texts): string[] =>
  typeof value === 'object' && value !== null && !isList(value)
    ? Object.entries(value).flatMap(([key, those]) =>
        nameFields.has(key) && isList(those) ? those.filter((one) => typeof one === 'string') : [],
      )
    : [];

interface Pair {
  path: PropertyKey[];
  english: string;
  other: string;
}
/** Each text beside its translation; `report` gets what the two do not have in common. */
function pairsOf(
  english: Texts,
  other: Texts,
  path: PropertyKey[],
  report: (path: PropertyKey[], problem: string) => void,
): Pair[] {
  const where = path.join('.');
  if (typeof english === 'string' && typeof other === 'string') return [{ path, english, other }];
  if (isList(english) && isList(other)) {
    if (english.length !== other.length) {
      report(path, `${where} has ${other.length} texts for ${english.length}`);
      return [];
    }
    return english.flatMap((one, index) => pairsOf(one, other[index], [...path, index], report));
  }
  if (typeof english === 'object' && typeof other === 'object' && english && other) {
    const [from, to] = [new Map(Object.entries(english)), new Map(Object.entries(other))];
    return (
      [...new Set([...from.keys(), ...to.keys()])]
        // An outcome may be called like a list of names: it is a text.
        .filter((key) => key !== 'id' && !(nameFields.has(key) && typeof from.get(key) !== 'string'))
        .flatMap((key) => pairsOf(from.get(key), to.get(key), [...path, key], report))
    );
  }
  const [has, wants] = [english ?? null, other ?? null];
  if (has !== null && wants === null) report(path, `lacks ${where}`);
  if (has === null && wants !== null) report(path, `has ${where}, which the English has not`);
  return [];
}

/** Every English text that is to be translated, with the entry that it stands in: `checks/charge-current`. */
export function textsToTranslate(
  english: English,
  dispose: Readonly<Record<string, string>>,
): Map<string, string> {
  const found = new Map<string, string>();
  for (const [file, entries] of Object.entries(english)) {
    for (const [id, { texts: own }] of entries)
      for (const { english: one } of pairsOf(own, own, [], ignored)) found.set(one, `${file}/${id}`);
  }
  for (const [code, one] of Object.entries(dispose)) found.set(one, `regions/${code}`);
  return found;
}

const ignored = () => undefined;

/** What there is in each language. */
export const translationsOf = (
  languages: ReadonlyMap<string, TranslationLayers>,
  english: English,
  dispose: Readonly<Record<string, string>>,
): Translations =>
  new Map(
    [...languages].map(([language, layers]) => {
      const known = new Map<string, string>();
      const names = new Map<string, readonly string[]>();
      for (const [file, entries] of layers.entries) {
        for (const [id, { texts: other }] of entries) {
          const own = english[file].get(id);
          if (!own) continue;
          for (const pair of pairsOf(own.texts, other, [], ignored)) known.set(pair.english, pair.other);
          names.set(`${file}/${id}`, namesOf(other));
        }
      }
      for (const [code, { says }] of layers.dispose) {
        const own = dispose[code];
        if (own !== undefined) known.set(own, says);
      }
      return [language, { texts: known, names }];
    }),
  );

/** Numbers of a text without their points and commas: "0.05" and "0,05" are alike, "1,000" and "1.000" too. */
const numbersIn = (one: string): string =>
  [...one.matchAll(/\d[\d.,]*\d|\d/g)]
    .map(([number]) => number.replace(/[.,]/g, ''))
    .sort()
    .join(' ');
const marksIn = (one: string): string =>
  [...one.matchAll(/\{[^}]*\}/g)]
    .map(([mark]) => mark)
    .sort()
    .join(' ');

/** What a sentence lacks of, or has beside, its English: what is filled in, and every number. */
function difference(english: string, other: string): string | null {
  if (marksIn(english) !== marksIn(other)) return `fills in "${marksIn(other)}" for "${marksIn(english)}"`;
  if (numbersIn(english) !== numbersIn(other))
    return `has the numbers "${numbersIn(other)}" for "${numbersIn(english)}"`;
  return null;
}

export interface ToTranslate {
  english: English;
  /** Where cells go, by region. */
  dispose: Readonly<Record<string, string>>;
  /** The folder that each of those texts is from. */
  disposeFrom: ReadonlyMap<string, string>;
  /** Every entry of the English file could be read. */
  whole: (file: TranslatedList) => boolean;
}

/** What a language must have: all that is about safety, and the whole of any file that it begins. */
const isWanted = (layers: TranslationLayers, folder: string, language: string, file: TranslationFile) =>
  layers.folders.has(folder) &&
  (file === 'cautions' || file === 'regions' || layers.files.has(join(folder, language, `${file}.yaml`)));

/** What is missing, extra or unlike the English in the languages of a pack. */
export function checkTranslations(
  languages: ReadonlyMap<string, TranslationLayers>,
  { english, dispose, disposeFrom, whole }: ToTranslate,
): Finding[] {
  const findings: Finding[] = [];
  for (const [language, layers] of languages) {
    /** Where an English text was translated first: a text is found by its English, so it can have one translation only. */
    const first = new Map<string, { other: string; file: string; id: string }>();
    const files = Object.keys(translationFiles).filter((name): name is TranslatedList => name !== 'regions');
    for (const file of files) {
      const entries = layers.entries.get(file) ?? new Map<string, TranslatedEntry>();
      for (const [id, { file: from }] of english[file]) {
        const folder = dirname(from);
        if (!entries.has(id) && isWanted(layers, folder, language, file))
          findings.push({ file: join(folder, language, `${file}.yaml`), path: [], problem: `lacks ${id}` });
      }
      const names = new Map<string, string>();
      for (const [id, { texts: other, file: where, index }] of entries) {
        const report = (path: PropertyKey[], problem: string) =>
          findings.push({ file: where, path: [index, ...path], problem: `${id}: ${problem}` });
        const own = english[file].get(id);
        if (!own) {
          if (whole(file)) report(['id'], `translates nothing of ${file}.yaml`);
          continue;
        }
        for (const pair of pairsOf(own.texts, other, [], report)) {
          const problem = difference(pair.english, pair.other);
          if (problem) report(pair.path, `${pair.path.join('.')} ${problem}`);
          const before = first.get(pair.english);
          if (before && before.other !== pair.other)
            report(pair.path, `"${pair.english}" is "${before.other}" in ${before.id}`);
          else first.set(pair.english, { other: pair.other, file: where, id });
        }
        const also = namesOf(other);
        for (const name of also.length ? [...nameOf(other), ...also] : []) {
          const key = name.toLocaleLowerCase(language).replace(/[\s_-]+/g, ' ');
          const taken = names.get(key);
          if (taken !== undefined && taken !== id) report(['alias'], `"${name}" is also a name of ${taken}`);
          names.set(key, taken ?? id);
        }
      }
    }
    for (const [code, folder] of disposeFrom) {
      if (isWanted(layers, folder, language, 'regions') && !layers.dispose.has(code))
        findings.push({
          file: join(folder, language, 'regions.yaml'),
          path: ['dispose'],
          problem: `lacks ${code}`,
        });
    }
    for (const [code, { file, says }] of layers.dispose) {
      const own = dispose[code];
      const problem = own === undefined ? 'is no region of the pack' : difference(own, says);
      if (problem) findings.push({ file, path: ['dispose', code], problem: `${code} ${problem}` });
    }
  }
  return findings;
}
