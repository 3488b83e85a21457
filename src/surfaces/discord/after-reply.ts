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
  const { messages, hands } = parts;
  const { collective, person } = requester;
  const first = handled(parts, requester, incoming, said);
  const newest = newestInstead(first, said, (line) => handled(parts, requester, incoming, { line }));
  const made = await messages.finished(collective.id, newest ?? first);
  const refill = made.outcome === 'answered' ? undefined : again?.();
  await showReply(parts, made, command, incoming, response, inPlace, refill);
  for (const { message, alone } of response.sent)
    if (alone && incoming.server) hands.keepToken(message, incoming);
  const sent = response.sent.map((one) => ({ ...one, alone: one.alone || !incoming.server }));
  messages.shown(
    { platform: DISCORD, collective: collective.id, person: person.key, request: incoming.id },
    made,
    sent,
  );
}

/** A copy of a part of a reply that was kept, for who pressed: it shows what the reply shows. */
export function noteCopy(
  { messages, hands }: InteractionParts,
  { collective, person }: Requester,
  incoming: Incoming,
  request: string,
  saved: Reply,
  response: InteractionResponse,
): void {
  for (const { message, alone } of response.sent) if (alone) hands.keepToken(message, incoming);
  const sent = response.sent.map((one) => ({ ...one, alone: one.alone || !incoming.server }));
  const whose = { platform: DISCORD, collective: collective.id, person: person.key, request };
  messages.shown(whose, { ...saved, choices: [] }, sent);
}
