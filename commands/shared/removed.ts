/** What is said of words that were removed: by whom, and that the bot's own messages are put right. */

import { counted, say } from '../../shared/language/say.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { choiceOption, optional } from '../framework/option.ts';
import { answeredBefore } from '../framework/private.ts';
import { renderingIn } from '../framework/rendering.ts';
import { type DraftBlock, renderReply, text } from '../framework/reply.ts';

/** For what is removed with words that should not have been written. */
export const wipeOption = optional(
  choiceOption({
    summary: say`Its words go from all copies and my earlier messages: for what should not have been written`,
    example: 'yes',
    choices: ['yes'],
  }),
);

/** Who has words removed here. */
const removedBy = (context: Context) => ({
  by: actorOf(context),
  steward: context.person.role === 'steward',
  at: context.now,
});

/** Removes what somebody wrote from every copy of it here, and has messages in chat put right. How many, by platform. */
export const removeWords = (
  context: Context,
  {
    texts,
    subject,
    besides,
    authors,
  }: {
    texts: readonly string[];
    subject: string;
    besides?: readonly string[];
    authors: readonly (string | null)[];
  },
): Record<string, number> =>
  context.store.wipeCopies({
    texts,
    subject,
    ...(besides ? { besides } : {}),
    authors,
    instead: renderReply(answeredBefore(), renderingIn(context.knowledge, context.locale)),
    removed: removedBy(context),
  });

/** What is said after words were removed: where they are gone from, and what is out of reach. */
export const removedBlocks = (shown: Readonly<Record<string, number>>): DraftBlock[] => [
  text(say`They are gone from the store, and no buttons or saved answers have them any more.`),
  ...shownBlocks(shown),
  text(
    say`Out of reach: what was typed in a room (take it back there), pages that were handed out, and backups made before.`,
  ),
];

/** That messages in chat are looked at; nothing where there are none. */
export function shownBlocks(shown: Readonly<Record<string, number>>): DraftBlock[] {
  const count = Object.values(shown).reduce((sum, one) => sum + one, 0);
  if (!count) return [];
  return [
    text(
      counted(
        count,
        '{0} message of mine in chat may show them: they are taken out of it too.',
        '{0} messages of mine in chat may show them: they are taken out of those too.',
      ),
    ),
  ];
}
