/** Connects the bot to Discord: `startDiscord`. */

import { setTimeout as pause } from 'node:timers/promises';
import type * as Discord from 'discord.js';
import type { Command } from '../../../commands/framework/command.ts';
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import { render } from '../../../shared/language/render.ts';
import { say } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import { WrongSetting } from '../../environment/program-settings.ts';
import type { Poster } from '../weekly-poster.ts';
import { discordCodeOf, paths, statusOf } from './api.ts';
import type { DrawFile } from './files.ts';
import { addressOf, type Incoming, readIncoming } from './incoming.ts';
import { DEFER_MS, InteractionResponse } from './interaction-response.ts';
import { interactionsOf } from './interactions.ts';
import { plainMessage } from './outgoing.ts';
import { ownActionsOf } from './own-actions.ts';
import { postersOf } from './poster.ts';
import { workQueue } from './queue.ts';
import { requestersOf } from './requester.ts';
import type { DiscordSettings } from './settings.ts';

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
}

export interface DiscordSurface {
  /** The bot's own id. */
  id: string;
  /** For the weekly post in a channel. */
  posterFor(channel: string): Poster;
  /** Ends the connection, when what is being answered just now has been; at most some seconds. */
  stop(): Promise<void>;
  /** Resolves with the reason when the surface has ended by itself, as when its token is no longer accepted. */
  ended: Promise<string>;
}

const STOP_MS = 10_000;
const RETRY_MS = { first: 1000, most: 60_000 };
/** Ids of interactions that were seen, so that one delivered twice is not worked on twice. */
const REMEMBERED = 5000;

const BAD_TOKEN =
  'DISCORD_TOKEN: Discord does not accept it (any more). Reset it in the developer portal under Bot, and set the new one.';

/** Why Discord closed the connection for good ("Gateway Close Event Codes"); null where it may be opened again. */
function finalWords(code: number): string | null {
  switch (code) {
    case 4004:
      return BAD_TOKEN;
    case 4010:
    case 4011:
      return `Discord wants the connection split up (${code}): the bot is in more servers than one process may serve.`;
    case 4012:
      return 'Discord does not speak this version of its protocol any more (4012). Update the bot.';
    case 4013:
    case 4014:
      return `Discord does not allow the events that were asked for (${code}). The bot needs no privileged intents: update it, or tell its makers.`;
    default:
      return null;
  }
}

/** Comes from within discord.js: such a fault is logged, and does not end the bot. */
const isTheirs = (error: unknown): boolean =>
  error instanceof Error && /[\\/](?:discord\.js|@discordjs)[\\/]/.test(error.stack ?? '');

function createClient({ Client, Options, GatewayIntentBits }: typeof Discord, api: string | undefined) {
  return new Client({
    // Servers with their roles and channels; no privileged intent.
    intents: [GatewayIntentBits.Guilds],
    allowedMentions: { parse: [] },
    ...(api === undefined ? {} : { rest: { api } }),
    // Of what passes only servers, roles and channels are read again.
    makeCache: Options.cacheWithLimits({
      ...Options.DefaultMakeCacheSettings,
      MessageManager: 0,
      ReactionManager: 0,
      PresenceManager: 0,
      VoiceStateManager: 0,
      GuildEmojiManager: 0,
      GuildStickerManager: 0,
      GuildMemberManager: { maxSize: 0, keepOverLimit: ({ id, client }) => id === client.user.id },
      UserManager: { maxSize: 0, keepOverLimit: ({ id, client }) => id === client.user?.id },
    }),
  });
}
type Client = ReturnType<typeof createClient>;

/** What discord.js knows of servers, roles and channels. */
function viewOf(client: () => Client) {
  const channelOf = (id: string) => {
    const channel = client().channels.cache.get(id);
    return channel && 'permissionsFor' in channel && !channel.isDMBased() ? channel : null;
  };
  return {
    servers: {
      ids: () => [...client().guilds.cache.keys()],
      view: (id: string) => {
        const guild = client().guilds.cache.get(id);
        return guild
          ? {
              name: guild.name,
              owner: guild.ownerId,
              roles: new Map(guild.roles.cache.map((role) => [role.id, role.permissions.bitfield])),
            }
          : null;
      },
    },
    rightsIn: (id: string) => {
      const channel = channelOf(id);
      const self = channel?.guild.members.me;
      return channel && self ? channel.permissionsFor(self).bitfield : null;
    },
    nameOfChannel: (id: string) => `#${channelOf(id)?.name ?? id}`,
    nameOfRole: (server: string, role: string) =>
      client().guilds.cache.get(server)?.roles.cache.get(role)?.name ?? role,
  };
}

/**
 * Runs until it is stopped. Resolves when it listens. Throws WrongSetting with one clear line, without the token, when Discord
 * does not accept it; a Discord that cannot be reached is waited for.
 */
