/**
 * What people read is written in English where it is used, as say`...`; a catalogue has it in other languages. The language is
 * set around what is done, rather than handed to every wording, and holds through everything that is waited for in it.
 */
import { AsyncLocalStorage } from 'node:async_hooks';
import type { Catalogue, Wording } from './catalogue-entry.ts';
import { german } from './de.ts';

export const catalogues = { en: {}, de: german } satisfies Record<string, Catalogue>;
export type Language = keyof typeof catalogues;
export const languages = ['en', 'de'] as const satisfies readonly Language[];

/** What may be put into a text; what is missing is written as in a template. */
type Value = string | number | null | undefined;

// Making one takes far longer than using it.
const plurals = { en: new Intl.PluralRules('en'), de: new Intl.PluralRules('de') } satisfies Record<
  Language,
  Intl.PluralRules
>;
const lists = {
  // Without the comma before "and".
  en: new Intl.ListFormat('en-GB', { type: 'conjunction' }),
  de: new Intl.ListFormat('de', { type: 'conjunction' }),
} satisfies Record<Language, Intl.ListFormat>;

const spoken = new AsyncLocalStorage<Language>();

/** The language that is spoken just now. */
export const language = (): Language => spoken.getStore() ?? 'en';

/** Runs what says something, in a language. */
export const speaking = <T>(wanted: Language, run: () => T): T => spoken.run(wanted, run);

const filled = (text: string, values: readonly unknown[]): string =>
  text.replace(/\{(\d)\}/g, (_, index: string) => String(values[Number(index)]));

const found = (english: string): Wording | undefined => {
  const catalogue: Catalogue = catalogues[language()];
  return Object.hasOwn(catalogue, english) ? catalogue[english] : undefined;
};

/** The text in the language of the moment; in English where its catalogue lacks it. */
export function say(english: TemplateStringsArray, ...values: readonly Value[]): string {
  if (language() !== 'en') {
    const wording = found(english.map((part, index) => (index ? `{${index - 1}}${part}` : part)).join(''));
    if (typeof wording === 'string') return filled(wording, values);
  }
  return english.map((part, index) => (index ? `${values[index - 1]}${part}` : part)).join('');
}

/** A text that was written down before anybody spoke, such as a command's summary. */
export function translated(english: string): string;
export function translated(english: string | undefined): string | undefined;
export function translated(english: string | undefined): string | undefined {
  if (english === undefined || language() === 'en') return english;
  const wording = found(english);
  return typeof wording === 'string' ? wording : english;
}

/** "1 job", "3 jobs": the form that the language has for a count. `{0}` is the count, `{1}` ... what else is put in. */
export function counted(count: number, one: string, many: string, ...values: readonly Value[]): string {
  const wording = found(many);
  const forms = typeof wording === 'object' ? wording : { one, other: many };
  const rule = plurals[wording === undefined ? 'en' : language()].select(count);
  return filled(forms[rule] ?? forms.other ?? many, [count, ...values]);
}

/** "a", "a and b", "a, b and c", as the language has it. */
export const listWords = (words: readonly string[]): string => lists[language()].format(words);
