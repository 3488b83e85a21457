/**
 * The translators' files: one gettext .po file a language, by the English text. They are edited with any tool for such
 * files. The forms of a count stand in the order of the Unicode CLDR's plural categories, as Intl names them.
 */
import { readFileSync } from 'node:fs';
import { po } from 'gettext-parser';
import { z } from 'zod';
import type { Language } from './locale.ts';

/** The translated text, or its forms by the categories of the language. */
type Wording = readonly string[];
/** By the English text; of a counted one, by its form for one. Untranslated ones are not in it. */
export type Catalogue = ReadonlyMap<string, Wording>;

const entrySchema = z.object({
  msgid: z.string(),
  msgid_plural: z.string().optional(),
  msgstr: z.array(z.string()),
  comments: z.object({ flag: z.string().optional() }).optional(),
});
export type CatalogueEntry = z.infer<typeof entrySchema>;
const fileSchema = z.object({
  /** None in a file without its first entry. */
  headers: z.record(z.string(), z.string()).default({}),
  translations: z.record(z.string(), z.record(z.string(), entrySchema)),
});

/** The entries of a .po file, in its order, and its headers. Throws where it is none. */
export function readCatalogue(text: string): {
  headers: Readonly<Record<string, string>>;
  entries: CatalogueEntry[];
} {
  const { headers, translations } = fileSchema.parse(po.parse(text));
  return {
    headers,
    entries: Object.values(translations[''] ?? {}).filter(({ msgid }) => msgid !== ''),
  };
}

/** Where the file of a language is. */
export const catalogueFile = (language: Exclude<Language, 'en'>): URL =>
  new URL(`./${language}.po`, import.meta.url);

const isFuzzy = ({ comments }: CatalogueEntry): boolean => /\bfuzzy\b/.test(comments?.flag ?? '');

/** What a file translates; an entry that is marked fuzzy is not used, as gettext does. */
export const catalogueOf = (text: string): Catalogue =>
  new Map(
    readCatalogue(text)
      .entries.filter((entry) => !isFuzzy(entry) && entry.msgstr.every((form) => form !== ''))
      .map(({ msgid, msgstr }) => [msgid, msgstr]),
  );

const read = new Map<Language, Catalogue>([['en', new Map()]]);

/** The catalogue of a language; its file is read once. */
export function catalogue(language: Language): Catalogue {
  const known = read.get(language);
  if (known || language === 'en') return known ?? new Map();
  const made = catalogueOf(readFileSync(catalogueFile(language), 'utf8'));
  read.set(language, made);
  return made;
}

const order: readonly Intl.LDMLPluralRule[] = ['zero', 'one', 'two', 'few', 'many', 'other'];

/** The plural categories of a language, in the order of its forms. */
export const pluralCategories = (rules: Intl.PluralRules): Intl.LDMLPluralRule[] =>
  order.filter((one) => rules.resolvedOptions().pluralCategories.includes(one));
