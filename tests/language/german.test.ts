/** The bot speaks German and nothing else where the collective does, whatever is said, on every surface. */
import { describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { readCatalogue } from '../../shared/language/catalogue.ts';
import { render } from '../../shared/language/render.ts';
import { say } from '../../shared/language/say.ts';
import { messagesOf } from '../../src/surfaces/discord/outgoing.ts';
import { renderForMatrix } from '../../src/surfaces/matrix/render.ts';
import { renderAsText } from '../../src/surfaces/text-render.ts';
import { knowledge } from '../test-bot.ts';
import { everyReply } from './every-reply.ts';
import { fileOf, textsOfSources } from './texts.ts';

const german = knowledge().translations.get('de')?.texts ?? new Map<string, string>();

/** Passages of English that a reader would know for English: two words or more, between what is put in. */
function passages(): string[] {
  const theirs = [
    ...readCatalogue(fileOf('de')).entries.flatMap(({ msgstr }) => msgstr),
    ...german.values(),
  ].join('\n');
  const own = textsOfSources()
    .texts.flatMap(({ text, many }) => [text, many ?? ''])
    .flatMap((text) => text.split(/\{\d+\}/));
  /** What is typed is the same in every language. */
  const typed = commands
    .flatMap(({ actions }) => Object.values(actions))
    .flatMap(({ examples, options }) => [
      ...examples,
      ...Object.values(options).map(({ example }) => example),
    ])
    .join('\n');
  return [...new Set([...own, ...[...german.keys()].flatMap((text) => text.split(/\{[a-z]+\}/))])]
    .map((text) => text.trim())
    .filter(
      (text) =>
        /\p{L}{2,} \p{L}{2,}/u.test(text) &&
        text.length > 9 &&
        !theirs.includes(text) &&
        !typed.includes(text),
    );
}

/** All the words of a reply, as each surface writes them. */
const drawn = (reply: Reply): string =>
  [
    renderAsText(reply, { width: 4000, colour: false }),
    ...renderForMatrix(reply).map(({ body }) => body),
    ...messagesOf(reply, [], { command: 'help', request: null }).flatMap(({ body }) => stringsIn(body)),
    ...reply.files.flatMap(({ alt, text = '' }) => [alt, text]),
  ].join('\n');
function stringsIn(value: unknown): string[] {
  if (typeof value === 'string') return [value];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(stringsIn) : [];
}

describe('everything that can be said, in German', () => {
  const english = passages();
  const all = everyReply('de').map((said) => ({ ...said, words: drawn(said.reply) }));
  const fallBack = render(say`Some of this is in English: nobody has translated it yet.`, 'de');

  it('is a lot, both answers and refusals, and of every command', () => {
    const count = (outcome: Reply['outcome']) => all.filter(({ reply }) => reply.outcome === outcome).length;
    expect(english.length).toBeGreaterThan(2000);
    expect(count('answered')).toBeGreaterThan(400);
    expect(count('refused')).toBeGreaterThan(400);
    expect(count('fault')).toBe(0);
    for (const { name } of commands) expect(all.some(({ line }) => line.startsWith(`/${name}`))).toBe(true);
  });

  it('has no word of English from the catalogue or the pack', () => {
    const found = all.flatMap(({ line, words }) =>
      english.filter((one) => words.includes(one) && !line.includes(one)).map((one) => `${line}: ${one}`),
    );
    expect(found).toEqual([]);
  });

  it('falls back to English nowhere', () => {
    expect(all.filter(({ words }) => words.includes(fallBack)).map(({ line }) => line)).toEqual([]);
    expect(all.filter(({ reply }) => reply.language !== 'de').map(({ line }) => line)).toEqual([]);
  });
});
