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

function afterMention({ body, html, mentions }: Message, { id, name }: Self): string | null {
  const meant = mentions.includes(id) || linksTo(html, id);
  // A full id can mean nobody else; a name alone may be somebody talking about the bot.
  const names = meant ? [id, name ?? '', `@${localPart(id)}`, localPart(id)] : [id];
  for (const one of names) {
    const rest = after(body, one, /^[\s:,]/);
    if (rest !== null) return rest.replace(/^[:,]/, '');
  }
  return null;
}

/**
 * The command line that a message says to the bot, beginning with `/`; null when it is not meant for it. In a direct room
 * everything is. Nothing behind the prefix asks for help.
 */
export function lineOf(message: Message, self: Self, direct: boolean): string | null {
  const said =
    after(message.body, self.prefix, /^\s/) ??
    afterMention(message, self) ??
    (direct && message.body ? message.body : null);
  if (said === null) return null;
  const words = said.trim();
  if (!words) return '/help';
  return words.startsWith('/') ? words : `/${words}`;
}

/** The number that a message is, alone: the answer to choices. From 1 to 99; null when it is none. */
export function numberOf(body: string): number | null {
  const digits = /^#?([1-9]\d?)[.)]?$/.exec(body.trim())?.[1];
  return digits === undefined ? null : Number(digits);
}

/** Keys of the reactions that stand for 1 to 10; a longer list is answered by typing the number. */
export const KEYCAPS: readonly string[] = [
  ...Array.from({ length: 9 }, (_, index) => `${index + 1}\uFE0F\u20E3`),
  '\u{1F51F}',
];

/** The number that a reaction stands for, with or without the emoji's variation selector; null for any other. */
export function numberOfKey(key: string): number | null {
  const plain = key.replace(/\uFE0F/g, '');
  const index = KEYCAPS.findIndex((cap) => cap.replace(/\uFE0F/g, '') === plain);
  return index < 0 ? null : index + 1;
}
