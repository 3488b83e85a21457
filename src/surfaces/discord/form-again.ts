/** A form that was refused comes back as it was filled in. */
import { findSecret } from '../../../shared/notes/secrets.ts';
import { originFor } from './ask-as.ts';
import { type Carried, customId } from './custom-id.ts';
import { formOf, MENU, modalOf } from './forms.ts';
import type { IncomingOf, InteractionParts } from './interaction-parts.ts';
import type { InteractionResponse } from './interaction-response.ts';
import type { Requester } from './requester.ts';
import { showStale } from './show-reply.ts';

interface Asked {
  fields: readonly string[];
  /** Those that have to be filled in although the option may be left out elsewhere. */
  needed: readonly string[];
}

/** What a form of this version asks for; undefined for one that it does not open. */
export function askedIn(name: string, action: string): Asked | undefined {
  if (name === MENU.command && action === MENU.action) return { fields: MENU.fields, needed: MENU.fields };
  const form = formOf(name, action);
  return form && { fields: form.fields, needed: [] };
}

/** Keeps what was typed into a form that was refused; the custom_id that brings it back. Secrets are not kept, here neither. */
export function keepDraft(
  parts: InteractionParts,
  { command, action }: Extract<Carried, { kind: 'form' }>,
  requester: Requester,
  incoming: IncomingOf<'form'>,
): string {
  const { secrets } = parts.dispatcher.contextFor(originFor(parts, requester, incoming)).knowledge;
  const values = Object.fromEntries(
    Object.entries(incoming.fields).filter(([, value]) => !findSecret(value, secrets)),
  );
  const draft = parts.drafts.keep(incoming.user, values);
  return customId({ kind: 'again', command, action, draft });
}

/** Opens a form that was refused, as it was filled in. */
export async function fillInAgain(
  parts: InteractionParts,
  { command, action, draft }: Extract<Carried, { kind: 'again' }>,
  requester: Requester,
  incoming: IncomingOf<'button'>,
  response: InteractionResponse,
): Promise<void> {
  const found = parts.commands.find(({ name }) => name === command);
  const asked = askedIn(command, action);
  if (!found || !asked) return showStale(parts, incoming, response);
  const context = parts.dispatcher.contextFor(originFor(parts, requester, incoming));
  const values = parts.drafts.find(incoming.user, draft) ?? {};
  await response.open(modalOf(found, action, asked.fields, values, context, asked.needed));
}
