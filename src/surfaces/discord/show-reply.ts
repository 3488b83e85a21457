/** A reply shown as the answer to an interaction. */
import { isPrivate } from '../../../commands/framework/private.ts';
import { type RefusalCode, refusalReply } from '../../../commands/framework/refusal.ts';
import { inWords, type Reply } from '../../../commands/framework/reply.ts';
import type { Message } from '../../../shared/language/message.ts';
import { say } from '../../../shared/language/say.ts';
import { makeFiles } from './files.ts';
import type { Incoming } from './incoming.ts';
import type { InteractionParts } from './interaction-parts.ts';
import type { Audience, InteractionResponse } from './interaction-response.ts';
import { messagesOf, type OutgoingMessage } from './outgoing.ts';

/** What the surface itself refuses. */
export const refused = (code: RefusalCode, problem: Message, expected: Message, example?: string): Reply =>
  inWords(refusalReply({ code, problem, expected, ...(example === undefined ? {} : { example }) }));

/** The messages of a reply: its first page, or all pages of a private reply, since those are not kept. */
async function draw(
  { commands, drawFile, onFault, asTyped }: InteractionParts,
  made: Reply,
  command: string,
  incoming: Incoming,
  again: string | undefined,
): Promise<OutgoingMessage[]> {
  const { files, notes } = made.files.length
    ? await makeFiles(made, drawFile, incoming.fileLimit, onFault)
    : { files: [], notes: [] };
  const found = commands.find(({ name }) => name === command);
  const kept = made.outcome === 'answered' && found !== undefined && !isPrivate(found);
  const typed = asTyped(made, incoming.server?.id ?? null);
  const shown = { command, request: kept ? incoming.id : null, ...(again === undefined ? {} : { again }) };
  const messages = messagesOf(typed, files, shown, { notes });
  return kept ? messages.slice(0, 1) : messages;
}

/**
 * `inPlace`: in the place of the pressed message, where everybody who reads that may read this. `again`: the custom_id of a button
 * that opens the refused form again.
 */
export async function showReply(
  parts: InteractionParts,
  made: Reply,
  command: string,
  incoming: Incoming,
  response: InteractionResponse,
  inPlace = false,
  again?: string,
): Promise<void> {
  const audience: Audience = made.outcome === 'answered' ? made.audience : 'asker';
  response.expect(audience);
  if (made.files.some((file) => file.draw)) response.deferNow();
  const messages = await draw(parts, made, command, incoming, again);
  const [first] = messages;
  // What only its asker may see does not go where everyone reads.
  const fits =
    made.outcome === 'answered' &&
    (audience === 'room' || (incoming.kind === 'button' && incoming.message.ephemeral) || !incoming.server);
  if (inPlace && fits && first) {
    // Files of the message before go with it.
    const body = { ...first.body, attachments: first.body.attachments ?? [] };
    return response.update({ ...first, body });
  }
  await response.reply(messages, audience);
}

/** For a button, a form or a menu that this version does not know. */
export const showStale = (
  parts: InteractionParts,
  incoming: Incoming,
  response: InteractionResponse,
): Promise<void> =>
  showReply(
    parts,
    refused(
      'stale-choice',
      say`That is from an older version of me.`,
      say`the command itself; /help lists them`,
      '/help',
    ),
    'help',
    incoming,
    response,
  );
