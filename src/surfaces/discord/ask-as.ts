/** Who asks in an interaction, and what is said to somebody of whom it is not known which collective they belong to. */

import type { Reply } from '../../../commands/framework/reply.ts';
import type { Request, RequestOrigin } from '../../../commands/framework/request.ts';
import { say } from '../../../shared/language/say.ts';
import type { Incoming } from './incoming.ts';
import { MARKED } from './instants.ts';
import type { InteractionParts } from './interaction-parts.ts';
import type { InteractionResponse } from './interaction-response.ts';
import { discordKeyOf, type Requester, type Unplaced } from './requester.ts';
import { refused, showReply } from './show-reply.ts';

/** The requester as the dispatcher wants them. */
export const originFor = (
  { clock }: Pick<InteractionParts, 'clock'>,
  { collective, person, direct, place }: Requester,
  { locale, channel }: Incoming,
): RequestOrigin => ({
  collective: collective.id,
  person,
  direct,
  forms: true,
  instants: MARKED,
  now: clock(),
  ...(locale === undefined ? {} : { locale }),
  ...(place ? { place: { ...place, ...(channel === null ? {} : { channel }) } } : {}),
});

/** What the dispatcher answers; what a refusal offers is kept, so that its buttons work. */
export function handled(
  parts: InteractionParts,
  requester: Requester,
  incoming: Incoming,
  said: Request['say'],
): Reply {
  const origin = originFor(parts, requester, incoming);
  const made = parts.dispatcher.handle({ ...origin, requestId: incoming.id, say: said });
  return made.outcome === 'refused' ? parts.dispatcher.offer(made, origin) : made;
}

export const requesterOf = (
  { who }: Pick<InteractionParts, 'who'>,
  incoming: Incoming,
): Requester | Unplaced | Promise<Requester | Unplaced> =>
  incoming.server ? who.inServer(incoming) : who.inDirect(incoming);

function nowhereReply({ kind }: Exclude<Unplaced, { kind: 'choose' }>): Reply {
  switch (kind) {
    case 'nowhere':
      return refused(
        'no-collective',
        say`I do not know you from any collective yet.`,
        say`a command in the server of your collective first, such as /help; after that I know where you belong`,
      );
    case 'unknown':
      return refused(
        'unavailable',
        say`Discord does not tell me just now which collective you are in.`,
        say`the same once more in a minute`,
      );
    case 'not installed':
      return refused(
        'no-collective',
        say`I am not installed in this server.`,
        say`the same in the server of your collective, or in a direct message`,
      );
  }
}

/** `/home` for somebody in several collectives who has chosen none: asked from the first of them. */
function homeReply(
  { dispatcher, clock }: InteractionParts,
  { among: [first] }: Extract<Unplaced, { kind: 'choose' }>,
  incoming: Incoming,
): Reply {
  if (!first) return nowhereReply({ kind: 'nowhere' });
  const person = { key: discordKeyOf(incoming.user), name: incoming.name, role: 'visitor' as const };
  const options = incoming.kind === 'command' && incoming.command === 'home' ? incoming.options : {};
  return dispatcher.handle({
    ...originFor({ clock }, { collective: first, person, direct: true }, incoming),
    unsettled: true,
    requestId: incoming.id,
    say: { invoke: { command: 'home', action: '', options } },
  });
}

/** Says why there is no collective, or offers those to choose from. */
export const showUnplaced = (
  parts: InteractionParts,
  unplaced: Unplaced,
  incoming: Incoming,
  response: InteractionResponse,
): Promise<void> => {
  const made = unplaced.kind === 'choose' ? homeReply(parts, unplaced, incoming) : nowhereReply(unplaced);
  return showReply(parts, made, 'home', incoming, response);
};

/** Runs `work` for who asked; without a collective it says why not. */
export async function withRequester(
  parts: InteractionParts,
  incoming: Incoming,
  response: InteractionResponse,
  work: (requester: Requester) => Promise<void>,
): Promise<void> {
  const found = requesterOf(parts, incoming);
  const requester = found instanceof Promise ? await found : found;
  if ('kind' in requester) return showUnplaced(parts, requester, incoming, response);
  await work(requester);
}

/** The collectives that somebody can choose from, asked of Discord anew; or why there are none. */
export async function homesNow({ who }: InteractionParts, { user }: Incoming): Promise<Unplaced> {
  try {
    const among = (await who.collectivesOf(user)).map(({ collective }) => collective);
    return among.length ? { kind: 'choose', among } : { kind: 'nowhere' };
  } catch {
    return { kind: 'unknown' };
  }
}
