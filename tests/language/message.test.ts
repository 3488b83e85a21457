/**
 * Messages as values. Plural rules and list patterns are those of the Unicode CLDR, as Intl has them
 * (https://www.unicode.org/cldr/charts/latest/supplemental/language_plural_rules.html).
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { catalogue, catalogueOf, readCatalogue } from '../../shared/language/catalogue.ts';
import { locale, localeFor, withLocale } from '../../shared/language/locale.ts';
import { Message } from '../../shared/language/message.ts';
import { render, renderAll } from '../../shared/language/render.ts';
import {
  counted,
  datesOf,
  inRow,
  inSentence,
  joined,
  listWords,
  orList,
  packText,
  percentOf,
  plain,
  quantity,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';

const name = (text: string): Message => verbatim(text);

describe('a message', () => {
  it('is in English as a template gives it, whatever is put in', () => {
    fc.assert(
      fc.property(fc.string(), fc.integer({ min: 0 }), (text, number) => {
        expect(render(say`Job ${number} is open: ${name(text)}`, 'en')).toBe(
          `Job ${number} is open: ${text}`,
        );
      }),
    );
  });
  it('puts the same things in in every language, also those that look like a hole', () => {
    expect(render(say`Job ${3} is open: ${name('{0} {1} $&')}`, 'de')).toBe(
      'Auftrag 3 ist offen: {0} {1} $&',
    );
  });
  it('made before anybody spoke is in the language of who reads it, with all that was put in', () => {
    const inner = counted(2, '{0} price', '{0} prices');
    const outer = say`Expected: ${inner}`;
    expect(render(outer, 'de')).toBe('Erwartet: 2 Preise');
    expect(render(outer, 'en')).toBe('Expected: 2 prices');
    expect(withLocale('de', () => render(outer))).toBe('Erwartet: 2 Preise');
    expect(locale()).toBe('en');
  });
  it('has the form that the language has for its count', () => {
    const price = (n: number) => counted(n, '{0} price', '{0} prices');
    expect([0, 1, 2].map((n) => render(price(n), 'en'))).toEqual(['0 prices', '1 price', '2 prices']);
    expect([0, 1, 2].map((n) => render(price(n), 'de'))).toEqual(['0 Preise', '1 Preis', '2 Preise']);
  });
  it('lists as the language does', () => {
    const items = ['a', 'b', 'c'].map(name);
    expect([0, 1, 2, 3].map((n) => render(listWords(items.slice(0, n)), 'en'))).toEqual([
      '',
      'a',
      'a and b',
      'a, b and c',
    ]);
    expect([listWords(items), orList(items)].map((one) => render(one, 'de'))).toEqual([
      'a, b und c',
      'a, b oder c',
    ]);
    expect(render(orList(items), 'en')).toBe('a, b or c');
  });
  it('writes numbers, shares, quantities and days as the locale does', () => {
    const zone = { timeZone: 'UTC', day: 'numeric', month: 'long', year: 'numeric' } as const;
    const [from, until] = [new Date('2026-11-23T00:00:00Z'), new Date('2026-11-29T00:00:00Z')];
    const both = (one: Message) => [render(one, 'en'), render(one, 'de')];
    expect(both(plain`${1234.5}`)).toEqual(['1234.5', '1234,5']);
    expect(both(percentOf(0.137))).toEqual(['14 %', '14 %']);
    expect(both(quantity(0.25, 'kg'))).toEqual(['0.25 kg', '0,25 kg']);
    expect(both(datesOf(from, until, zone)).map((text) => text.replaceAll(' – ', '–'))).toEqual([
      '23–29 November 2026',
      '23.–29. November 2026',
    ]);
  });
  it('joins what is not empty', () => {
    expect(render(joined([name('a'), '', name('b')]), 'en')).toBe('a b');
    expect(render(inRow([1, name('b')]), 'en')).toBe('1, b');
    expect(render(plain`${name('a')} (${2})`, 'en')).toBe('a (2)');
  });
  it('writes a name within a sentence as the language does', () => {
    const words = { packTexts: new Map([['Touch', 'Berührung']]) };
    expect(render(inSentence(packText('Touch')), 'en')).toBe('touch');
    expect(render(inSentence(packText('SIM')), 'en')).toBe('SIM');
    expect(render(inSentence(packText('Touch')), { locale: 'de', ...words })).toBe('Berührung');
  });
  it('takes a text of the pack from its translation, and fills it after that', () => {
    const text = packText('Call {emergency}.', { emergency: name('112') });
    const packTexts = new Map([['Call {emergency}.', 'Rufe {emergency}.']]);
    expect(render(text, { locale: 'de', packTexts })).toBe('Rufe 112.');
    expect(render(text, { locale: 'en', packTexts })).toBe('Call 112.');
  });
  it('stays in English where nobody has translated it, and that is told', () => {
    const missing: string[] = [];
    const how = { locale: 'de', missing: (english: string) => missing.push(english) };
    expect(render(new Message({ kind: 'text', english: 'nobody did', parts: [] }), how)).toBe('nobody did');
    expect(render(counted(2, 'nobody at all', 'nobodies at all'), how)).toBe('nobodies at all');
    expect(render(packText('not in the pack'), how)).toBe('not in the pack');
    expect(missing).toEqual(['nobody did', 'nobodies at all', 'not in the pack']);
  });
  it('is no string: it cannot be joined to one unseen', () => {
    expect(() => `${say`Sources`}`).toThrow(TypeError);
    expect(() => [say`Sources`].join()).toThrow(TypeError);
  });
  it('does not take a text of the sources for one that needs no translation', () => {
    // @ts-expect-error a literal is no person's own words
    verbatim('Some English');
    // @ts-expect-error an untagged literal is no message
    say`Expected: ${'a number'}`;
    expect(render(typed('/job list'), 'de')).toBe('/job list');
  });
  it('is rendered wherever it stands in a value, and nothing else is changed', () => {
    const at = new Date(0);
    expect(renderAll({ title: say`Sources`, rows: [[say`Sources`, 3, null]], at }, { locale: 'de' })).toEqual(
      {
        title: 'Quellen',
        rows: [['Quellen', 3, null]],
        at,
      },
    );
  });
});

describe('a locale', () => {
  it("is the person's own where the bot speaks its language", () => {
    expect(localeFor('de-AT', 'en')).toBe('de-AT');
    expect(localeFor('fr', 'de')).toBe('de');
    expect(localeFor(undefined, 'de')).toBe('de');
    expect(localeFor('de-', 'en')).toBe('en');
    expect(render(say`Sources`, 'de-AT')).toBe('Quellen');
  });
});

describe("a translators' file", () => {
  it('is gettext', () => {
    const { headers, entries } = readCatalogue(
      'msgid ""\nmsgstr ""\n"Language: de\\n"\n\nmsgid "a \\"b\\""\nmsgstr "c"\n',
    );
    expect(headers.Language).toBe('de');
    expect(entries).toMatchObject([{ msgid: 'a "b"', msgstr: ['c'] }]);
  });
  it('lends nothing that is empty or marked as not sure', () => {
    const file = 'msgid "a"\nmsgstr ""\n\n#, fuzzy\nmsgid "b"\nmsgstr "B"\n\nmsgid "c"\nmsgstr "C"\n';
    expect([...catalogueOf(file).keys()]).toEqual(['c']);
  });
  it('of German is read', () => expect(catalogue('de').get('Sources')).toEqual(['Quellen']));
});
