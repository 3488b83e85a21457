/** English in what is said in German: passages that a reader would know for English, and where they stand. */
import type { Reply } from '../../commands/framework/reply.ts';
import { commands } from '../../commands/index.ts';
import { readCatalogue } from '../../shared/language/catalogue.ts';
import { messagesOf } from '../../src/surfaces/discord/outgoing.ts';
import { renderForMatrix } from '../../src/surfaces/matrix/render.ts';
import { renderAsText } from '../../src/surfaces/text-render.ts';
import { knowledge } from '../test-bot.ts';
import { fileOf, textsOfSources } from './texts.ts';

/** Passages of English, of two words or more, between what is put in; from the catalogue and from the pack. */
function passages(): string[] {
  const german = knowledge().translations.get('de')?.texts ?? new Map<string, string>();
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
export const englishPassages = passages();

/** The passages of English in some words; what the asker said themselves counts for nothing. */
export const englishIn = (words: string, said = ''): string[] =>
  englishPassages.filter((one) => words.includes(one) && !said.includes(one));

/** All texts in a value. */
function stringsIn(value: unknown): string[] {
  if (typeof value === 'string') return [value];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(stringsIn) : [];
}

/** All the words of a reply, as each surface writes them: terminal, Matrix, Discord, and its files. */
export const drawn = (reply: Reply): string =>
  [
    renderAsText(reply, { width: 4000, colour: false }),
    ...renderForMatrix(reply).map(({ body }) => body),
    ...messagesOf(reply, [], { command: 'help', request: null }).flatMap(({ body }) => stringsIn(body)),
    ...reply.files.flatMap(({ alt, text = '' }) => [alt, text]),
  ].join('\n');
