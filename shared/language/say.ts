/**
 * How a message is made. What people read is written in English where it is used, as say`...`, whenever that code runs; it is
 * put into words in the reader's language when the reply is made.
 */
import { intlLocale, languageIn } from './locale.ts';
import { type InstantParts, Message, type Part } from './message.ts';

/** The English text of a template, with {0}, {1} ... for what is put in. It is the message's id. */
const idOf = (english: TemplateStringsArray): string =>
  english.map((part, index) => (index ? `{${index - 1}}${part}` : part)).join('');

/** A text in English, translated by the catalogues. */
export const say = (english: TemplateStringsArray, ...parts: readonly Part[]): Message =>
  new Message({ kind: 'text', english: idOf(english), parts });

/** "1 job", "3 jobs": `{0}` is the count, `{1}` ... what else is put in. */
export const counted = (count: number, one: string, many: string, ...parts: readonly Part[]): Message =>
  new Message({ kind: 'counted', one, many, count, parts });

/** Names and people's own words. A text that is written in the sources does not fit: that is a message, or is typed. */
export const verbatim = <T extends string>(text: string extends T ? T : never): Message =>
  new Message({ kind: 'verbatim', text });

/** What is typed, or is a sign or a code: the same in every language. */
export const typed = (text: string): Message => new Message({ kind: 'verbatim', text });

/** What is put between signs alone, such as plain`${label}: ${value}`. */
export const plain = (signs: TemplateStringsArray, ...parts: readonly Part[]): Message =>
  joined(
    signs.flatMap((sign, index): Part[] => [
      ...(index ? [parts[index - 1] ?? ''] : []),
      ...(sign ? [typed(sign)] : []),
    ]),
    '',
  );

/** A text of the knowledge pack; `holes` are what its {names} stand for. */
export const packText = (english: string, holes: Readonly<Record<string, Part>> = {}): Message =>
  new Message({ kind: 'pack', english, holes });

/** "a", "a and b", "a, b and c", as the language has it. */
export const listWords = (items: readonly Message[]): Message =>
  new Message({ kind: 'list', items, type: 'conjunction' });

/** "a", "a or b", "a, b or c", as the language has it. */
export const orList = (items: readonly Message[]): Message =>
  new Message({ kind: 'list', items, type: 'disjunction' });

/** One after the other; empty ones are left out. */
export const joined = (parts: readonly Part[], between = ' '): Message =>
  new Message({ kind: 'joined', parts: parts.filter((part) => part !== ''), between });

/** "a, b, c": with commas alone. */
export const inRow = (parts: readonly Part[]): Message => joined(parts, ', ');

/** A name that stands within a sentence. */
export const inSentence = (name: Message): Message =>
  new Message({ kind: 'cased', text: name, where: 'inside' });

/** Words at the beginning of a sentence. */
export const atStart = (text: Message): Message => new Message({ kind: 'cased', text, where: 'start' });

/** The words of a message, changed as text: escaped for the format that they go into. */
export const mapped = (text: Message, map: (text: string) => string): Message =>
  new Message({ kind: 'mapped', text, map });

/** What is written by the rules of a locale (BCP 47), by Intl. */
export const formatted = (write: (locale: string) => string): Message =>
  new Message({ kind: 'formatted', write });

/** Making one takes far longer than using it. */
const numbers = new Map<string, Intl.NumberFormat>();
function numberFormat(locale: string, options: Intl.NumberFormatOptions): Intl.NumberFormat {
  const key = `${locale} ${JSON.stringify(options)}`;
  const known = numbers.get(key);
  if (known) return known;
  const made = new Intl.NumberFormat(intlLocale(locale), options);
  numbers.set(key, made);
  return made;
}

/** A number as the locale writes it: all of its decimals, no grouping, since most are typed back. */
export const writeNumber = (value: number, locale: string): string =>
  numberFormat(locale, { useGrouping: false, maximumFractionDigits: 20 }).format(value);

/** A number with just so many decimals. */
export const fixed = (value: number, decimals: number): Message =>
  formatted((locale) =>
    numberFormat(locale, {
      useGrouping: false,
      minimumFractionDigits: decimals,
      maximumFractionDigits: decimals,
    }).format(value),
  );

/** A number with a unit's symbol (SI Brochure 5.4.3: a space between them), which is the same in every language. */
export const quantity = (value: number, unit: string): Message =>
  formatted((locale) => `${writeNumber(value, locale)} ${unit}`);

/** 0.14 as "14 %", whole percents. English writes the space too, as the SI Brochure has it (5.4.7). */
export const percentOf = (share: number): Message =>
  formatted((locale) =>
    languageIn(locale) === 'en'
      ? `${Math.round(share * 100)} %`
      : plainSpaces(
          numberFormat(locale, { style: 'percent', maximumFractionDigits: 0 }).format(
            Math.round(share * 100) / 100,
          ),
        ),
  );

const dates = new Map<string, Intl.DateTimeFormat>();
function dateFormat(locale: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = `${locale} ${JSON.stringify(options)}`;
  const known = dates.get(key);
  if (known) return known;
  const made = new Intl.DateTimeFormat(intlLocale(locale), options);
  dates.set(key, made);
  return made;
}

/** Versions of Intl differ in which kind of space they write. */
const plainSpaces = (text: string): string => text.replace(/[\u00a0\u2009\u202f]/g, ' ');

/** An instant as the locale writes it. `options` names the time zone. */
export const dateOf = (at: Date, options: Intl.DateTimeFormatOptions & { timeZone: string }): Message =>
  formatted((locale) => plainSpaces(dateFormat(locale, options).format(at)));

/** An instant: `words` as the locale has it in the collective's zone, or as a surface draws such. A calendar day is none. */
export const instant = (at: Date, shows: InstantParts, words: Message): Message =>
  new Message({ kind: 'instant', at, shows, words });

/** From one day to another, with what both have in common said once. */
export const datesOf = (
  from: Date,
  until: Date,
  options: Intl.DateTimeFormatOptions & { timeZone: string },
): Message => formatted((locale) => plainSpaces(dateFormat(locale, options).formatRange(from, until)));
