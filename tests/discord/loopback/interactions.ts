/** Interactions that the loopback has sent, and what became of them. */
import { randomBytes } from 'node:crypto';
import type { JsonObject } from './rules.ts';
import { type Message, snowflake, type World } from './world.ts';

/** Discord's own limits: 3 s to the first answer, 15 min for what follows. */
export const DEADLINE_MS = 3000;
const TOKEN_MS = 15 * 60_000;

export type Kind = 'command' | 'menu' | 'component' | 'autocomplete' | 'modal';
/** Discord's numbers of them, and the callbacks that each may be answered with. */
const kinds: Readonly<Record<Kind, { type: number; callbacks: readonly number[] }>> = {
  command: { type: 2, callbacks: [4, 5, 9] },
  menu: { type: 2, callbacks: [4, 5, 9] },
  component: { type: 3, callbacks: [4, 5, 6, 7, 9] },
  autocomplete: { type: 4, callbacks: [8] },
  modal: { type: 5, callbacks: [4, 5] },
};

export class Interaction {
  readonly id = snowflake();
  readonly token = randomBytes(24).toString('base64url');
  readonly kind: Kind;
  readonly user: string;
  readonly channel: string;
  /** The message that a pressed component is on. */
  readonly message: Message | null;
  payload: JsonObject = {};
  sentAt = performance.now();
  /** When its first answer had been read, before it was looked at; 0 until then. On the clock of `performance`. */
  heardAt = 0;
  /** The type of the callback; null before there is one. */
  callback: number | null = null;
  ephemeral = false;
  original: Message | null = null;
  followUps: Message[] = [];
  choices: { name: string; value: string }[] | null = null;
  modal: JsonObject | null = null;
  private waiting: (() => void)[] = [];

  private readonly deadlineMs: number;

  constructor(kind: Kind, user: string, channel: string, message: Message | null, deadlineMs: number) {
    this.deadlineMs = deadlineMs;
    this.kind = kind;
    this.user = user;
    this.channel = channel;
    this.message = message;
  }

  late(): boolean {
    return this.callback === null && performance.now() - this.sentAt > this.deadlineMs;
  }
  expired(): boolean {
    return performance.now() - this.sentAt > TOKEN_MS;
  }
  /** What is wrong with a callback of this type. */
  unfit(type: number): string[] {
    return kinds[this.kind].callbacks.includes(type)
      ? []
      : [`a ${this.kind} cannot be answered with callback ${type}`];
  }
  changed(): void {
    for (const tell of this.waiting.splice(0)) tell();
  }
  /** The next answer or edit; false when none comes in time. */
  next(ms: number): Promise<boolean> {
    return new Promise((resolve) => {
      const timer = setTimeout(() => resolve(false), ms);
      this.waiting.push(() => {
        clearTimeout(timer);
        resolve(true);
      });
    });
  }
}

export class Interactions {
  private readonly world: World;
  private readonly dispatch: (payload: JsonObject) => void;
  private readonly byId = new Map<string, Interaction>();
  private readonly tokens = new Map<string, Interaction>();
  /** Interactions come through the installation of the person who speaks, not of their server. */
  ownInstallation = false;
  /** Time for the first answer to an interaction. Tests give more, for a machine that is busy with other things. */
  deadlineMs = DEADLINE_MS;

  constructor(world: World, dispatch: (payload: JsonObject) => void) {
    this.world = world;
    this.dispatch = dispatch;
  }
  find(id: string): Interaction | undefined {
    return this.byId.get(id);
  }
  byToken(token: string): Interaction | undefined {
    return this.tokens.get(token);
  }

  /** Builds and sends one. `data` is its own part of the payload. */
  send(
    kind: Kind,
    user: string,
    channelId: string,
    data: JsonObject,
    message: Message | null = null,
    locale = 'en-GB',
  ): Interaction {
    const interaction = new Interaction(kind, user, channelId, message, this.deadlineMs);
    const channel = this.world.channel(channelId);
    const server = channel.server === null ? undefined : this.world.servers.get(channel.server);
    const member = server && this.world.memberOf(server, user);
    const who: JsonObject =
      server && member
        ? {
            guild_id: server.id,
            guild: { id: server.id, locale: 'en-US', features: [] },
            guild_locale: 'en-US',
            member: {
              ...this.world.memberJson(member),
              permissions: this.world.permissionsOf(server, member).toString(),
            },
            authorizing_integration_owners: this.ownInstallation ? { '1': user } : { '0': server.id },
            context: 0,
          }
        : {
            user: this.world.userJson(this.world.user(user)),
            authorizing_integration_owners: this.ownInstallation ? { '1': user } : { '0': '0' },
            context: 1,
          };
    interaction.payload = {
      id: interaction.id,
      application_id: this.world.application,
      type: kinds[kind].type,
      token: interaction.token,
      version: 1,
      data,
      channel_id: channelId,
      channel: this.world.channelJson(channel),
      app_permissions: this.world.botRights(channel).toString(),
      locale,
      entitlements: [],
      attachment_size_limit: 10 * 1024 * 1024,
      ...who,
      ...(message ? { message: this.world.messageJson(message) } : {}),
    };
    this.byId.set(interaction.id, interaction);
    this.tokens.set(interaction.token, interaction);
    interaction.sentAt = performance.now();
    this.dispatch(interaction.payload);
    return interaction;
  }

  /** The same interaction once more, as a resumed session may bring it. */
  repeat(interaction: Interaction): void {
    this.dispatch(interaction.payload);
  }
}
