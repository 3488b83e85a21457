/** What the handling of an interaction works with. */
import type { Command } from '../../../commands/framework/command.ts';
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import type { Reply } from '../../../commands/framework/reply.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { ChatMessages } from '../chat-messages.ts';
import type { SurfaceWatch } from '../surface-watch.ts';
import type { Drafts } from './drafts.ts';
import type { DrawFile } from './files.ts';
import type { Incoming } from './incoming.ts';
import type { DiscordHands } from './message-hands.ts';
import type { Requesters } from './requester.ts';
import type { Rest } from './rest.ts';

export interface InteractionParts {
  database: Database;
  dispatcher: Dispatcher;
  /** Those of every surface, and those of this one. */
  commands: readonly Command[];
  who: Requesters;
  rest: Rest;
  /** What becomes of messages after they were sent. */
  messages: ChatMessages;
  hands: DiscordHands;
  clock: () => Date;
  drawFile: DrawFile;
  /** After how many milliseconds an answer that is not ready is deferred. */
  deferMs: number;
  /** Logs a fault under a new id, and gives that. */
  onFault: (error: unknown) => string;
  watch: SurfaceWatch;
  /** What was typed into forms that were refused. */
  drafts: Drafts;
  /** A reply with its commands as they are typed in a server, or in a direct message. */
  asTyped: (reply: Reply, server: string | null) => Reply;
}

/** An interaction of one kind. */
export type IncomingOf<K extends Incoming['kind']> = Extract<Incoming, { kind: K }>;
