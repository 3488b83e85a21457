/** A button, or an entry of a menu of choices, that somebody pressed. */
import { type Reply, replySchema } from '../../../commands/framework/reply.ts';
import { say } from '../../../shared/language/say.ts';
import { handleAndShow, noteCopy } from './after-reply.ts';
import { homesNow, originFor, showUnplaced, withRequester } from './ask-as.ts';
import { type Carried, readCustomId } from './custom-id.ts';
import { askOption } from './fill-option.ts';
import { fillInAgain } from './form-again.ts';
import type { IncomingOf, InteractionParts } from './interaction-parts.ts';
import type { InteractionResponse } from './interaction-response.ts';
import { type AttachedFile, messagesOf } from './outgoing.ts';
import { discordKeyOf, type Requester } from './requester.ts';
import { refused, showReply, showStale } from './show-reply.ts';

type CarriedOf<K extends Carried['kind']> = Extract<Carried, { kind: K }>;

export function press(
  parts: InteractionParts,
  incoming: IncomingOf<'button'>,
  response: InteractionResponse,
): Promise<void> {
  const carried = readCustomId(incoming.customId);
  switch (carried?.kind) {
    case 'home':
      return chooseHome(parts, carried, incoming, response);
    case 'choice':
      return withRequester(parts, incoming, response, (requester) =>
        takeChoice(parts, carried, requester, incoming, response),
      );
    case 'fill':
      return withRequester(parts, incoming, response, (requester) =>
        askOption(parts, carried, requester, incoming, response),
      );
    case 'again':
      return withRequester(parts, incoming, response, (requester) =>
        fillInAgain(parts, carried, requester, incoming, response),
      );
    case 'more':
      return withRequester(parts, incoming, response, (requester) =>
        showMore(parts, carried, requester, incoming, response),
      );
    case 'page':
      return withRequester(parts, incoming, response, (requester) =>
        turnPage(parts, carried, requester, incoming, response),
      );
    default:
      return showStale(parts, incoming, response);
  }
}

async function takeChoice(
  parts: InteractionParts,
  { token, command, inPlace }: CarriedOf<'choice'>,
  requester: Requester,
  incoming: IncomingOf<'button'>,
  response: InteractionResponse,
): Promise<void> {
  const also = incoming.also.flatMap((text) => {
    const other = readCustomId(text);
    return other?.kind === 'choice' ? [other.token] : [];
  });
  await handleAndShow(parts, requester, incoming, { token, also }, command, response, { inPlace });
}

/** Chosen from within the collective itself, and only where the person still is in it. */
async function chooseHome(
  parts: InteractionParts,
  { collective: id }: CarriedOf<'home'>,
  incoming: IncomingOf<'button'>,
  response: InteractionResponse,
): Promise<void> {
  const homes = await homesNow(parts, incoming);
  const collective = homes.kind === 'choose' ? homes.among.find((one) => one.id === id) : undefined;
  if (!collective) return showUnplaced(parts, homes, incoming, response);
  const person = { key: discordKeyOf(incoming.user), name: incoming.name, role: 'visitor' as const };
  const made = parts.dispatcher.handle({
    ...originFor(parts, { collective, person, direct: true }, incoming),
    requestId: incoming.id,
    say: { invoke: { command: 'home', action: '', options: { collective: String(id) } } },
  });
  await showReply(parts, made, 'home', incoming, response, true);
}

/** A reply that was given to a request, where who pressed may read it; null where it is kept no more. */
function keptReply(
  { database, asTyped }: InteractionParts,
  collective: Requester['collective'],
  request: string,
  { server, message }: IncomingOf<'button'>,
): Reply | null {
  const saved = replySchema.safeParse(database.of(collective).requests.answered(request)).data;
  const theirs = !server || message.ephemeral || saved?.audience === 'room';
  return saved && theirs ? asTyped(saved, server?.id ?? null) : null;
}

const showGone = (
  parts: InteractionParts,
  command: string,
  incoming: IncomingOf<'button'>,
  response: InteractionResponse,
): Promise<void> => {
  const gone = refused(
    'stale-choice',
    say`The rest of that answer is not kept any more; it is for a week.`,
    say`the command itself once more`,
  );
  return showReply(parts, gone, command, incoming, response);
};

/** What stands behind a reply that is kept, for who pressed alone. */
async function showMore(
  parts: InteractionParts,
  { command, request }: CarriedOf<'more'>,
  requester: Requester,
  incoming: IncomingOf<'button'>,
  response: InteractionResponse,
): Promise<void> {
  const saved = keptReply(parts, requester.collective, request, incoming);
  if (!saved) return showGone(parts, command, incoming, response);
  const [first] = messagesOf(saved, [], { command, request, side: 'back' });
  if (!first) return;
  await response.reply([first], 'asker');
  noteCopy(parts, requester, incoming, request, saved, response);
}

/**
 * Another page of a reply that is kept: in the place of the one that was shown, or for who pressed alone.
 */
async function turnPage(
  parts: InteractionParts,
  { command, side, page, request }: CarriedOf<'page'>,
  requester: Requester,
  incoming: IncomingOf<'button'>,
  response: InteractionResponse,
): Promise<void> {
  const { message } = incoming;
  const saved = keptReply(parts, requester.collective, request, incoming);
  if (!saved) return showGone(parts, command, incoming, response);
  const pagesOf = (files: readonly AttachedFile[]) => messagesOf(saved, files, { command, request, side });
  // The files are on the message already; they are not made again.
  const placeholders = message.attachments.map(({ filename: name }) => ({
    name,
    data: Buffer.alloc(0),
    description: '',
  }));
  const messages = pagesOf(side === 'front' ? placeholders : []);
  const wanted = messages[Math.min(page, messages.length - 1)];
  if (!wanted) return;
  if (message.askedBy === incoming.user || message.ephemeral || !incoming.server) {
    const attachments = message.attachments.map(({ id, filename, description }) => ({
      id,
      filename,
      ...(description ? { description } : {}),
    }));
    return response.update({ body: { ...wanted.body, attachments }, files: [] });
  }
  // Somebody else's page stays where it is: who pressed gets a copy of their own, without what hangs on the files.
  await response.reply(pagesOf([]).slice(page, page + 1), 'asker');
  noteCopy(parts, requester, incoming, request, saved, response);
}
