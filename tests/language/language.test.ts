/** The catalogues against the sources, and a collective that speaks German. */
import { describe, expect, it } from 'vitest';
import { renderingIn } from '../../commands/framework/rendering.ts';
import { renderReply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { weekReplyOf } from '../../commands/week/reply.ts';
import { locale } from '../../shared/language/locale.ts';
import { render } from '../../shared/language/render.ts';
import { say } from '../../shared/language/say.ts';
import { parseWeek } from '../../shared/week/iso-week.ts';
import { renderForMatrix } from '../../src/surfaces/matrix/render.ts';
import { renderAsText } from '../../src/surfaces/text-render.ts';
import { knowledge, testBot, wordsOf } from '../test-bot.ts';
import { broughtUp, fileOf, stateOf, textsOfSources, translated } from './texts.ts';

const { texts, hidden } = textsOfSources();

describe('the catalogue', () => {
  it('is looked for in all sources', () => {
    expect(texts.length).toBeGreaterThan(1000);
    for (const text of ['Job {0} is open: {1}', '{0} price', 'Take a phone in', 'Sources'])
      expect(texts.map((one) => one.text)).toContain(text);
  });
  it('has every text that the sources say: none is passed off as one that needs no translation', () => {
    expect(hidden).toEqual([]);
  });
  it.each(translated)('of %s has every text, each whole, and no other', (one) => {
    const { lacks, stale, wrong } = stateOf(one, fileOf(one), texts);
    expect(lacks.map(({ text }) => text)).toEqual([]);
    expect(stale).toEqual([]);
    expect(wrong).toEqual([]);
  });
  it.each(translated)('of %s stands as the sources have it: npm run texts -- --write', (one) => {
    expect(fileOf(one)).toBe(broughtUp(one, fileOf(one), texts));
  });
  it('would be found wrong where it lacks a text, a hole or a form', () => {
    const few = texts.filter(({ text }) => ['Job {0} is open: {1}', '{0} price'].includes(text));
    const head = 'msgid ""\nmsgstr ""\n"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n';
    const job = 'msgid "Job {0} is open: {1}"\nmsgstr "Auftrag {0}"\n\n';
    const { lacks, stale, wrong } = stateOf('de', `${head}${job}msgid "gone"\nmsgstr "weg"\n`, few);
    expect([lacks.map(({ text }) => text), stale, wrong]).toEqual([
      ['{0} price'],
      ['gone'],
      ['Job {0} is open: {1}'],
    ]);
    const one = 'msgid "{0} price"\nmsgid_plural "{0} prices"\nmsgstr[0] "{0} Preis"\n';
    expect(stateOf('de', `${head}${one}`, few).wrong).toEqual(['{0} price']);
    expect(stateOf('de', one, few).wrong).toContain('Plural-Forms: not the 2 of the language');
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
    expect(tin.say('/help').title).toBe(render(say`What you can say`, 'de'));
    expect(wordsOf(tin.say('/help'))).toContain(render(commands[0]?.summary ?? say`no command`, 'de'));
    expect(renderAsText(opened, { width: 80, colour: false })).toContain(
      render(say`Answer with a number:`, 'de'),
    );
    expect(renderForMatrix(opened)[0]?.body).toContain(
      render(say`Answer with a reaction or a number:`, 'de'),
    );
    // Nothing of it stays behind.
    expect(locale()).toBe('en');
  });
  it('is told what a value can be in German, also where that was written before anybody spoke', () => {
    const tin = german();
    tin.say('/family name "Orrin K3" as:glued-front-home-sensor');
    expect(wordsOf(tin.say('/prices add "Orrin K3" price:1 storage:99999'))).toContain(
      'eine ganze Zahl von 1 bis 8192',
    );
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
      expect(said.data).toEqual(meant.data);
    }
  });
  it('reads its weekly post in German', () => {
    const tin = german();
    const week = parseWeek('2026-W09');
    if (!week) throw new Error('no week');
    const post = renderReply(
      weekReplyOf({ store: tin.store, knowledge: knowledge() }, week),
      renderingIn(knowledge(), 'de'),
    );
    expect(post.title).toMatch(/2026-W09/);
    expect(post.title).not.toContain('No phone');
    expect(post.title).toContain('23. Februar – 1. März 2026');
  });
});
