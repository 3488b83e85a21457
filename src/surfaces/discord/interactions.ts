/** What a person does in Discord, handed to the dispatcher, and the reply shown to them. */

import type { Command } from '../../../commands/framework/command.ts';
import { completeOption } from '../../../commands/framework/complete.ts';
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import { languageAt } from '../../../commands/framework/place-language.ts';
import { isPrivate } from '../../../commands/framework/private.ts';
import { Refusal, type RefusalCode, refusalReply } from '../../../commands/framework/refusal.ts';
import {
  type Invocation,
  inWords,
  type Reply,
  reply,
  replySchema,
  text,
} from '../../../commands/framework/reply.ts';
import { localeFor, withLocale } from '../../../shared/language/locale.ts';
import type { Message } from '../../../shared/language/message.ts';
import { render } from '../../../shared/language/render.ts';
import { say, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import { componentType } from './api.ts';
import { customId, readCustomId } from './custom-id.ts';
import { type DrawFile, makeFiles, readAttachment } from './files.ts';
import { formFor, formOf, invocationOf, MENU, modalOf } from './forms.ts';
import type { Incoming } from './incoming.ts';
import { type Audience, InteractionResponse } from './interaction-response.ts';
import { button, messagesOf, type OutgoingMessage, plainMessage } from './outgoing.ts';
import type { OwnActions } from './own-actions.ts';
import { isOwn } from './own-commands.ts';
import { DISCORD, discordKeyOf, type Requester, type Requesters, type Unplaced } from './requester.ts';
import type { Rest } from './rest.ts';

export interface InteractionParts {
  database: Database;
  dispatcher: Dispatcher;
  commands: readonly Command[];
  who: Requesters;
  own: OwnActions;
  rest: Rest;
  clock: () => Date;
  drawFile: DrawFile;
  /** After how many milliseconds an answer that is not ready is deferred. */
  deferMs: number;
  /** Logs a fault under a new id, and gives that. */
  onFault: (error: unknown) => string;
}

/** `response` where its time has begun to run already. */
export type Handle = (incoming: Incoming, response?: InteractionResponse) => Promise<void>;

type Of<K extends Incoming['kind']> = Extract<Incoming, { kind: K }>;

const COMPLETIONS = { most: 25, length: 100 } as const;

const refused = (code: RefusalCode, problem: Message, expected: Message, example?: string): Reply =>
  inWords(
    refusalReply({
      code,
      problem,
      expected,
      ...(example === undefined ? {} : { example }),
    }),
  );

function unplacedReply(unplaced: Unplaced): Reply {
  switch (unplaced.kind) {
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
    case 'choose':
      return inWords(
        reply({
          audience: 'asker',
          title: say`Which collective is this about?`,
          blocks: [
            text(
              say`You are in more than one. Choose where your direct messages go, and say it again; /home choose changes it.`,
            ),
          ],
        }),
      );
  }
}

export function interactionsOf(parts: InteractionParts): Handle {
  const { database, dispatcher, commands, who, own, rest, clock, drawFile, onFault } = parts;

  const askerOf = (incoming: Incoming): Requester | Unplaced | Promise<Requester | Unplaced> =>
    incoming.server ? who.inServer(incoming) : who.inDirect(incoming);

  const askedBy = ({ collective, person, direct, place }: Requester, incoming: Incoming) => ({
    collective: collective.id,
    person,
    direct,
    now: clock(),
    ...(incoming.locale === undefined ? {} : { locale: incoming.locale }),
    ...(place ? { place } : {}),
  });

  /** The messages of a reply: its first page, or all pages of a private reply, since those are not kept. */
  const draw = async (made: Reply, command: string, incoming: Incoming): Promise<OutgoingMessage[]> => {
    const { files, notes } = made.files.length
      ? await makeFiles(made, drawFile, incoming.fileLimit, onFault)
      : { files: [], notes: [] };
    const found = commands.find(({ name }) => name === command);
    const kept = made.outcome === 'answered' && found !== undefined && !isPrivate(found);
    const messages = messagesOf(made, files, { command, request: kept ? incoming.id : null }, { notes });
    return kept ? messages.slice(0, 1) : messages;
  };

  const audienceOf = (made: Reply): Audience => (made.outcome === 'answered' ? made.audience : 'asker');

  const show = async (
    made: Reply,
    command: string,
    incoming: Incoming,
    response: InteractionResponse,
    inPlace = false,
  ): Promise<void> => {
    const audience = audienceOf(made);
    response.expect(audience);
    const messages = await draw(made, command, incoming);
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
  };

  /** Without a place: says why, or offers the collectives to choose from. */
  const showUnplaced = async (unplaced: Unplaced, response: InteractionResponse): Promise<void> => {
    const [message] = messagesOf(unplacedReply(unplaced), [], { command: 'home', request: null });
    if (!message) return;
    const among = unplaced.kind === 'choose' ? unplaced.among.slice(0, COMPLETIONS.most) : [];
    const rows = Array.from({ length: Math.ceil(among.length / 5) }, (_, row) => ({
      type: componentType.row,
      components: among
        .slice(row * 5, row * 5 + 5)
        .map(({ id, name }) => button(name, customId({ kind: 'home', collective: id }))),
    }));
    await response.reply([{ ...message, body: { ...message.body, components: rows } }], 'asker');
  };

  const run = async (
    invocation: Invocation,
    asker: Requester,
    incoming: Incoming,
    response: InteractionResponse,
  ): Promise<void> => {
    const made = dispatcher.handle({
      ...askedBy(asker, incoming),
      requestId: incoming.id,
      say: { invoke: invocation },
    });
    await show(made, invocation.command, incoming, response);
  };

  /** Runs `work` for who asked; without a place it says why not. */
  const withAsker = async (
    incoming: Incoming,
    response: InteractionResponse,
    work: (asker: Requester) => Promise<void>,
  ): Promise<void> => {
    const found = askerOf(incoming);
    const asker = found instanceof Promise ? await found : found;
    if ('kind' in asker) return showUnplaced(asker, response);
    await work(asker);
  };

  const command = (incoming: Of<'command'>, response: InteractionResponse): Promise<void> => {
    if (isOwn(incoming.command)) return ownCommand(incoming, response);
    return withAsker(incoming, response, async (asker) => {
      const found = commands.find(({ name }) => name === incoming.command);
      const action = incoming.action || (found && !('' in found.actions) ? found.main : '');
      const invocation: Invocation = { command: incoming.command, action, options: incoming.options };
      const form = Object.keys(incoming.files).length ? null : formFor(invocation);
      if (form && found) {
        const context = dispatcher.contextFor(askedBy(asker, incoming));
        const modal = modalOf(found, action, form.fields, invocation.options, context);
        // A form cannot follow a deferral; then the command says itself what is missing.
        if (await response.open(modal)) return;
      }
      const options = { ...invocation.options };
      for (const [name, file] of Object.entries(incoming.files))
        options[name] = await readAttachment(name, file);
      await run({ ...invocation, options }, asker, incoming, response);
    });
  };

  /** The collectives to choose from, or why there are none. */
  const homesOf = async ({ user }: Incoming): Promise<Unplaced> => {
    try {
      const among = (await who.collectivesOf(user)).map(({ collective }) => collective);
      return among.length ? { kind: 'choose', among } : { kind: 'nowhere' };
    } catch {
      return { kind: 'unknown' };
    }
  };

  const ownCommand = async (incoming: Of<'command'>, response: InteractionResponse): Promise<void> => {
    if (incoming.command === 'home') {
      return showUnplaced(await homesOf(incoming), response);
    }
    await withAsker(incoming, response, async (asker) => {
      const made = await own.run(incoming, asker);
      await show(made, incoming.command, incoming, response);
    });
  };

  const menu = (incoming: Of<'menu'>, response: InteractionResponse): Promise<void> =>
    withAsker(incoming, response, async (asker) => {
      const found = commands.find(({ name }) => name === MENU.command);
      if (!found || incoming.command !== MENU.name) return showStale(incoming, response);
      const context = dispatcher.contextFor(askedBy(asker, incoming));
      const given = { text: incoming.content.replace(/\s+/g, ' ').trim() };
      const modal = modalOf(found, MENU.action, MENU.fields, given, context, MENU.fields);
      await response.open(modal);
    });

  const form = (incoming: Of<'form'>, response: InteractionResponse): Promise<void> => {
    const carried = readCustomId(incoming.customId);
    const known = carried?.kind === 'form' && isOffered(carried.command, carried.action);
    if (!known) return showStale(incoming, response);
    return withAsker(incoming, response, (asker) =>
      run(invocationOf(carried.command, carried.action, incoming.fields), asker, incoming, response),
    );
  };

  const showStale = (incoming: Incoming, response: InteractionResponse): Promise<void> =>
    show(
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

  const pressed = (incoming: Of<'button'>, response: InteractionResponse): Promise<void> => {
    const carried = readCustomId(incoming.customId);
    switch (carried?.kind) {
      case 'home':
        return chooseHome(carried.collective, incoming, response);
      case 'choice':
        return withAsker(incoming, response, async (asker) => {
          const made = dispatcher.handle({
            ...askedBy(asker, incoming),
            requestId: incoming.id,
            say: { token: carried.token },
          });
          await show(made, carried.command, incoming, response, carried.inPlace);
        });
      case 'page':
        return withAsker(incoming, response, (asker) => turnPage(carried, asker, incoming, response));
      default:
        return showStale(incoming, response);
    }
  };

  const turnPage = async (
    { command: answered, page, request }: Extract<ReturnType<typeof readCustomId>, { kind: 'page' }>,
    asker: Requester,
    incoming: Of<'button'>,
    response: InteractionResponse,
  ): Promise<void> => {
    const saved = replySchema.safeParse(database.of(asker.collective).requests.answered(request)).data;
    const theirs = !incoming.server || incoming.message.ephemeral || saved?.audience === 'room';
    if (!saved || !theirs) {
      const gone = refused(
        'stale-choice',
        say`The other pages of that answer are not kept any more; they are for a week.`,
        say`the command itself once more`,
      );
      return show(gone, answered, incoming, response);
    }
    // The files are on the message already; they are not made again.
    const pictures = incoming.message.attachments.map(({ filename }) => filename);
    const placeholders = pictures.map((name) => ({ name, data: Buffer.alloc(0), description: '' }));
    const messages = messagesOf(saved, placeholders, { command: answered, request });
    const wanted = messages[Math.min(page, messages.length - 1)];
    if (!wanted) return;
    const own = incoming.message.askedBy === incoming.user || incoming.message.ephemeral || !incoming.server;
    if (own) {
      const attachments = incoming.message.attachments.map(({ id, filename, description }) => ({
        id,
        filename,
        ...(description ? { description } : {}),
      }));
      return response.update({ body: { ...wanted.body, attachments }, files: [] });
    }
    // Somebody else's page stays where it is: who pressed gets a copy of their own, without what hangs on the files.
    const bare = messagesOf(saved, [], { command: answered, request });
    await response.reply(bare.slice(page, page + 1), 'asker');
  };

  const chooseHome = async (
    collective: number,
    incoming: Of<'button'>,
    response: InteractionResponse,
  ): Promise<void> => {
    const homes = await homesOf(incoming);
    const found = homes.kind === 'choose' ? homes.among.find(({ id }) => id === collective) : undefined;
    if (!found) return showUnplaced(homes, response);
    database.channelBindings.setHome(discordKeyOf(incoming.user), collective);
    const made = reply({
      audience: 'asker',
      tone: 'good',
      title: say`Your direct messages go to ${verbatim(found.name)} now`,
      blocks: [text(say`Say again what you wanted. /home choose changes it.`)],
    });
    await show(inWords(made), 'home', incoming, response, true);
  };

  /** Forms that this version opens. */
  const isOffered = (name: string, action: string): boolean =>
    formOf(name, action) !== undefined || (name === MENU.command && action === MENU.action);

  const complete = async (incoming: Of<'completion'>, response: InteractionResponse): Promise<void> => {
    const found = commands.find(({ name }) => name === incoming.command);
    const asking = askerOf(incoming);
    const asker = asking instanceof Promise ? await asking : asking;
    if (!found || 'kind' in asker) return response.complete([]);
    const action = incoming.action || found.main;
    const context = dispatcher.contextFor(askedBy(asker, incoming));
    const choices = completeOption(found, action, incoming.option, incoming.typed, context)
      .filter(({ name, value }) => name.length <= COMPLETIONS.length && value.length <= COMPLETIONS.length)
      .slice(0, COMPLETIONS.most);
    await response.complete(choices);
  };

  const work = (incoming: Incoming, response: InteractionResponse): Promise<void> => {
    switch (incoming.kind) {
      case 'command':
        return command(incoming, response);
      case 'menu':
        return menu(incoming, response);
      case 'completion':
        return complete(incoming, response);
      case 'button':
        return pressed(incoming, response);
      case 'form':
        return form(incoming, response);
    }
  };

  const handle: Handle = async (incoming, begun) => {
    const response = begun ?? new InteractionResponse({ rest, incoming, deferMs: parts.deferMs, onFault });
    try {
      await work(incoming, response);
    } catch (error) {
      if (error instanceof Refusal) {
        return show(inWords(refusalReply(error.detail)), 'help', incoming, response);
      }
      const id = onFault(error);
      await response
        .reply(
          [plainMessage(render(say`Something went wrong here. The log has it under ${verbatim(id)}.`))],
          'asker',
        )
        .catch(onFault);
    }
  };
  // What the surface says by itself is for the person alone: in their own language.
  return (incoming, begun) => {
    const spoken = languageAt(database, DISCORD, incoming.server?.id ?? null, discordKeyOf(incoming.user));
    return withLocale(localeFor(incoming.locale, spoken), () => handle(incoming, begun));
  };
}
