/** Whether a message is meant for the bot, and the command or number that it says. Pure. */

import type { Heard } from './events.ts';

export interface Self {
  id: string;
  /** Display name; null when the account has none. */
  name: string | null;
  /** What a command in a shared room begins with, such as `!th`. */
  prefix: string;
}

type Message = Extract<Heard, { kind: 'message' }>;

const localPart = (id: string): string => id.slice(1).split(':')[0] ?? '';

/** What follows `start` in `text`, case ignored, where a word ends there; null when it does not begin so. */
function after(text: string, start: string, ends: RegExp): string | null {
  if (!start || text.slice(0, start.length).toLowerCase() !== start.toLowerCase()) return null;
  const rest = text.slice(start.length);
  return rest === '' || ends.test(rest) ? rest : null;
}

/** The message links to the bot's profile: how clients older than `m.mentions` mention somebody. */
const linksTo = (html: string | null, id: string): boolean =>
  html !== null &&
  [id, encodeURIComponent(id)].some((one) =>
    [`matrix.to/#/${one}`, `matrix:u/${one.replace(/^(@|%40)/, '')}`].some((link) =>
      html.includes(`${link}"`),
    ),
  );

function afterMention(message: Message, self: Self): string | null {
  const { body } = message;
  for (const one of namesIn(message, self)) {
    const rest = after(body, one, /^[\s:,]/);
    if (rest !== null) return rest.replace(/^[:,]/, '');
  }
  return null;
}

/** What the bot may be called in a message. A full id can mean nobody else; a name alone may be somebody talking about it. */
function namesIn({ html, mentions }: Message, { id, name }: Self): string[] {
  const meant = mentions.includes(id) || linksTo(html, id);
  return (meant ? [id, name ?? '', `@${localPart(id)}`, localPart(id)] : [id]).filter(Boolean);
}

/**
 * A mention further on in a message: the command behind it, or the one before it. People also speak *of* the bot, so it
 * counts only where a command stands there.
 */
function besideMention(message: Message, self: Self, isCommand: (word: string) => boolean): string | null {
  const { body } = message;
  for (const name of namesIn(message, self)) {
    const at = body.toLowerCase().indexOf(name.toLowerCase());
    if (at <= 0 || !/[\s,:]/.test(body[at - 1] ?? '')) continue;
    const behind = body.slice(at + name.length);
    if (behind && !/^[\s:,.!?]/.test(behind)) continue;
    const parts = [behind.replace(/^[:,.!?\s]+/, ''), body.slice(0, at).replace(/[\s,:]+$/, '')];
    const found = parts.find((part) => isCommand(/^\/?([\p{L}-]*)/u.exec(part)?.[1]?.toLowerCase() ?? ''));
    if (found !== undefined) return found;
  }
  return null;
}

/** Several commands in one message, each on a line of its own: none of them is run, since it would be a guess which. */
export function isSeveral(
  { body }: Message,
  { prefix }: Self,
  direct: boolean,
  isCommand: (word: string) => boolean,
): boolean {
  const said = body.split('\n').filter((line) => line.trim());
  const begins = (line: string): boolean => {
    const rest = after(line.trim(), prefix, /^\s/);
    if (rest === null && !direct) return false;
    return isCommand(/^\/?([\p{L}-]*)/u.exec((rest ?? line).trim())?.[1]?.toLowerCase() ?? '');
  };
  return said.length > 1 && said.every(begins);
}

/**
 * The command line that a message says to the bot, beginning with `/`; null when it is not meant for it. In a direct room
 * everything is. Nothing behind the prefix asks for help.
 */
export function lineOf(
  message: Message,
  self: Self,
  direct: boolean,
  isCommand: (word: string) => boolean = () => false,
): string | null {
  const said =
    after(message.body, self.prefix, /^\s/) ??
    afterMention(message, self) ??
    besideMention(message, self, isCommand) ??
    (direct && message.body ? message.body : null);
  if (said === null) return null;
  const words = said.trim();
  if (/^\/?[?\uFF1F\u061F]*$/.test(words)) return '/help';
  // A sign alone, such as a thumb, is no command; a number is one of the choices.
  if (!/[\p{L}\p{N}]/u.test(words)) return null;
  return words.startsWith('/') ? words : `/${words}`;
}

/** Keys of the reactions that stand for 1 to 10; a longer list is answered by typing the number. */
export const KEYCAPS: readonly string[] = [
  ...Array.from({ length: 9 }, (_, index) => `${index + 1}\uFE0F\u20E3`),
  '\u{1F51F}',
];

/** The reaction that asks for what stands behind a reply. */
export const MORE_KEY = '\u2795';

/** Whether a reaction asks for what stands behind a reply, with or without the emoji's variation selector. */
export const isMoreKey = (key: string): boolean => key.replace(/\uFE0F/g, '') === MORE_KEY;

/** The number that a reaction stands for, with or without the emoji's variation selector; null for any other. */
export function numberOfKey(key: string): number | null {
  const plain = key.replace(/\uFE0F/g, '');
  const index = KEYCAPS.findIndex((cap) => cap.replace(/\uFE0F/g, '') === plain);
  return index < 0 ? null : index + 1;
}
