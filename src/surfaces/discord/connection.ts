/** The connection to Discord: opened, and opened anew while Discord cannot be reached; and what discord.js knows by it. */

import { setTimeout as pause } from 'node:timers/promises';
import type * as Discord from 'discord.js';
import type { Log } from '../../environment/log.ts';
import { WrongSetting } from '../../environment/program-settings.ts';
import { whyOf } from '../../environment/why.ts';
import type { SurfaceWatch } from '../surface-watch.ts';
import { discordCodeOf, statusOf } from './api.ts';
import { gatewayReady, NoSessionLeft } from './gateway.ts';
import { Outage } from './outage.ts';
import type { Rest } from './rest.ts';
import type { DiscordSettings } from './settings.ts';

/** Milliseconds: the first pause before another try, the longest, and how long a gateway may take to greet. */
export interface GatewayPatience {
  first: number;
  most: number;
  hello: number;
}
const PATIENCE: GatewayPatience = { first: 1000, most: 60_000, hello: 20_000 };

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

/** `mayIdentify`: false for a client that was given up, whose connection discord.js may still open again. */
function createClient(
  { Client, Options, GatewayIntentBits, SimpleIdentifyThrottler }: typeof Discord,
  api: string | undefined,
  mayIdentify: () => boolean,
) {
  return new Client({
    ws: {
      buildIdentifyThrottler: async () => {
        const throttler = new SimpleIdentifyThrottler(1);
        return {
          waitForIdentify: (shard, signal) =>
            mayIdentify() ? throttler.waitForIdentify(shard, signal) : new Promise<void>(() => {}),
        };
      },
    },
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
    channelAt: (id: string) => {
      const channel = channelOf(id);
      return channel && { type: Number(channel.type), server: channel.guildId, parent: channel.parentId };
    },
    nameOfChannel: (id: string) => `#${channelOf(id)?.name ?? id}`,
    nameOfRole: (server: string, role: string) =>
      client().guilds.cache.get(server)?.roles.cache.get(role)?.name ?? role,
  };
}

const isTokenFault = (error: unknown): boolean =>
  (error instanceof Error && 'code' in error && error.code === 'TokenInvalid') ||
  (discordCodeOf(error) !== null && statusOf(error) === 401);

export interface ConnectionParts {
  settings: DiscordSettings;
  log: Log;
  /** Logs a fault under a new id. */
  onFault: (error: unknown) => void;
  /** Each interaction, as it came. */
  onInteraction: (raw: unknown) => void;
  watch: SurfaceWatch;
  patience?: GatewayPatience;
}

export class DiscordConnection {
  private readonly parts: ConnectionParts;
  private readonly discord: typeof Discord;
  private client: Client;
  private readonly outage: Outage;
  private closing = false;
  private end: (reason: string) => void = () => {};
  /** Resolves with the reason when Discord has closed it for good. */
  readonly ended: Promise<string>;
  readonly rest: Rest = {
    get: (path, options) => this.client.rest.get(path, options),
    post: (path, options) => this.client.rest.post(path, options),
    patch: (path, options) => this.client.rest.patch(path, options),
    delete: (path, options) => this.client.rest.delete(path, options),
  };
  /** What discord.js knows of servers, roles and channels. */
  readonly view = viewOf(() => this.client);

  constructor(discord: typeof Discord, parts: ConnectionParts) {
    this.discord = discord;
    this.parts = parts;
    this.outage = new Outage(parts.log);
    this.client = this.newClient();
    this.ended = new Promise<string>((resolve) => {
      this.end = resolve;
    });
  }

  /** The bot's own id. */
  get self(): string {
    return this.client.user?.id ?? this.parts.settings.application;
  }

  /** The only one that may log in: those before it were given up. */
  private newClient(): Client {
    const client: Client = createClient(this.discord, this.parts.settings.api, () => this.client === client);
    client.rest.setToken(this.parts.settings.token);
    return client;
  }

  /** Resolves when it listens. Throws WrongSetting where Discord does not accept the token or the bot. */
  async open(): Promise<void> {
    const { first, most, hello } = this.parts.patience ?? PATIENCE;
    process.on('unhandledRejection', this.onRejection);
    for (let wait = first; ; wait = Math.min(2 * wait, most)) {
      try {
        await gatewayReady(this.rest, hello);
        await this.connect();
        return this.outage.over();
      } catch (error) {
        if (error instanceof WrongSetting || isTokenFault(error)) {
          await this.client.destroy().catch(() => {});
          process.off('unhandledRejection', this.onRejection);
          throw error instanceof WrongSetting ? error : new WrongSetting(BAD_TOKEN);
        }
        const why = whyOf(error);
        const rest = error instanceof NoSessionLeft ? Math.max(wait, error.waitMs) : wait;
        this.outage.tell(
          `Discord cannot be reached (${why})`,
          `trying again, next in ${Math.ceil(rest / 1000)} s`,
        );
        await pause(rest);
      }
    }
  }

  /** From here on a lost connection is not told of. */
  willClose(): void {
    this.closing = true;
  }

  async close(): Promise<void> {
    await this.client.destroy();
    process.off('unhandledRejection', this.onRejection);
  }

  private async connect(): Promise<void> {
    this.listen();
    const { client } = this;
    const ready = new Promise<void>((resolve) => {
      client.once('clientReady', () => resolve());
    });
    const final = this.ended.then((reason) => {
      throw new WrongSetting(reason);
    });
    try {
      await Promise.race([Promise.all([client.login(this.parts.settings.token), ready]), final]);
    } catch (error) {
      // The gateway went away between its greeting and the login. A client that was destroyed cannot be used again.
      this.client = this.newClient();
      await client.destroy().catch(() => {});
      throw error;
    }
  }

  private listen(): void {
    const { client } = this;
    const { onFault, onInteraction, watch } = this.parts;
    client.ws.on(this.discord.GatewayDispatchEvents.InteractionCreate, onInteraction);
    client.on('shardDisconnect', ({ code }) => {
      const words = finalWords(code);
      if (words !== null) this.end(words);
    });
    client.on('invalidated', () => this.end('Discord ended the session for good. Start the bot again.'));
    client.on('error', (error) => onFault(error));
    client.on('shardError', ({ message }) => this.outage.tell(`the connection: ${message}`, 'trying again'));
    client.on('shardReconnecting', () => {
      watch.connected('discord', false);
      if (!this.closing) this.outage.tell('the connection is lost', 'trying again');
    });
    const back = (): void => {
      watch.connected('discord', true);
      this.outage.over();
    };
    client.on('shardResume', back);
    client.on('shardReady', back);
  }

  private readonly onRejection = (error: unknown): void => {
    if (isTheirs(error)) this.parts.onFault(error);
    // As without this handler: a fault of our own must not go by unseen.
    else
      setImmediate(() => {
        throw error;
      });
  };
}
