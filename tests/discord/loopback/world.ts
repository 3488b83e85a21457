import type { Json, JsonObject } from './rules.ts';

export interface User {
  id: string;
  username: string;
  /** Display name. */
  name: string;
  bot: boolean;
  /** Takes no direct messages from the bot. */
  closed: boolean;
}
export interface Member {
  user: string;
  nick: string | null;
  roles: string[];
}
export interface Role {
  id: string;
  name: string;
  permissions: bigint;
}
interface Tag {
  id: string;
  name: string;
  moderated: boolean;
}
export interface Thread {
  /** The channel or forum that it is in. */
  parent: string;
  owner: string;
  archived: boolean;
  locked: boolean;
  tags: string[];
}
interface Forum {
  tags: Tag[];
  /** Each post has to have a tag. */
  wantsTag: boolean;
}
export interface Channel {
  id: string;
  /** 0: text; 1: direct; 11: a thread; 15: a forum. */
  type: 0 | 1 | 11 | 15;
  name: string;
  server: string | null;
  /** The person on the other side of a direct channel. */
  user: string | null;
  /** Rights that the bot is denied here. */
  denied: bigint;
  thread?: Thread;
  forum?: Forum;
}
export interface Server {
  id: string;
  name: string;
  owner: string;
  roles: Role[];
  members: Member[];
}
export interface Attachment {
  id: string;
  filename: string;
  description: string;
  bytes: Buffer;
  type: string;
}
export interface Message {
  id: string;
  channel: string;
  author: string;
  content: string;
  embeds: JsonObject[];
  components: JsonObject[];
  attachments: Attachment[];
  flags: number;
  nonce: string | null;
  /** Whom an ephemeral message is for. */
  only: string | null;
  /** Who asked for it, for an answer to an interaction. */
  askedBy: string | null;
  edited: number;
  at: Date;
  pending: boolean;
}

export const rights = {
  administrator: 1n << 3n,
  manageChannels: 1n << 4n,
  manageServer: 1n << 5n,
  view: 1n << 10n,
  send: 1n << 11n,
  embed: 1n << 14n,
  attach: 1n << 15n,
  history: 1n << 16n,
  manageThreads: 1n << 34n,
  threads: 1n << 35n,
  sendInThreads: 1n << 38n,
} as const;
const everyday =
  rights.view |
  rights.send |
  rights.embed |
  rights.attach |
  rights.history |
  rights.threads |
  rights.sendInThreads;

const DISCORD_EPOCH = 1_420_070_400_000n;
let last = 0n;
/** A new snowflake: 17 to 19 digits, larger than all before it. */
export function snowflake(at = Date.now()): string {
  const made = (BigInt(at) - DISCORD_EPOCH) << 22n;
  last = made > last ? made : last + 1n;
  return last.toString();
}

export class World {
  readonly application: string;
  readonly bot: User;
  readonly token: string;
  readonly users = new Map<string, User>();
  readonly servers = new Map<string, Server>();
  readonly channels = new Map<string, Channel>();
  readonly messages = new Map<string, Message>();
  readonly uploads = new Map<string, { bytes: Buffer; type: string }>();
  /** Registered commands by scope: `global`, or a server's id. */
  readonly commands = new Map<string, Map<string, JsonObject>>();
  /** Commands that a server's settings show to everybody there: `server command`. */
  readonly shownToAll = new Set<string>();
  cdn = '';

  constructor() {
    this.application = snowflake();
    this.bot = this.addUser('thirdhand', 'Thirdhand', this.application);
    this.bot.bot = true;
    this.token = `${Buffer.from(this.application).toString('base64url')}.loop.back`;
  }

  addUser(username: string, name: string, id = snowflake()): User {
    const user: User = { id, username, name, bot: false, closed: false };
    this.users.set(id, user);
    return user;
  }

  addServer(name: string, owner: User): Server {
    const id = snowflake();
    const server: Server = {
      id,
      name,
      owner: owner.id,
      roles: [{ id, name: '@everyone', permissions: everyday }],
      members: [],
    };
    this.servers.set(id, server);
    this.join(server, owner);
    this.join(server, this.bot);
    return server;
  }

  join(server: Server, user: User, roles: readonly Role[] = [], nick: string | null = null): Member {
    const member: Member = { user: user.id, nick, roles: roles.map(({ id }) => id) };
    server.members = [...server.members.filter((one) => one.user !== user.id), member];
    return member;
  }

  addRole(server: Server, name: string, permissions = 0n): Role {
    const role: Role = { id: snowflake(), name, permissions };
    server.roles.push(role);
    return role;
  }

  addChannel(server: Server, name: string): Channel {
    return this.saveChannel({
      id: snowflake(),
      type: 0,
      name,
      server: server.id,
      user: null,
      denied: 0n,
    });
  }

