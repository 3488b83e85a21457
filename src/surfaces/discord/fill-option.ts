/** A form for one option of a command that is known but for that. */
import type { Invocation } from '../../../commands/framework/reply.ts';
import { handleAndShow } from './after-reply.ts';
import { originFor } from './ask-as.ts';
import { type Carried, customId } from './custom-id.ts';
import { modalOf } from './forms.ts';
import type { Incoming } from './incoming.ts';
import type { IncomingOf, InteractionParts } from './interaction-parts.ts';
import type { InteractionResponse } from './interaction-response.ts';
import type { Requester } from './requester.ts';
import { showStale } from './show-reply.ts';

/** The command of a saved choice; null where it is gone, or is somebody else's. */
function invocationKept(
  parts: InteractionParts,
  token: string,
  requester: Requester,
  incoming: Incoming,
): Invocation | null {
  const { store, person, now } = parts.dispatcher.contextFor(originFor(parts, requester, incoming));
  const kept = store.choices.take(token, now);
  return kept && (kept.person === null || kept.person === person.key) ? kept.invoke : null;
}

/** Opens the form, with what was typed before in it. Where the choice is gone, taking it says so. */
export async function askOption(
  parts: InteractionParts,
  { option, token }: Extract<Carried, { kind: 'fill' | 'typed' }>,
  requester: Requester,
  incoming: IncomingOf<'button'>,
  response: InteractionResponse,
): Promise<void> {
  const invoke = invocationKept(parts, token, requester, incoming);
  if (!invoke) return handleAndShow(parts, requester, incoming, { token }, 'help', response);
  const command = parts.commands.find(({ name }) => name === invoke.command);
  if (!command?.actions[invoke.action]?.options[option]) return showStale(parts, incoming, response);
  const context = parts.dispatcher.contextFor(originFor(parts, requester, incoming));
  const modal = modalOf(command, invoke.action, [option], invoke.options, context, [option]);
  await response.open({ ...modal, custom_id: customId({ kind: 'typed', option, token }) });
}

/** Does the command with what was typed into the form. */
export async function takeOption(
  parts: InteractionParts,
  { option, token }: Extract<Carried, { kind: 'fill' | 'typed' }>,
  requester: Requester,
  incoming: IncomingOf<'form'>,
  response: InteractionResponse,
): Promise<void> {
  const kept = invocationKept(parts, token, requester, incoming);
  if (!kept) return handleAndShow(parts, requester, incoming, { token }, 'help', response);
  const value = (incoming.fields[option] ?? '').replace(/\s*[\r\n]+\s*/g, ' ').trim();
  const invoke = { ...kept, options: { ...kept.options, [option]: value } };
  await handleAndShow(parts, requester, incoming, { invoke }, invoke.command, response);
}
