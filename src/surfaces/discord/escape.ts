/** Text that Discord shows as it is: no markup, mention, emoji code, link or spoiler. */
import { clean, cleanLine, graphemes } from '../text.ts';
import { INSTANT, instantsAsMarkup } from './instants.ts';

/** What markup, mentions, links in brackets, timestamps and spoilers are made of; a backslash takes the meaning away. */
const MARKS = /[\\*_~`|<>[\]@#]/g;
/** A colon before something: an address, or the name of an emoji. */
const COLON = /:(?=\S)/g;
/** A slash within a word: an invitation is a link without an address's beginning too. */
const SLASH = /(?<=\S)\/(?=\S)/g;
/** What begins an entry of a list. */
const BULLET = /^(\s*)(-|\d+\.)(?=\s|$)/;

/** Around a command's path and its id, in place of spaces and of the marks that escaping takes the meaning from. */
const LINK = { begin: '\uE000', end: '\uE001' } as const;
const LINKED = /\uE000([a-z-]+(?:_[a-z-]+)?):(\d{1,20})\uE001/g;

/** A command that can be pressed, where it goes through escaping: `trace start` and its id. */
export const mentionOf = (path: string, id: string): string =>
  `${LINK.begin}${path.replaceAll(' ', '_')}:${id}${LINK.end}`;

/** Text in which nothing can be taken for such a command. */
export const withoutMentions = (text: string): string => text.replace(/[\uE000\uE001]/g, '');

const escapeLine = (line: string): string => {
  let made = '';
  let at = 0;
  for (const match of line.matchAll(LINKED)) {
    const [whole, path = '', id = ''] = match;
    made += `${escapePart(line.slice(at, match.index))}</${path.replaceAll('_', ' ')}:${id}>`;
    at = match.index + whole.length;
  }
  return made + escapePart(withoutMentions(line.slice(at)));
};

const escapePart = (line: string): string =>
  instantsAsMarkup(
    line
      .split(INSTANT)
      .map((part, index) => (index % 2 ? part : escapeWords(part)))
      .join(''),
  );

const escapeWords = (line: string): string =>
  line
    .replace(MARKS, '\\$&')
    .replace(COLON, '\\:')
    .replace(SLASH, '\\/')
    .replace(BULLET, (_, space: string, bullet: string) =>
      bullet === '-' ? `${space}\\-` : `${space}${bullet.slice(0, -1)}\\.`,
    );

/** Keeps line breaks. */
export const escapeText = (text: string): string => clean(text).split('\n').map(escapeLine).join('\n');

/** The same on one line. */
export const escapeInline = (text: string): string => escapeLine(cleanLine(text).trim());

/** Longer than any letter: the part behind what is kept need not be looked at. */
const LONGEST = 64;

/** At most `most` UTF-16 units of plain text, cut between characters, with an ellipsis where it was cut. */
export function clip(text: string, most: number): string {
  if (text.length <= most) return text;
  let cut = '';
  for (const one of graphemes(text.slice(0, most + LONGEST))) {
    if (cut.length + one.length > most - 1) break;
    cut += one;
  }
  return `${cut.trimEnd()}…`;
}

/** Escaped, and at most `most` units after that. */
export function escapeClipped(text: string, most: number): string {
  const line = cleanLine(text).trim();
  let room = most;
  for (;;) {
    const escaped = escapeInline(clip(line, room));
    if (escaped.length <= most) return escaped;
    room -= Math.max(1, Math.ceil((escaped.length - most) / 2));
  }
}

/** Lines in a block of even-spaced letters. No backtick may stand next to another: three would end the block. */
export const codeBlock = (lines: readonly string[]): string =>
  `\`\`\`\n${lines.map((line) => line.replace(/`/g, '`\u200b')).join('\n')}\n\`\`\``;
