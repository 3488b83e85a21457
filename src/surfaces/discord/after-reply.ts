/** A request that changes something, and its reply shown: what else becomes of the bot's messages by it. */

import type { Reply } from '../../../commands/framework/reply.ts';
import type { Request } from '../../../commands/framework/request.ts';
import { newestInstead } from '../outdated.ts';
import { handled } from './ask-as.ts';
import type { Incoming } from './incoming.ts';
import type { InteractionParts } from './interaction-parts.ts';
import type { InteractionResponse } from './interaction-response.ts';
import { DISCORD, type Requester } from './requester.ts';
import { showReply } from './show-reply.ts';

/**
 * Does it, and shows the answer; `command` is the one that it answers. A press that came too late shows how things stand now.
 * `again`: where it is refused, the custom_id of a button that opens the form again.
 */
export async function handleAndShow(
  parts: InteractionParts,
  requester: Requester,
  incoming: Incoming,
  said: Request['say'],
  command: string,
  response: InteractionResponse,
  { inPlace = false, again }: { inPlace?: boolean; again?: () => string } = {},
): Promise<void> {
  const first = handled(parts, requester, incoming, said);
  const newest = newestInstead(first, said, (line) => handled(parts, requester, incoming, { line }));
  const made = await parts.messages.finished(requester.collective.id, newest ?? first);
  const refill = made.outcome === 'answered' ? undefined : again?.();
  await showReply(parts, made, command, incoming, response, inPlace, refill);
  noteShown(parts, requester, incoming, incoming.id, made, response);
}

/** Remembers what the messages of a response show, under the request whose reply it is. */
function noteShown(
  { messages, hands }: InteractionParts,
  { collective, person }: Requester,
  incoming: Incoming,
  request: string,
  made: Reply,
  { sent }: InteractionResponse,
): void {
  for (const { message, alone } of sent) if (alone && incoming.server) hands.keepToken(message, incoming);
  messages.shown(
    { platform: DISCORD, collective: collective.id, person: person.key, request },
    made,
    sent.map((one) => ({ ...one, alone: one.alone || !incoming.server })),
  );
}

/** A copy of a part of a reply that was kept, for who pressed: it shows what the reply shows. */
export const noteCopy = (
  parts: InteractionParts,
  requester: Requester,
  incoming: Incoming,
  request: string,
  saved: Reply,
  response: InteractionResponse,
): void => noteShown(parts, requester, incoming, request, { ...saved, choices: [] }, response);
