/** Connects the bot to Discord: `startDiscord`. */
import type { Command } from '../../../commands/framework/command.ts';
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import { commandsWith } from '../../../commands/index.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import { ChatMessages } from '../chat-messages.ts';
import { JobCards } from '../job-cards.ts';
import { type SurfaceWatch, unwatched } from '../surface-watch.ts';
import type { Poster } from '../weekly-poster.ts';
import { paths } from './api.ts';
import { commandIdsOf } from './command-ids.ts';
import { DiscordConnection, type GatewayPatience } from './connection.ts';
import { draftsOf } from './drafts.ts';
import type { DrawFile } from './files.ts';
import { InteractionInbox } from './inbox.ts';
import type { InteractionParts } from './interaction-parts.ts';
import { DEFER_MS } from './interaction-response.ts';
import { DiscordJobThreads } from './job-threads.ts';
import { DiscordHands } from './message-hands.ts';
import { postersOf } from './poster.ts';
import { DISCORD, requestersOf } from './requester.ts';
import { discordCommands } from './server-command.ts';
import type { DiscordSettings } from './settings.ts';
import { wordingOf } from './wording.ts';

export interface DiscordParts {
  settings: DiscordSettings;
  database: Database;
  dispatcher: Dispatcher;
  commands: readonly Command[];
  /** A new id that cannot be guessed. */
  makeId: () => string;
  clock: () => Date;
  log: Log;
  drawFile: DrawFile;
  /** After how many milliseconds an answer that is not ready is deferred; 1,500 when not given. */
  deferMs?: number;
  /** After how many milliseconds a completion that waits is of no use any more; 2,500 when not given. */
  staleMs?: number;
  watch?: SurfaceWatch;
  /** What becomes of messages after they were sent, on all surfaces together. */
  messages?: ChatMessages;
  /** How long a gateway that is away is waited for between tries. */
  patience?: GatewayPatience;
}

export interface DiscordSurface {
  /** The bot's own id. */
  id: string;
  /** For the weekly post in a channel. */
  posterFor(channel: string): Poster;
  /** How many interactions wait for their turn. */
  waiting(): number;
  /** Ends the connection, when what is being answered just now has been; at most some seconds. */
  stop(): Promise<void>;
  /** Resolves with the reason when the surface has ended by itself, as when its token is no longer accepted. */
  ended: Promise<string>;
}

/**
 * Runs until it is stopped. Resolves when it listens. Throws WrongSetting with one clear line, without the token, when Discord
 * does not accept it; a Discord that cannot be reached is waited for.
 */
export async function startDiscord(parts: DiscordParts): Promise<DiscordSurface> {
  const { database, clock, log, makeId, drawFile, deferMs = DEFER_MS, watch = unwatched } = parts;
  const onFault = (error: unknown): string => {
    const id = makeId().slice(0, 8);
    log(id, error);
    return id;
  };
  const connection = new DiscordConnection(await import('discord.js'), {
    settings: parts.settings,
    log,
    watch,
    onFault,
    onInteraction: (raw) => inbox.take(raw),
    ...(parts.patience ? { patience: parts.patience } : {}),
  });
  const { rest, view } = connection;
  const who = requestersOf({
    database,
    clock,
    servers: view.servers,
    fetchMember: (server, user) => rest.get(paths.member(server, user)),
  });
  const choose = ({ key }: { key: string }, collective: number) =>
    database.channelBindings.setHome(key, collective);
  const own = discordCommands(() => ({ database, who, homesOf: who.homesOf, choose, ...view }));
  const commands = commandsWith(own, parts.commands);
  const dispatcher = parts.dispatcher.withCommands(commands);
  const ids = commandIdsOf({
    rest,
    application: parts.settings.application,
    servers: view.servers.ids,
    onFault,
  });
  const wording = wordingOf(commands);
  const asTyped: InteractionParts['asTyped'] = (reply, server) =>
    wording(reply, (name) => ids.idOf(name, server));
  const messages = parts.messages ?? new ChatMessages({ database, clock, onFault });
  const hands = new DiscordHands({ database, rest, clock });
  const shared = { database, dispatcher, commands, who, rest, clock, drawFile, deferMs, onFault, watch };
  const handling: InteractionParts = { ...shared, messages, hands, asTyped, drafts: draftsOf(makeId, clock) };
  const self = () => connection.self;
  const ownerOf = (server: string) => view.servers.view(server)?.owner ?? null;
  const { rightsIn, nameOfChannel } = view;
  const places = { database, rest, clock, self, rightsIn, nameOfChannel, ownerOf, asTyped, onFault };
  const threads = new DiscordJobThreads(places);
  const cards = new JobCards({ platform: DISCORD, database, dispatcher, threads, clock, onFault });
  const inbox = new InteractionInbox(handling, parts.staleMs);
  await connection.open();
  await ids.load();
  messages.register(DISCORD, hands, cards.moved);
  cards.start();
  return {
    id: connection.self,
    posterFor: postersOf({ ...places, drawFile }),
    ended: connection.ended,
    waiting: () => inbox.waiting,
    stop: async () => {
      connection.willClose();
      await inbox.stop();
      cards.stop();
      messages.unregister(DISCORD);
      await connection.close();
    },
  };
}
