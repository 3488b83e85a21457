/** What is said of words that were removed: by whom, and that the bot's own messages are put right. */
import { counted } from '../../shared/language/say.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { type DraftBlock, text } from '../framework/reply.ts';

/** Who has words removed here. */
export const removedBy = (context: Context) => ({
  by: actorOf(context),
  steward: context.person.role === 'steward',
  at: context.now,
});

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
