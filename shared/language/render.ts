/** Messages put into words. */
import { type Catalogue, catalogue, pluralCategories } from './catalogue.ts';
import { intlLocale, type Language, languageIn, locale as localeNow } from './locale.ts';
import { type InstantParts, Message, type MessageContent, type Part } from './message.ts';
import { writeNumber } from './say.ts';

/** How a surface marks instants, so that it can draw them in each reader's own zone. */
export interface Instants {
  mark: (at: Date, shows: InstantParts, words: string) => string;
  /** Somebody's words, in which nothing can be taken for such a mark. */
  unmarked: (text: string) => string;
}

/** How words are found: in which locale, with which translation of the pack. */
export interface Rendering {
  /** BCP 47. */
  locale: string;
  /** Texts of the knowledge pack in that language, by their English; none when not given. */
  packTexts?: ReadonlyMap<string, string>;
  /** Gets every English text that had to stay as it is. */
  missing?: (english: string) => void;
  /** Instants are written in words where it is not given. */
  instants?: Instants;
}

const once = <T>(make: (language: Language) => T): ((language: Language) => T) => {
  const made = new Map<Language, T>();
  return (language) => {
    const known = made.get(language) ?? make(language);
    made.set(language, known);
    return known;
  };
};
const plurals = once((language) => {
  const rules = new Intl.PluralRules(language);
  return { rules, categories: pluralCategories(rules) };
});
const lists = {
  conjunction: once((language) => new Intl.ListFormat(intlLocale(language), { type: 'conjunction' })),
  disjunction: once((language) => new Intl.ListFormat(intlLocale(language), { type: 'disjunction' })),
};
/** Languages that write names with a capital within a sentence too. */
const capitals: readonly Language[] = ['de'];

const filled = (text: string, hole: (name: string) => string | undefined): string =>
  text.replace(/\{(\w+)\}/g, (whole, name: string) => hole(name) ?? whole);

function formFor(entries: Catalogue, language: Language, content: MessageContent & { kind: 'counted' }) {
  const { one, many, count } = content;
  const { rules, categories } = plurals(language);
  const form = entries.get(one)?.[categories.indexOf(rules.select(count))];
  if (form !== undefined) return { text: form, found: true };
  return { text: plurals('en').rules.select(count) === 'one' ? one : many, found: language === 'en' };
}

function write(message: Message, how: Rendering): string {
  const { content } = message;
  const language = languageIn(how.locale);
  const part = (one: Part | undefined): string =>
    one === undefined || one === ''
      ? ''
      : typeof one === 'number'
        ? writeNumber(one, how.locale)
        : write(one, how);
  switch (content.kind) {
    case 'text': {
      const [translation] =
        language === 'en' ? [content.english] : (catalogue(language).get(content.english) ?? []);
      if (translation === undefined) how.missing?.(content.english);
      const parts = content.parts.map(part);
      return filled(translation ?? content.english, (name) => parts[Number(name)]);
    }
    case 'counted': {
      const { text, found } = formFor(catalogue(language), language, content);
      if (!found) how.missing?.(content.many);
      const parts = [content.count, ...content.parts].map(part);
      return filled(text, (name) => parts[Number(name)]);
    }
    case 'verbatim':
      return how.instants ? how.instants.unmarked(content.text) : content.text;
    case 'pack': {
      const translation = language === 'en' ? content.english : how.packTexts?.get(content.english);
      // A number is the same in every language.
      if (translation === undefined && /\p{L}{2}/u.test(content.english)) how.missing?.(content.english);
      return filled(translation ?? content.english, (name) =>
        Object.hasOwn(content.holes, name) ? part(content.holes[name]) : undefined,
      );
    }
    case 'list':
      return lists[content.type](language).format(content.items.map(part));
    case 'joined':
      return content.parts
        .map(part)
        .filter((text) => text !== '')
        .join(content.between);
    case 'cased': {
      const text = part(content.text);
      if (content.where === 'start') return text.replace(/^\p{Ll}/u, (letter) => letter.toUpperCase());
      return capitals.includes(language)
        ? text
        : text.replace(/^\p{Lu}(?!\p{Lu})/u, (letter) => letter.toLowerCase());
    }
    case 'mapped':
      return content.map(part(content.text));
    case 'instant': {
      const words = part(content.words);
      return how.instants ? how.instants.mark(content.at, content.shows, words) : words;
    }
    case 'formatted':
      return content.write(how.locale);
  }
}

/** A message in words: in the locale of the request, where none is given. */
export const render = (message: Message, how: Rendering | string = localeNow()): string =>
  write(message, typeof how === 'string' ? { locale: how } : how);

/** A plain value with every message in it rendered; everything else stays as it is. */
export function renderAll(value: unknown, how: Rendering): unknown {
  if (Message.is(value)) return write(value, how);
  if (Array.isArray(value)) return value.map((one) => renderAll(one, how));
  if (typeof value !== 'object' || value === null || Object.getPrototypeOf(value) !== Object.prototype)
    return value;
  return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, renderAll(one, how)]));
}
