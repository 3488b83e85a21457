/** Lookups of the standards' own lists: currencies (ISO 4217), regions (ISO 3166) and time zones (IANA), as Intl has them. */

import { type Language, languageIn } from '../../shared/language/locale.ts';
import { say } from '../../shared/language/say.ts';
import { currencyCodes } from '../../shared/money/currency.ts';
import { nameKey } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import type { Lookup, Named } from '../framework/lookup.ts';
import { countryKeys, namesOfCountry } from './country-names.ts';

const byKey = (text: string, entries: readonly Named[]): Named | undefined => {
  const key = nameKey(text);
  return entries.find(({ id, alias }) => [id, ...(alias ?? [])].some((name) => nameKey(name) === key));
};

/** Computed at first use: few requests need them. */
const once = <T>(make: () => T): (() => T) => {
  let made: { value: T } | undefined;
  return () => {
    made ??= { value: make() };
    return made.value;
  };
};

/** Codes with their names, in English and in the asker's language. */
const withNames = (
  type: 'currency' | 'region',
  codes: () => readonly string[],
  more: (code: string) => readonly string[] = () => [],
) => {
  const made = new Map<Language, Named[]>();
  return ({ locale }: Pick<Context, 'locale'>): Named[] => {
    const language = languageIn(locale);
    const names = [...new Set<Language>(['en', language])].map(
      (one) => new Intl.DisplayNames([one], { type, fallback: 'none' }),
    );
    const known =
      made.get(language) ??
      codes().map((code) => ({
        id: code,
        name: code,
        alias: [...new Set([...names.flatMap((one) => one.of(code) ?? []), ...more(code)])],
      }));
    made.set(language, known);
    return known;
  };
};

export const currencies: Lookup = {
  which: say`Which currency?`,
  none: (text) => say`no currency is called "${text}"`,
  expected: say`an ISO 4217 code, such as AUD`,
  entries: withNames('currency', currencyCodes),
  find: byKey,
};

/** Codes that Intl names although ISO 3166-1 has not assigned them: reserved, for private use, or for tests. */
const NOT_ASSIGNED = new Set('AC CP CQ DG EA EU EZ IC QO TA UN XA XB XK ZZ'.split(' '));

/** The officially assigned alpha-2 codes of ISO 3166-1. */
export const countryCodes = once(() => {
  const name = new Intl.DisplayNames(['en'], { type: 'region', fallback: 'none' });
  const letters = [...'ABCDEFGHIJKLMNOPQRSTUVWXYZ'];
  return letters
    .flatMap((first) => letters.map((second) => first + second))
    .filter(
      (code) =>
        name.of(code) !== undefined &&
        !NOT_ASSIGNED.has(code) &&
        // A withdrawn code has a name too, but is read as the one that took its place.
        new Intl.Locale(`und-${code}`).region === code,
    );
});
const countryEntries = withNames('region', countryCodes, namesOfCountry);

/** Codes of the countries by all that they are called; a name that two have is neither's. */
const codesByName = once(() => {
  const codes = new Map<string, string | null>();
  for (const code of countryCodes())
    for (const key of new Set(namesOfCountry(code).flatMap(countryKeys)))
      codes.set(key, codes.has(key) ? null : code);
  return codes;
});

/** By its code before any name: "RU" is not the Spanish short form of another country. */
function countryCalled(text: string, entries: readonly Named[]): Named | undefined {
  const key = nameKey(text);
  const byCode = entries.find(({ id }) => nameKey(id) === key);
  if (byCode) return byCode;
  const code = countryKeys(text)
    .map((one) => codesByName().get(one))
    .find(Boolean);
  return code ? entries.find(({ id }) => id === code) : undefined;
}

/** A country's name in a language; its code where Intl has none. */
export const countryName = (code: string, locale: string): string =>
  new Intl.DisplayNames([locale], { type: 'region', fallback: 'code' }).of(code) ?? code;

export const countries: Lookup = {
  which: say`Which country?`,
  none: (text) => say`no country is called "${text}"`,
  expected: say`a country by its name or its ISO 3166 code, such as Australia or AU`,
  entries: (context) =>
    countryEntries(context).map((one) => ({ ...one, name: countryName(one.id, languageIn(context.locale)) })),
  find: countryCalled,
};

/** Countries, and the states that the pack has law for. Another state is taken too where its country is known. */
export const regions: Lookup = {
  which: say`Which region?`,
  none: (text) => say`no region is called "${text}"`,
  expected: say`an ISO 3166 code: a country such as AU, or a state such as US-OR`,
  entries: (context) => [
    ...countryEntries(context),
    ...[...new Set(context.knowledge.laws.flatMap(({ region }) => region))]
      .filter((code) => code.includes('-'))
      .sort()
      .map((code) => ({ id: code, name: code })),
  ],
  find: (text, entries) => {
    const known = countryCalled(text, entries) ?? byKey(text, entries);
    if (known) return known;
    const code = text.trim().toUpperCase();
    const [country = ''] = code.split('-');
    return /^[A-Z]{2}-[A-Z0-9]{1,3}$/.test(code) && countryCodes().includes(country)
      ? { id: code, name: code }
      : undefined;
  },
};

const allZones = once(() =>
  [...new Set(['UTC', ...Intl.supportedValuesOf('timeZone')])].map((zone) => ({ id: zone, name: zone })),
);
const isZone = (text: string): boolean => {
  try {
    new Intl.DateTimeFormat('en', { timeZone: text });
    return true;
  } catch {
    return false;
  }
};

/** Zones of the IANA database; an older name that Intl still reads is taken too. Offsets such as +10:00 are not zones. */
export const zones: Lookup = {
  which: say`Which time zone?`,
  none: (text) => say`no time zone is called "${text}"`,
  expected: say`an IANA time zone, such as Australia/Sydney`,
  entries: allZones,
  find: (text, entries) => {
    const known = entries.find(({ id }) => id.toLowerCase() === text.trim().toLowerCase());
    if (known) return known;
    const name = text.trim();
    return /^[A-Za-z]/.test(name) && isZone(name) ? { id: name, name } : undefined;
  },
};
