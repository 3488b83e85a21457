/** A command, the entry of a message's menu, a filled-in form, and completion: what is handed to the dispatcher. */
import { completeOption } from '../../../commands/framework/complete.ts';
import { Refusal, refusalReply } from '../../../commands/framework/refusal.ts';
import { type Invocation, inWords } from '../../../commands/framework/reply.ts';
import { handleAndShow } from './after-reply.ts';
import { homesNow, originFor, requesterOf, showUnplaced, withRequester } from './ask-as.ts';
import { readCustomId } from './custom-id.ts';
import { readAttachment, readPhoto } from './files.ts';
import { takeOption } from './fill-option.ts';
import { askedIn, keepDraft } from './form-again.ts';
import { formFor, invocationOf, MENU, modalOf } from './forms.ts';
import type { Incoming, IncomingFile } from './incoming.ts';
import type { IncomingOf, InteractionParts } from './interaction-parts.ts';
import type { InteractionResponse } from './interaction-response.ts';
import type { Requester } from './requester.ts';
import { showReply, showStale } from './show-reply.ts';

const COMPLETIONS = { most: 25, length: 100 } as const;

async function run(
  parts: InteractionParts,
  invoke: Invocation,
  requester: Requester,
  incoming: Incoming,
  response: InteractionResponse,
): Promise<void> {
  await handleAndShow(parts, requester, incoming, { invoke }, invoke.command, response);
}

/**
 * The invocation with the files that came with it read. Refusal when one of them cannot be used. A promise only where there are
 * some: what has to wait for nothing is handled in its turn of the queue, and timers and sockets get theirs after it.
 */
const withFiles = (
  parts: InteractionParts,
  invocation: Invocation,
  files: Readonly<Record<string, IncomingFile>>,
): Invocation | Promise<Invocation> =>
  Object.keys(files).length ? readFiles(parts, invocation, files) : invocation;

async function readFiles(
  { commands }: InteractionParts,
  invocation: Invocation,
  files: Readonly<Record<string, IncomingFile>>,
): Promise<Invocation> {
  const { command, action } = invocation;
  const found = commands.find(({ name }) => name === command);
  const options = { ...invocation.options };
  for (const [name, file] of Object.entries(files)) {
    const wire = found?.actions[action]?.options[name]?.wire;
    const isPhoto = wire?.type === 'file' && wire.photo === true;
    options[name] = await (isPhoto ? readPhoto : readAttachment)(name, file);
  }
  return { ...invocation, options };
}

export async function runCommand(
  parts: InteractionParts,
  incoming: IncomingOf<'command'>,
  response: InteractionResponse,
): Promise<void> {
  if (incoming.command === 'home') {
    const homes = await homesNow(parts, incoming);
    if (homes.kind !== 'choose') return showUnplaced(parts, homes, incoming, response);
  }
  return withRequester(parts, incoming, response, async (requester) => {
    const found = parts.commands.find(({ name }) => name === incoming.command);
    const action = incoming.action || (found && !('' in found.actions) ? found.main : '');
    const invocation: Invocation = { command: incoming.command, action, options: incoming.options };
    const form = Object.keys(incoming.files).length ? null : formFor(invocation);
    if (form && found) {
      const context = parts.dispatcher.contextFor(originFor(parts, requester, incoming));
      const modal = modalOf(found, action, form.fields, invocation.options, context);
      // A form cannot follow a deferral; then the command says itself what is missing.
      if (await response.open(modal)) return;
    }
    const made = withFiles(parts, invocation, incoming.files);
    await run(parts, made instanceof Promise ? await made : made, requester, incoming, response);
  });
}

/** The entry in the menu of a message opens a form with the message in it. */
export const openMenu = (
  parts: InteractionParts,
  incoming: IncomingOf<'menu'>,
  response: InteractionResponse,
): Promise<void> =>
  withRequester(parts, incoming, response, async (requester) => {
    const found = parts.commands.find(({ name }) => name === MENU.command);
    if (!found || incoming.command !== MENU.name) return showStale(parts, incoming, response);
    const context = parts.dispatcher.contextFor(originFor(parts, requester, incoming));
    const given = { text: incoming.content.replace(/\s+/g, ' ').trim() };
    const modal = modalOf(found, MENU.action, MENU.fields, given, context, MENU.fields);
    await response.open(modal);
  });

export function submitForm(
  parts: InteractionParts,
  incoming: IncomingOf<'form'>,
  response: InteractionResponse,
): Promise<void> {
  const carried = readCustomId(incoming.customId);
  if (carried?.kind === 'typed')
    return withRequester(parts, incoming, response, (requester) =>
      takeOption(parts, carried, requester, incoming, response),
    );
  if (carried?.kind !== 'form' || !askedIn(carried.command, carried.action))
    return showStale(parts, incoming, response);
  const { command, action } = carried;
  return withRequester(parts, incoming, response, async (requester) => {
    const again = () => keepDraft(parts, carried, requester, incoming);
    try {
      const made = withFiles(parts, invocationOf(command, action, incoming.fields), incoming.files);
      const invoke = made instanceof Promise ? await made : made;
      await handleAndShow(parts, requester, incoming, { invoke }, command, response, { again });
    } catch (error) {
      // A file that cannot be used: the form comes back, as after any other refusal.
      if (!(error instanceof Refusal)) throw error;
      const made = inWords(refusalReply(error.detail));
      await showReply(parts, made, command, incoming, response, false, again());
    }
  });
}

export async function completeInput(
  parts: InteractionParts,
  incoming: IncomingOf<'completion'>,
  response: InteractionResponse,
): Promise<void> {
  const found = parts.commands.find(({ name }) => name === incoming.command);
  // What there is to choose from has to be asked for first.
  if (incoming.command === 'home') await homesNow(parts, incoming);
  const asking = requesterOf(parts, incoming);
  const requester = asking instanceof Promise ? await asking : asking;
  if (!found || 'kind' in requester) return response.complete([]);
  const context = parts.dispatcher.contextFor(originFor(parts, requester, incoming));
  const choices = completeOption(
    found,
    incoming.action || found.main,
    incoming.option,
    incoming.typed,
    context,
  )
    .filter(({ name, value }) => name.length <= COMPLETIONS.length && value.length <= COMPLETIONS.length)
    .slice(0, COMPLETIONS.most);
  await response.complete(choices);
}
