/** What is typed without a command, where everything is for the bot: it is read as a sentence. */
import type { Command } from '../framework/command.ts';
import { nearestNames } from '../framework/lookup.ts';
import { commandWord } from '../framework/private.ts';
import type { Invocation } from '../framework/reply.ts';

/** More of a text is not read. */
const LONGEST = 4000;

/** The sentence as an invocation: each line of a pasted text is a sentence of its own. */
export const plainLine = (typed: string): Invocation => ({
  command: 'read',
  action: '',
  options: {
    text: typed
      .trim()
      .replace(/\s*[\r\n\u2028\u2029]+\s*/g, '; ')
      .replace(/\p{C}/gu, ' ')
      .slice(0, LONGEST),
  },
});

/**
 * True for words without a slash that are a command all the same, where commands may be said so: the name of one, or a slip of
 * it before an option or an action of it. A private command's text must not be read as a sentence, which is repeated.
 */
export function isSaidAsCommand(words: string, commands: readonly Command[]): boolean {
  const word = commandWord(words.startsWith('/') ? words : `/${words}`)?.toLowerCase() ?? '';
  if (commands.some(({ name }) => name === word)) return true;
  const near = nearestNames(
    word,
    commands.map(({ name }) => ({ id: name, name })),
  );
  const second = /^\/?\S+\s+(\S+)/.exec(words)?.[1]?.toLowerCase() ?? '';
  return commands.some(
    ({ name, actions }) =>
      near.includes(name) &&
      (Object.hasOwn(actions, second) ||
        Object.values(actions).some(({ options }) =>
          Object.keys(options).some(
            (option) => second.startsWith(`${option}:`) || words.includes(` ${option}:`),
          ),
        )),
  );
}