export async function startDiscord(parts: DiscordParts): Promise<DiscordSurface> {
  const discord = await import('discord.js');
  const { database, dispatcher, commands, clock, log, makeId, drawFile, deferMs = DEFER_MS } = parts;
  const onFault = (error: unknown): string => {
    const id = makeId().slice(0, 8);
    log(id, error);
    return id;
  };
  let client = createClient(discord, parts.settings.api);
  const rest = {
    get: (path: `/${string}`, options?: object) => client.rest.get(path, options),
    post: (path: `/${string}`, options?: object) => client.rest.post(path, options),
    patch: (path: `/${string}`, options?: object) => client.rest.patch(path, options),
    delete: (path: `/${string}`, options?: object) => client.rest.delete(path, options),
  };
  const view = viewOf(() => client);
  const who = requestersOf({
    database,
    clock,
    servers: view.servers,
    fetchMember: (server, user) => rest.get(paths.member(server, user)),
  });
  const own = ownActionsOf({ database, who, clock, ...view });
  const handle = interactionsOf({
    database,
    dispatcher,
    commands,
    who,
    own,
    rest,
    clock,
    drawFile,
    deferMs,
    onFault,
  });

  let end: (reason: string) => void = () => {};
  const ended = new Promise<string>((resolve) => {
    end = resolve;
  });
  let stopping = false;
  const queue = workQueue();
  const underWay = new Set<Promise<void>>();
  const seen = new Set<string>();

  const isNew = (id: string): boolean => {
    if (seen.has(id)) return false;
    seen.add(id);
    if (seen.size > REMEMBERED) {
      const [oldest] = seen;
      if (oldest !== undefined) seen.delete(oldest);
    }
    return true;
  };
  const track = (work: Promise<void>): void => {
    underWay.add(work);
    work.catch(onFault).finally(() => underWay.delete(work));
  };
  const take = (raw: unknown): void => {
    const address = addressOf(raw);
    if (!address || !isNew(address.id)) return;
    const incoming = readIncoming(raw);
    if (!incoming) {
      onFault(new Error(`an interaction of type ${address.type} that could not be read`));
      return;
    }
    if (stopping) {
      const word = plainMessage(render(say`I am being restarted. Say it again in a minute.`));
      const response = new InteractionResponse({ rest, incoming, deferMs, onFault });
      track(incoming.kind === 'completion' ? response.complete([]) : response.reply([word], 'asker'));
      return;
    }
    enqueue(incoming);
  };
  const enqueue = (incoming: Incoming): void => {
    if (incoming.kind === 'completion') queue.addCompletion(() => track(handle(incoming)));
    else {
      // Its time runs from here, also while it waits for its turn.
      const answering = new InteractionResponse({ rest, incoming, deferMs, onFault });
      queue.add(() => track(handle(incoming, answering)));
    }
  };

  const listen = (): void => {
    client.ws.on(discord.GatewayDispatchEvents.InteractionCreate, take);
    client.on('shardDisconnect', ({ code }) => {
      const words = finalWords(code);
      if (words !== null) end(words);
    });
    client.on('invalidated', () => end('Discord ended the session for good. Start the bot again.'));
    client.on('error', (error) => onFault(error));
    client.on('shardError', (error) => log('discord', `the connection: ${error.message}`));
    client.on('shardReconnecting', () => {
      if (!stopping) log('discord', 'the connection is lost; trying again');
    });
    client.on('shardResume', () => log('discord', 'the connection is back'));
  };
  const onRejection = (error: unknown): void => {
    if (isTheirs(error)) onFault(error);
    // As without this handler: a fault of our own must not go by unseen.
    else
      setImmediate(() => {
        throw error;
      });
  };
  process.on('unhandledRejection', onRejection);

  const connect = async (): Promise<void> => {
    listen();
    const ready = new Promise<void>((resolve) => {
      client.once('clientReady', () => resolve());
    });
    const final = ended.then((reason) => {
      throw new WrongSetting(reason);
    });
    await Promise.race([Promise.all([client.login(parts.settings.token), ready]), final]);
  };

  for (let wait = RETRY_MS.first; ; wait = Math.min(2 * wait, RETRY_MS.most)) {
    try {
      await connect();
      break;
    } catch (error) {
      await client.destroy().catch(() => {});
      if (error instanceof WrongSetting || isTokenFault(error)) {
        process.off('unhandledRejection', onRejection);
        throw error instanceof WrongSetting ? error : new WrongSetting(BAD_TOKEN);
      }
      const why = error instanceof Error ? error.message : String(error);
      log('discord', `Discord cannot be reached (${why}); trying again in ${Math.round(wait / 1000)} s`);
      await pause(wait);
      client = createClient(discord, parts.settings.api);
    }
  }
  const self = client.user?.id ?? parts.settings.application;
  const posterFor = postersOf({
    database,
    rest,
    clock,
    self: () => self,
    drawFile,
    rightsIn: view.rightsIn,
    nameOfChannel: view.nameOfChannel,
    ownerOf: (server) => view.servers.view(server)?.owner ?? null,
    onFault,
  });
  return {
    id: self,
    posterFor,
    ended,
    stop: async () => {
      stopping = true;
      const until = performance.now() + STOP_MS;
      while ((underWay.size || queue.waiting) && performance.now() < until)
        await Promise.race([Promise.allSettled([...underWay]), pause(20)]);
      await client.destroy();
      process.off('unhandledRejection', onRejection);
    },
  };
}

const isTokenFault = (error: unknown): boolean =>
  (error instanceof Error && 'code' in error && error.code === 'TokenInvalid') ||
  (discordCodeOf(error) !== null && statusOf(error) === 401);
