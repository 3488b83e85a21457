/** A direct message of the bot's own to somebody who can change something. */
import { z } from 'zod';
import { discordCodeOf, paths } from './api.ts';
import { plainMessage } from './outgoing.ts';
import { type Rest, retry } from './rest.ts';

const directSchema = z.object({ id: z.string() });

/** Sends a direct message to the first of them who takes one; false when nobody does. */
export async function tellFirst(
  { rest, onFault }: { rest: Rest; onFault: (error: unknown) => void },
  people: readonly string[],
  words: string,
): Promise<boolean> {
  for (const person of people) {
    try {
      const { id } = directSchema.parse(
        await retry(() => rest.post(paths.directs(), { body: { recipient_id: person } })),
      );
      await rest.post(paths.messages(id), { body: plainMessage(words).body });
      return true;
    } catch (error) {
      if (discordCodeOf(error) === null) onFault(error);
    }
  }
  return false;
}
