/** What the actions called `wipe` share: whose words may be removed by whom, and what is said of it. */
import type { Message } from '../../shared/language/message.ts';
import { listWords, say, verbatim } from '../../shared/language/say.ts';
import type { Actor } from '../../shared/people/actor.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { Refusal } from '../framework/refusal.ts';
import { type Draft, type DraftBlock, facts, reply } from '../framework/reply.ts';
import { removedBlocks, removeWords } from './removed.ts';

/** Words of a record, and who wrote them. */
export interface Written {
  text: string;
  by: Actor;
}

const removers = ({ store }: Context, record: string): Message | null => {
  const names = [...new Set(store.wipedBy.of(record).map(({ by }) => by.name))];
  return names.length ? say`words removed by ${listWords(names.map((name) => verbatim(name)))}` : null;
};

/** "words removed by Ines", for a line of the record; none where nobody did. */
export const wipedLines = (context: Context, record: string): Message[] => {
  const line = removers(context, record);
  return line ? [line] : [];
};
/** The same as a block of its own. */
export const wipedBlocks = (context: Context, record: string): DraftBlock[] =>
  wipedLines(context, record).map((line) => facts([[say`Words`, line]]));

/** Those that the asker may remove: their own; a steward all. Refuses where there are none. */
export function wordsToWipe<T extends Written>(
  context: Context,
  record: string,
  written: readonly T[],
  option: string,
): [T, ...T[]] {
  const { person } = context;
  const there = written.filter((one) => one.text !== '');
  const [first, ...others] = there.filter(({ by }) => person.role === 'steward' || by.key === person.key);
  if (first) return [first, ...others];
  const [theirs] = there;
  if (theirs)
    throw new Refusal({
      code: 'not-allowed',
      problem: say`The words there were written by ${verbatim(theirs.by.name)}.`,
      expected: say`to ask ${verbatim(theirs.by.name)} or a steward`,
      option,
    });
  throw new Refusal({
    code: 'wrong-state',
    problem: context.store.wipedBy.of(record).length
      ? say`Its words are removed already.`
      : say`It has no words of anybody's own.`,
    expected: say`one that has some`,
    option,
  });
}

/**
 * After they were removed from the record itself: from all copies, and from the bot's messages that show one of the subjects.
 * `subject` is what the record's messages are known by.
 */
export function wiped<D>(
  context: Context,
  {
    record,
    words,
    subject,
    besides = [],
    title,
    data,
  }: {
    record: string;
    words: readonly Written[];
    subject: string;
    besides?: readonly string[];
    title: Message;
    data: D;
  },
): Draft<D> {
  context.store.wipedBy.note(record, { by: actorOf(context), at: context.now });
  const shown = removeWords(context, {
    texts: words.map((one) => one.text),
    subject,
    besides,
    authors: words.map(({ by }) => by.key),
  });
  return reply({
    title,
    blocks: removedBlocks(shown),
    data,
  });
}
