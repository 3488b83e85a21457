/** The catalogues against the sources, and a collective that speaks German. */
import { describe, expect, it } from 'vitest';
import { renderingIn } from '../../commands/framework/rendering.ts';
import { renderReply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { weekReplyOf } from '../../commands/week/reply.ts';
import { readCatalogue } from '../../shared/language/catalogue.ts';
import { locale } from '../../shared/language/locale.ts';
import { render } from '../../shared/language/render.ts';
import { say } from '../../shared/language/say.ts';
import { parseWeek } from '../../shared/week/iso-week.ts';
import { renderForMatrix } from '../../src/surfaces/matrix/render.ts';
import { renderAsText } from '../../src/surfaces/text-render.ts';
import { commandsBySurface } from '../surface-commands.ts';
import { knowledge, testBot, wordsOf } from '../test-bot.ts';
import { broughtUp, fileOf, stateOf, textsIn, textsOfPack, textsOfSources, translated } from './texts.ts';

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
  it('would be told of a text that is put together, and of a message made by hand', () => {
    const hiddenIn = (source: string) => textsIn('commands/try.ts', source).hidden.length;
    for (const source of [
      'const a = packText(`the ${name} is gone`);',
      "const a = packText('the part ' + name);",
      'const a = verbatim(`${name} is here`);',
      "const a = typed('is gone ' + name);",
      "const a = new Message({ kind: 'verbatim', text: 'gone' });",
      'const a = plain`${name} is gone`;',
    ])
      expect(hiddenIn(source), source).toBe(1);
    for (const source of [
      'const a = say`${name} is gone`;',
      'const a = packText(name);',
      'const a = verbatim(`${from}–${until}`);',
      'const a = typed(`/job show job:${number}`);',
    ])
      expect(hiddenIn(source), source).toBe(0);
  });
  it.each(translated)('of %s leaves what is typed as it is', (one) => {
    const all = commandsBySurface().flatMap(({ commands: those }) => those);
    const typedIn = (text: string): string[] => {
      const lines = [...text.matchAll(/(?<![\w/])\/([a-z]+)(?: ([a-z-]+))?/g)].flatMap(
        ([, name = '', action = '']) => {
          const command = all.find((other) => other.name === name);
          if (!command) return [];
          return [action && action in command.actions ? `/${name} ${action}` : `/${name}`];
        },
      );
      const options = [...text.matchAll(/(?<![\w-])([a-z][a-z-]*):[\w"…]+/g)].flatMap(([whole, name = '']) =>
        all.some(({ actions }) => Object.values(actions).some((action) => name in action.options))
          ? [whole]
          : [],
      );
      return [...lines, ...options];
    };
    expect(typedIn('say /job list, or /help about:x')).toEqual(['/job list', '/help', 'about:x']);
    const entries = readCatalogue(fileOf(one)).entries;
    expect(entries.filter(({ msgid }) => typedIn(msgid).length).length).toBeGreaterThan(100);
    const changed = entries.filter(({ msgid, msgstr }) =>
      typedIn(msgid).some((part) => msgstr.some((form) => !form.includes(part))),
    );
    expect(changed.map(({ msgid }) => msgid)).toEqual([]);
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
  it.each(translated)('of the pack in %s has every text of it', (one) => {
    const pack = textsOfPack();
    expect(pack.texts.size).toBeGreaterThan(1500);
    expect(pack.lacks(one)).toEqual([]);
    expect(pack.lacks('fr').length).toBe(pack.texts.size);
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
  it('is told once where something has to stay in English', () => {
    const tin = testBot({ knowledge: { ...knowledge(), translations: new Map() } });
    tin.say('/setup language:de', { role: 'steward' });
    const note = render(say`Some of this is in English: nobody has translated it yet.`, 'de');
    const words = (line: string) => wordsOf(tin.say(line)).split(note).length - 1;
    expect(words('/caution swollen-cell')).toBe(1);
    expect(words('/trace swollen')).toBe(1);
    expect(words('/week')).toBe(0);
    const [title] = [german().say('/caution swollen-cell').title];
    expect(tin.say('/caution swollen-cell').title).not.toBe(title);
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
    const post = renderReply(weekReplyOf(tin.context(), week), renderingIn(knowledge(), 'de'));
    expect(post.title).toMatch(/2026-W09/);
    expect(post.title).not.toContain('No phone');
    expect(post.title).toContain('23. Februar – 1. März 2026');
  });
});
