/** Which languages the bot speaks, and the locale of the request that is being answered. */
import { AsyncLocalStorage } from 'node:async_hooks';

/** English is the language of the sources; each other one has a catalogue beside this file. */
export const languages = ['en', 'de'] as const;
export type Language = (typeof languages)[number];

const current = new AsyncLocalStorage<string>();

/** The locale (BCP 47) of what is being answered just now; "en" outside of any. */
export const locale = (): string => current.getStore() ?? 'en';

/** Runs something in a locale; it holds through everything that is waited for in it. */
export const withLocale = <T>(wanted: string, run: () => T): T => current.run(wanted, run);

/** The language of a locale: "de" for "de-AT"; null for a language that the bot does not speak. */
const spokenIn = (wanted: string): Language | null =>
  languages.find((one) => wanted.toLowerCase().split(/[-_]/)[0] === one) ?? null;

/** The language of the locale, English where the bot does not speak it. */
export const languageIn = (wanted: string): Language => spokenIn(wanted) ?? 'en';

/** How Intl writes in a locale. English without a region is the international one: the day before the month. */
export const intlLocale = (wanted: string): string => (wanted === 'en' ? 'en-GB' : wanted);

/** A person's own locale where the bot speaks its language, else the other one. Malformed ones count as none. */
export function localeFor(own: string | undefined, other: string): string {
  if (own === undefined || spokenIn(own) === null) return other;
  try {
    return Intl.getCanonicalLocales(own)[0] ?? other;
  } catch {
    return other;
  }
}