  addForum(server: Server, name: string): Channel {
    return this.saveChannel({
      ...{ id: snowflake(), type: 15, name, server: server.id, user: null, denied: 0n },
      forum: { tags: [], wantsTag: false },
    });
  }

  /** A thread has the id of the message that it begins with. */
  addThread(id: string, name: string, parent: Channel, owner: string): Channel {
    return this.saveChannel({
      ...{ id, type: 11, name, server: parent.server, user: null, denied: 0n },
      thread: { parent: parent.id, owner, archived: false, locked: false, tags: [] },
    });
  }

  /** The direct channel of a person and the bot. */
  directOf(user: User): Channel {
    const known = [...this.channels.values()].find(
      ({ type, user: other }) => type === 1 && other === user.id,
    );
    return (
      known ??
      this.saveChannel({ id: snowflake(), type: 1, name: '', server: null, user: user.id, denied: 0n })
    );
  }

  private saveChannel(channel: Channel): Channel {
    this.channels.set(channel.id, channel);
    return channel;
  }

  user(id: string): User {
    const found = this.users.get(id);
    if (!found) throw new Error(`no user ${id}`);
    return found;
  }
  channel(id: string): Channel {
    const found = this.channels.get(id);
    if (!found) throw new Error(`no channel ${id}`);
    return found;
  }

  memberOf(server: Server, user: string): Member | undefined {
    return server.members.find((one) => one.user === user);
  }

  /** What a member may do in a server, all channels alike; an owner may do everything. */
  permissionsOf(server: Server, member: Member): bigint {
    const all = (1n << 50n) - 1n;
    const own = server.roles.filter(({ id }) => id === server.id || member.roles.includes(id));
    const granted = own.reduce((sum, { permissions }) => sum | permissions, 0n);
    return server.owner === member.user || granted & rights.administrator ? all : granted;
  }

  /** What the bot may do in a channel. */
  botRights(channel: Channel): bigint {
    if (channel.server === null) return everyday;
    const parent = channel.thread && this.channels.get(channel.thread.parent);
    if (parent) return this.botRights(parent);
    const server = this.servers.get(channel.server);
    const member = server && this.memberOf(server, this.bot.id);
    return server && member ? this.permissionsOf(server, member) & ~channel.denied : 0n;
  }

  /** Messages of a channel that everyone sees, newest first. */
  seenIn(channel: string): Message[] {
    return [...this.messages.values()]
      .filter((one) => one.channel === channel && one.only === null && !one.pending)
      .reverse();
  }

  userJson({ id, username, name, bot }: User): JsonObject {
    return {
      id,
      username,
      global_name: bot ? null : name,
      discriminator: bot ? '0001' : '0',
      avatar: null,
      public_flags: 0,
      flags: 0,
      primary_guild: null,
      ...(bot ? { bot } : {}),
    };
  }

  memberJson({ user, nick, roles }: Member): JsonObject {
    return {
      user: this.userJson(this.user(user)),
      nick,
      roles,
      avatar: null,
      banner: null,
      communication_disabled_until: null,
      flags: 0,
      joined_at: '2026-01-01T00:00:00.000Z',
      pending: false,
      premium_since: null,
      mute: false,
      deaf: false,
    };
  }

  roleJson({ id, name, permissions }: Role, position: number): JsonObject {
    return {
      id,
      name,
      permissions: permissions.toString(),
      position,
      color: 0,
      colors: { primary_color: 0, secondary_color: null, tertiary_color: null },
      hoist: false,
      managed: false,
      mentionable: false,
      icon: null,
      unicode_emoji: null,
      flags: 0,
    };
  }

  private threadJson({ id, name, server }: Channel, thread: Thread): JsonObject {
    return {
      id,
      type: 11,
      name,
      flags: 0,
      guild_id: server,
      parent_id: thread.parent,
      owner_id: thread.owner,
      last_message_id: id,
      rate_limit_per_user: 0,
      message_count: 0,
      member_count: 1,
      total_message_sent: 0,
      ...(thread.tags.length ? { applied_tags: thread.tags } : {}),
      thread_metadata: {
        archived: thread.archived,
        archive_timestamp: '2026-01-01T00:00:00.000Z',
        auto_archive_duration: 10080,
        locked: thread.locked,
      },
    };
  }

  channelJson(channel: Channel): JsonObject {
    const { id, type, name, server, user, denied, thread, forum } = channel;
    if (thread) return this.threadJson(channel, thread);
    return type === 1
      ? { id, type, flags: 0, last_message_id: null, recipients: [this.userJson(this.user(user ?? ''))] }
      : {
          id,
          type,
          name,
          flags: forum?.wantsTag ? 1 << 4 : 0,
          ...(forum
            ? { available_tags: forum.tags.map((tag) => ({ ...tag, emoji_id: null, emoji_name: null })) }
            : {}),
          guild_id: server,
          parent_id: null,
          position: 0,
          topic: null,
          nsfw: false,
          last_message_id: null,
          rate_limit_per_user: 0,
          permission_overwrites: denied
            ? [{ id: this.bot.id, type: 1, allow: '0', deny: denied.toString() }]
            : [],
        };
  }

