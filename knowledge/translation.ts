/**
 * The pack's safety texts in other languages, each beside the English that it stands for: a folder a language within the
 * pack's (`de/cautions.yaml`, `de/regions.yaml`). Grounds, hazards and tone stay in the English file; sentences keep its order.
 */
import { dirname, join } from 'node:path';
import { z } from 'zod';
import type { Finding } from './locate.ts';
import { type Caution, cautionSchema, idSchema, type Regions, regionSchema } from './schema.ts';

/** The file that these checks run from: a pack that passed an older one is checked anew. */
export const translationFile = import.meta.filename;

const text = z.string().trim().min(1).max(600);
const says = z.array(text).min(1);

/** Parts of a caution that hold statements, in the order in which they are said. */
export const statementParts = ['do', 'dont', 'stopWhen', 'getHelp', 'dispose'] as const;

const cautionTextsSchema = z.strictObject({
  id: idSchema,
  name: text,
  alias: z.array(text),
  lead: text,
  short: cautionSchema.shape.short,
  /** One a statement of the English caution, in its order. */
  do: says,
  dont: says,
  stopWhen: says,
  getHelp: says,
  dispose: says,
});
type CautionTexts = z.infer<typeof cautionTextsSchema>;

/** The files of a language's folder. */
export const translationFiles = {
  cautions: z.array(cautionTextsSchema),
  regions: z.strictObject({ dispose: regionSchema.shape.dispose }),
} as const;
export type TranslationFile = keyof typeof translationFiles;

interface Translation {
  cautions: ReadonlyMap<string, CautionTexts>;
  /** Where a cell goes, by the codes of `regions.yaml`. */
  dispose: Readonly<Record<string, string>>;
}

/** By the language's two letters (ISO 639-1). English is the pack itself. */
export type Translations = Readonly<Record<string, Translation>>;

type Translated = { translations: Translations };

/**
 * A caution in a language (ISO 639-1). `fellBack`: the language lacks it, so that it is in English, which the reply has to say.
 */
export function cautionIn(
  { translations }: Translated,
  caution: Caution,
  language: string,
): { caution: Caution; fellBack: boolean } {
  if (language === 'en') return { caution, fellBack: false };
  const texts = Object.hasOwn(translations, language)
    ? translations[language]?.cautions.get(caution.id)
    : undefined;
  if (!texts) return { caution, fellBack: true };
  const put = (part: (typeof statementParts)[number]) =>
    caution[part].map((statement, index) => ({ ...statement, says: texts[part][index] ?? statement.says }));
  const { name, lead, short } = texts;
  return {
    caution: {
      ...caution,
      name,
      lead,
      short,
      // Names in English find it too: a bench speaks both.
      alias: [...new Set([...texts.alias, caution.name, ...caution.alias])],
      do: put('do'),
      dont: put('dont'),
      stopWhen: put('stopWhen'),
      getHelp: put('getHelp'),
      dispose: put('dispose'),
    },
    fellBack: false,
  };
}

/** Regions with where a cell goes said in a language; in English where the language lacks it. */
export function regionsIn(
  { translations, regions }: Translated & { regions: Regions },
  language: string,
): Regions {
  const texts = Object.hasOwn(translations, language) ? translations[language] : undefined;
  return texts ? { ...regions, dispose: { ...regions.dispose, ...texts.dispose } } : regions;
}

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

/** What is wrong with a translated caution beside its English. */
function translationProblems(
  caution: Caution,
  texts: CautionTexts,
): { path: PropertyKey[]; problem: string }[] {
  const problems: { path: PropertyKey[]; problem: string }[] = [];
  const compare = (path: PropertyKey[], english: string, other: string) => {
    const problem = difference(english, other);
    if (problem) problems.push({ path, problem: `${path.join('.')} ${problem}` });
  };
  compare(['lead'], caution.lead, texts.lead);
  if ((caution.short === undefined) !== (texts.short === undefined))
    problems.push({
      path: ['short'],
      problem: caution.short ? 'lacks short' : 'has a short that the English lacks',
    });
  else compare(['short'], caution.short ?? '', texts.short ?? '');
  for (const part of statementParts) {
    const [wanted, has] = [caution[part].length, texts[part].length];
    if (wanted !== has)
      problems.push({ path: [part], problem: `${part} has ${has} sentences for ${wanted}` });
    else
      caution[part].forEach((statement, index) => {
        compare([part, index], statement.says, texts[part][index] ?? '');
      });
  }
  return problems;
}

/** A caution's texts and where they stand. */
interface TranslatedEntry {
  value: CautionTexts;
  file: string;
  index: number;
}
export interface TranslationLayers {
  cautions: Map<string, TranslatedEntry>;
  dispose: Map<string, { says: string; file: string }>;
  /** Folders of packs that have this language: what they say in English they must say in it. */
  folders: Set<string>;
}

/**
 * What is missing, extra or unlike the English in the languages of a pack. `disposeFrom`: the folder that each code's text
 * of where cells go is from. `whole`: every caution could be read.
 */
export function checkTranslations(
  languages: ReadonlyMap<string, TranslationLayers>,
  cautions: ReadonlyMap<string, { value: Caution; file: string }>,
  regions: Regions,
  disposeFrom: ReadonlyMap<string, string>,
  whole: boolean,
): Finding[] {
  const findings: Finding[] = [];
  for (const [language, { cautions: texts, dispose, folders }] of languages) {
    for (const { value, file } of cautions.values()) {
      const folder = dirname(file);
      if (folders.has(folder) && !texts.has(value.id))
        findings.push({
          file: join(folder, language, 'cautions.yaml'),
          path: [],
          problem: `lacks ${value.id}`,
        });
    }
    const names = new Map<string, string>();
    for (const { value, file, index } of texts.values()) {
      const report = (path: PropertyKey[], problem: string) =>
        findings.push({ file, path: [index, ...path], problem: `${value.id}: ${problem}` });
      const english = cautions.get(value.id)?.value;
      if (!english) {
        if (whole) report(['id'], 'translates no caution of the pack');
        continue;
      }
      for (const { path, problem } of translationProblems(english, value)) report(path, problem);
      for (const name of [value.name, ...value.alias]) {
        const key = name.toLocaleLowerCase(language).replace(/[\s_-]+/g, ' ');
        const other = names.get(key);
        if (other !== undefined && other !== value.id)
          report(['alias'], `"${name}" is also a name of ${other}`);
        names.set(key, other ?? value.id);
      }
    }
    for (const [code, folder] of disposeFrom) {
      if (folders.has(folder) && !dispose.has(code))
        findings.push({
          file: join(folder, language, 'regions.yaml'),
          path: ['dispose'],
          problem: `lacks ${code}`,
        });
    }
    for (const [code, { file, says: sentence }] of dispose) {
      const english = regions.dispose[code];
      const problem = english === undefined ? 'is no region of the pack' : difference(english, sentence);
      if (problem) findings.push({ file, path: ['dispose', code], problem: `${code} ${problem}` });
    }
  }
  return findings;
}
