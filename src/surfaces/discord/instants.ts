/**
 * Instants, which Discord draws in the zone and the language of each reader. A reply holds them marked, with their words for where
 * nothing is drawn: titles, labels, tables in even-spaced letters. Source: Discord's developer documentation, "Message Formatting"
 * (timestamp styles). Pure.
 */
import type { Instants } from '../../../shared/language/render.ts';

/** Around an instant, in place of the marks that escaping takes the meaning from. */
const MARKS = /[\uE002\uE003]/g;
const IN_REPLY = /\uE002(\d{1,12}):([dF]):([^\uE002\uE003]*)\uE003/g;
/** One in a text that is to be escaped, which leaves it as it is. */
export const INSTANT = /(\uE002\d{1,12}:[dF]\uE003)/;
const IN_TEXT = /\uE002(\d{1,12}):([dF])\uE003/g;

const styles = { day: 'd', 'day and time': 'F' } as const;

export const MARKED: Instants = {
  mark: (at, shows, words) => {
    const seconds = Math.floor(at.getTime() / 1000);
    return seconds < 0 ? words : `\uE002${seconds}:${styles[shows]}:${words}\uE003`;
  },
  unmarked: (text) => text.replace(MARKS, ''),
};

/** A text of a reply for where instants are drawn. What is left in it has no space, so that it is not broken there. */
export const instantsDrawn = (text: string): string => text.replace(IN_REPLY, '\uE002$1:$2\uE003');

/** The same for where they are not: in their words. */
export const instantsInWords = (text: string): string => MARKED.unmarked(text.replace(IN_REPLY, '$3'));

/** Once everything around them is escaped. */
export const instantsAsMarkup = (escaped: string): string =>
  MARKED.unmarked(escaped.replace(IN_TEXT, '<t:$1:$2>'));
