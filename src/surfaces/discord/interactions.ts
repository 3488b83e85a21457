/** What a person does in Discord, handed to the dispatcher, and the reply shown to them. */
import { languageAt } from '../../../commands/framework/place-language.ts';
import { Refusal, refusalReply } from '../../../commands/framework/refusal.ts';
import { inWords } from '../../../commands/framework/reply.ts';
import { localeFor, withLocale } from '../../../shared/language/locale.ts';
import { render } from '../../../shared/language/render.ts';
import { say, verbatim } from '../../../shared/language/say.ts';
import { press } from './buttons.ts';
import type { Incoming } from './incoming.ts';
import type { InteractionParts } from './interaction-parts.ts';
import { InteractionResponse } from './interaction-response.ts';
import { plainMessage } from './outgoing.ts';
import { DISCORD, discordKeyOf } from './requester.ts';
import { completeInput, openMenu, runCommand, submitForm } from './run-command.ts';
import { showReply } from './show-reply.ts';

function work(parts: InteractionParts, incoming: Incoming, response: InteractionResponse): Promise<void> {
  switch (incoming.kind) {
    case 'command':
      return runCommand(parts, incoming, response);
    case 'menu':
      return openMenu(parts, incoming, response);
    case 'completion':
      return completeInput(parts, incoming, response);
    case 'button':
      return press(parts, incoming, response);
    case 'form':
      return submitForm(parts, incoming, response);
  }
}

async function answer(
  parts: InteractionParts,
  incoming: Incoming,
  response: InteractionResponse,
): Promise<void> {
  try {
    await work(parts, incoming, response);
  } catch (error) {
    if (error instanceof Refusal)
      return showReply(parts, inWords(refusalReply(error.detail)), 'help', incoming, response);
    const id = parts.onFault(error);
    const word = render(say`Something went wrong here. The log has it under ${verbatim(id)}.`);
    await response.reply([plainMessage(word)], 'asker').catch(parts.onFault);
  }
}

/** `begun`: the response, where its time has begun to run already. */
export function handleInteraction(
  parts: InteractionParts,
  incoming: Incoming,
  begun?: InteractionResponse,
): Promise<void> {
  const { database, rest, deferMs, onFault, watch } = parts;
  const response = begun ?? new InteractionResponse({ rest, incoming, deferMs, onFault, watch });
  // What the surface says by itself is for the person alone: in their own language.
  const spoken = languageAt(database, DISCORD, incoming.server?.id ?? null, discordKeyOf(incoming.user));
  return withLocale(localeFor(incoming.locale, spoken), () => answer(parts, incoming, response));
}