  serverJson({ id, name, owner, roles }: Server): JsonObject {
    return {
      id,
      name,
      owner_id: owner,
      icon: null,
      description: null,
      home_header: null,
      splash: null,
      discovery_splash: null,
      features: [],
      banner: null,
      application_id: null,
      region: 'sydney',
      afk_channel_id: null,
      afk_timeout: 300,
      system_channel_id: null,
      system_channel_flags: 0,
      widget_enabled: false,
      widget_channel_id: null,
      verification_level: 0,
      roles: roles.map((role, position) => this.roleJson(role, position)),
      default_message_notifications: 0,
      mfa_level: 0,
      explicit_content_filter: 0,
      max_presences: null,
      max_members: 500_000,
      max_stage_video_channel_users: 50,
      max_video_channel_users: 25,
      vanity_url_code: null,
      premium_tier: 0,
      premium_subscription_count: 0,
      preferred_locale: 'en-US',
      rules_channel_id: null,
      safety_alerts_channel_id: null,
      public_updates_channel_id: null,
      premium_progress_bar_enabled: false,
      nsfw: false,
      nsfw_level: 0,
      emojis: [],
      stickers: [],
      incidents_data: null,
    };
  }

  /** What GUILD_CREATE adds: the bot's own member, the channels. */
  serverCreateJson(server: Server): JsonObject {
    const own = this.memberOf(server, this.bot.id);
    return {
      ...this.serverJson(server),
      joined_at: '2026-01-01T00:00:00.000Z',
      large: false,
      unavailable: false,
      member_count: server.members.length,
      members: own ? [this.memberJson(own)] : [],
      channels: [...this.channels.values()]
        .filter((channel) => channel.server === server.id && !channel.thread)
        .map((channel) => this.channelJson(channel)),
      threads: [],
      presences: [],
      voice_states: [],
      stage_instances: [],
      guild_scheduled_events: [],
      soundboard_sounds: [],
    };
  }

  messageJson(message: Message): JsonObject {
    const embeds: Json[] = message.embeds.map((embed) => ({ type: 'rich', ...embed }));
    return {
      id: message.id,
      type: 0,
      channel_id: message.channel,
      author: this.userJson(this.user(message.author)),
      content: message.content,
      embeds: embeds.map((embed) => this.withUrls(embed, message)),
      components: message.components.map((row, index) => componentJson(row, index)),
      attachments: message.attachments.map((one) => this.attachmentJson(one)),
      mentions: [],
      mention_roles: [],
      mention_everyone: false,
      pinned: false,
      tts: false,
      flags: message.flags,
      timestamp: message.at.toISOString(),
      edited_timestamp: message.edited ? new Date(message.at.getTime() + 1).toISOString() : null,
      ...(message.nonce === null ? {} : { nonce: message.nonce }),
      ...(message.askedBy === null
        ? {}
        : {
            interaction_metadata: {
              id: message.id,
              type: 2,
              user: this.userJson(this.user(message.askedBy)),
              authorizing_integration_owners: {},
            },
          }),
    };
  }

  /** An attached picture that an embed shows gets its address, as Discord does it. */
  private withUrls(embed: Json, message: Message): Json {
    const text = JSON.stringify(embed).replace(/attachment:\/\/([^"]+)/g, (whole, name: string) => {
      const found = message.attachments.find(({ filename }) => filename === name);
      return found ? `${this.cdn}/attachments/${found.id}/${name}` : whole;
    });
    const read: Json = JSON.parse(text);
    return read;
  }

  attachmentJson({ id, filename, description, bytes, type }: Attachment): JsonObject {
    const url = `${this.cdn}/attachments/${id}/${filename}`;
    return {
      id,
      filename,
      size: bytes.length,
      url,
      proxy_url: url,
      content_type: type,
      ...(description ? { description } : {}),
    };
  }

  upload(filename: string, bytes: Buffer, type: string, description = ''): Attachment {
    const attachment = { id: snowflake(), filename, description, bytes, type };
    this.uploads.set(`${attachment.id}/${filename}`, { bytes, type });
    return attachment;
  }
}

/** A component as Discord gives it back: with ids, and what was left out of a menu with its default. */
function componentJson(component: JsonObject, index: number): JsonObject {
  const { components, ...rest } = component;
  return {
    id: index + 1,
    ...(rest.type === 3 ? { min_values: 1, max_values: 1 } : {}),
    ...rest,
    ...(Array.isArray(components)
      ? {
          components: components.flatMap((one, inner) =>
            typeof one === 'object' && one !== null && !Array.isArray(one)
              ? [componentJson(one, (index + 1) * 10 + inner)]
              : [],
          ),
        }
      : {}),
  };
}
