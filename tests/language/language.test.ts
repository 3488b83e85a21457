/**
 * What the bot says in other languages than English. The plural rules are those of the Unicode CLDR, as Intl has them
 * (https://www.unicode.org/cldr/charts/latest/supplemental/language_plural_rules.html).
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { commands } from '../../commands/index.ts';
import { weekReplyOf } from '../../commands/week/reply.ts';
import {
  catalogues,
  counted,
  language,
  languages,
  listWords,
  say,
  typed,
} from '../../shared/language/say.ts';
import { parseWeek } from '../../shared/week/iso-week.ts';
import { renderForMatrix as drawForMatrix } from '../../src/surfaces/matrix/render.ts';
import { renderAsText } from '../../src/surfaces/text-render.ts';
import { knowledge, testBot, wordsOf } from '../test-bot.ts';
import { stateOf, textsOfSources } from './texts.ts';

const texts = textsOfSources();

describe('a text', () => {
  it('is in English as a template gives it, whatever is put in', () => {
    fc.assert(
      fc.property(fc.string(), fc.integer(), (name, number) => {
        expect(say`Job ${number} is open: ${typed(name)}`).toBe(`Job ${number} is open: ${name}`);
      }),
    );
  });
  it('puts the same things in in every language, also those that look like a hole', () => {
    speaking('de', () => {
      expect(say`Job ${3} is open: ${typed('{0} {1} $&')}`).toBe('Auftrag 3 ist offen: {0} {1} $&');
    });
  });
  it('has the form that the language has for its count', () => {
    const price = (n: number) => counted(n, '{0} price', '{0} prices');
    expect([0, 1, 2].map(price)).toEqual(['0 prices', '1 price', '2 prices']);
    speaking('de', () => expect([0, 1, 2].map(price)).toEqual(['0 Preise', '1 Preis', '2 Preise']));
  });
  it('lists as the language does', () => {
    expect([[], ['a'], ['a', 'b'], ['a', 'b', 'c']].map(listWords)).toEqual([
      '',
      'a',
      'a and b',
      'a, b and c',
    ]);
    speaking('de', () => expect(listWords([typed('a'), typed('b'), typed('c')])).toBe('a, b und c'));
  });
  it('is left in English where no catalogue has it, and after a fault too', () => {
    speaking('de', () => expect('a name that nobody translated').toBe('a name that nobody translated'));
    expect(() =>
      speaking('de', () => {
        throw new Error('in the middle');
      }),
    ).toThrow('in the middle');
    expect(language()).toBe('en');
  });
});

describe('the catalogue', () => {
  it('is looked for in all sources', () => {
    expect(texts.length).toBeGreaterThan(900);
    for (const text of ['Job {0} is open: {1}', '{0} prices', 'Take a phone in', 'Sources'])
      expect(texts.map((one) => one.text)).toContain(text);
  });
  it.each(languages.filter((one) => one !== 'en'))(
    'of %s has nearly every text, each whole, and no other',
    (one) => {
      const { lacks, stale, wrong } = stateOf(one, catalogues[one], texts);
      // A new text is said in English until somebody translates it; `npm run texts` names it.
      expect(lacks.length / texts.length, lacks.map(({ text }) => text).join('\n')).toBeLessThan(0.03);
      expect(stale).toEqual([]);
      expect(wrong).toEqual([]);
    },
  );
  it('would be found wrong where it lacks a text, a hole or a form', () => {
    const few = texts.filter(({ text }) => ['Job {0} is open: {1}', '{0} prices'].includes(text));
    const { lacks, stale, wrong } = stateOf(
      'de',
      { 'Job {0} is open: {1}': 'Auftrag {0}', gone: 'weg' },
      few,
    );
    expect([lacks.map(({ text }) => text), stale, wrong]).toEqual([
      ['{0} prices'],
      ['gone'],
      ['Job {0} is open: {1}'],
    ]);
    expect(stateOf('de', { '{0} prices': { other: '{0} Preise' } }, few).wrong).toEqual(['{0} prices']);
  });
});

describe('a collective that speaks German', () => {
  const german = () => {
    const tin = testBot();
    tin.say('/setup language:de', { role: 'steward' });
    return tin;
  };
  it('is answered and refused in German, and its choices, help and drawing are', () => {
    const tin = german();
    const opened = tin.say('/job open "glued-front-home-sensor" symptoms:dead');
    expect(opened.language).toBe('de');
    expect(opened.title).toMatch(/^Auftrag 1 ist offen: /);
    const refused = tin.say('/job opne');
    expect(wordsOf(refused)).toContain('Erwartet: ');
    expect(tin.say('/help').title).toBe(translatedIn('de', 'What you can say'));
    expect(wordsOf(tin.say('/help'))).toContain(translatedIn('de', commands[0]?.summary ?? ''));
    expect(renderAsText(opened, { width: 80, colour: false })).toContain(
      translatedIn('de', 'Answer with a number:'),
    );
    expect(drawForMatrix(opened)[0]?.body).toContain(
      translatedIn('de', 'Answer with a reaction or a number:'),
    );
    // Nothing of it stays behind.
    expect(language()).toBe('en');
  });
  it('takes the same commands and options as ever, and gives the same data', () => {
    const [tin, other] = [german(), testBot()];
    for (const line of [
      '/family name "Orrin K3" as:glued-front-home-sensor',
      '/prices add "Orrin K3" price:180',
      '/worth "Orrin K3" price:20 symptoms:dead',
    ]) {
      const [said, meant] = [tin.say(line), other.say(line)];
      expect(said.outcome, line).toBe('answered');
      expect(Object.keys(Object(said.data))).toEqual(Object.keys(Object(meant.data)));
    }
  });
  it('reads its weekly post in German', () => {
    const tin = german();
    const week = parseWeek('2026-W09');
    if (!week) throw new Error('no week');
    const post = speaking('de', () =>
      weekReplyOf({ store: tin.store, knowledge: knowledge(), locale: 'de' }, week),
    );
    expect(post.title).toMatch(/2026-W09/);
    expect(post.title).not.toContain('No phone');
  });
});

const translatedIn = (wanted: 'de', english: string): string => speaking(wanted, () => english);
