/** How the weekly post gets to a place, whatever the platform. */
import type { Reply } from '../../commands/framework/reply.ts';

export interface Poster {
  /** Posts under a key, once: what already stands there under that key is not said again. Gives the message's id. */
  post(key: string, reply: Reply): Promise<string>;
  /** The message that was posted whole under a key, as far back as the recent history goes; null when there is none. */
  find(key: string): Promise<string | null>;
  /** Puts a corrected reply in place of what a message of the bot says. */
  edit(message: string, reply: Reply): Promise<void>;
}
