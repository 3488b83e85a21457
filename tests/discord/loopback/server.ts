/**
 * A Discord on this machine, for a real discord.js client: REST, gateway and CDN on one port of 127.0.0.1. It holds the
 * bot to Discord's rules, checks every payload that it is sent, and can be told to fail in the ways that Discord fails.
 */
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import busboy from 'busboy';
import * as z from 'zod';
import { Gateway } from './gateway.ts';
import { type Interaction, Interactions } from './interactions.ts';
import { Person } from './person.ts';
import {
  checkCallback,
  checkChannelChange,
  checkCommand,
  checkFollowUp,
  checkForumPost,
  checkMessage,
  checkMessageEdit,
  checkOriginalEdit,
  checkPrivateChannel,
  checkThreadChange,
  checkThreadOnMessage,
  type Json,
  type JsonObject,
  jsonSchema,
  listIn,
  objectsIn,
  promised,
  type SentFile,
  spec,
  textIn,
} from './rules.ts';
import { type Channel, type Message, rights, snowflake, type User, World } from './world.ts';

export interface Fault {
  method: string;
  path: RegExp;
  /** How often it strikes; once when not given. */
  times?: number;
  /** Told when it strikes, as soon as what the request does has been done. */
  struck?: () => void;
  do: 'cut before' | 'cut after' | { status: number; headers?: Record<string, string>; body?: JsonObject };
}

export interface Logged {
  method: string;
  path: string;
  body: Json;
  files: SentFile[];
  status: number;
}

interface Answer {
  status: number;
  body?: Json;
  headers?: Record<string, string>;
}

interface Call {
  method: string;
  path: string;
  query: URLSearchParams;
  body: JsonObject;
  files: SentFile[];
}

const error = (status: number, code: number, message: string): Answer => {
  const body = { code, message };
  promised(spec.ErrorResponseSchema, body);
  return { status, body };
};
const UNKNOWN = {
  channel: () => error(404, 10003, 'Unknown Channel'),
  server: () => error(404, 10004, 'Unknown Guild'),
  member: () => error(404, 10007, 'Unknown Member'),
  message: () => error(404, 10008, 'Unknown Message'),
  webhook: () => error(404, 10015, 'Unknown Webhook'),
  interaction: () => error(404, 10062, 'Unknown interaction'),
  command: () => error(404, 10063, 'Unknown application command'),
};
const ARCHIVED = () => error(400, 50083, 'Thread is archived');
const DENIED = () => error(403, 50013, 'Missing Permissions');
const NO_CONTENT: Answer = { status: 204 };
const EPHEMERAL = 64;

export class Loopback {
  readonly world = new World();
  readonly gateway: Gateway;
  readonly interactions: Interactions;
  readonly log: Logged[] = [];
  /** Everything that a payload of the bot had wrong; a test that is right leaves it empty. */
  readonly problems: string[] = [];
  readonly faults: Fault[] = [];
  /** Makes every REST answer this much later. */
  delayMs = 0;
  /** While it is there, REST requests that it is for wait for it before they are looked at. */
  gate: { open: Promise<void>; for: RegExp } | null = null;
  /** First answers are taken without a look at them: for measuring, where the look would take time. */
  unchecked = false;
  /** Every REST request as it came in, whether or not it has been answered yet: `POST /path`. */
  readonly arrived: string[] = [];
  private readonly http = createServer((request, response) => {
    this.serve(request, response).catch((fault: unknown) => {
      this.problems.push(`the loopback failed: ${fault instanceof Error ? fault.stack : String(fault)}`);
      response.destroy();
    });
  });
  private port = 0;

  constructor() {
    this.gateway = new Gateway(this.world, () => `ws://127.0.0.1:${this.port}/gateway`);
    this.interactions = new Interactions(this.world, (payload) =>
      this.gateway.dispatch('INTERACTION_CREATE', payload),
    );
  }

  async listen(): Promise<this> {
    this.http.on('upgrade', (request, socket, head) => this.gateway.upgrade(request, socket, head));
    await new Promise<void>((resolve) => this.http.listen(0, '127.0.0.1', resolve));
    const address = this.http.address() as AddressInfo;
    this.port = address.port;
    this.world.cdn = `${this.root}/cdn`;
    return this;
  }
  get root(): string {
    return `http://127.0.0.1:${this.port}`;
  }
  /** For discord.js: `rest.api`. */
  get api(): string {
    return `${this.root}/api`;
  }

  /** A person who speaks in a channel of a server, or directly to the bot where there is none. */
  person(user: User, place: { channel: string } | 'direct' = 'direct'): Person {
    return new Person(this, user, place);
  }

  async close(): Promise<void> {
    this.gateway.stop();
    this.http.closeAllConnections();
    await new Promise<void>((resolve) => this.http.close(() => resolve()));
  }

  /** Lets requests come in, and no further, until the function that it gives is called: all, or those such as `PATCH /channels/1`. */
  holdAnswers(only = /^/): () => void {
    let open: () => void = () => undefined;
    const gate = new Promise<void>((resolve) => {
      open = () => {
        this.gate = null;
        resolve();
      };
    });
    this.gate = { open: gate, for: only };
    return open;
  }

  /** Requests to paths that match, in order. */
  requests(method: string, path: RegExp): Logged[] {
    return this.log.filter((one) => one.method === method && path.test(one.path));
  }

  private async serve(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const url = new URL(request.url ?? '/', this.root);
    const path = decodeURIComponent(url.pathname).replace(/^\/api\/v10/, '');
    const method = request.method ?? 'GET';
    const { body, files } = await readBody(request);
    this.arrived.push(`${method} ${path}`);
    if (this.gate?.for.test(`${method} ${path}`)) await this.gate.open;
    const strike = this.strike(method, path);
    if (strike === 'cut before') {
      response.destroy();
      return;
    }
    if (this.delayMs) await new Promise((resolve) => setTimeout(resolve, this.delayMs));
    if (path.startsWith('/cdn/')) return this.serveFile(path, response, strike);
    const call: Call = {
      method,
      path,
      query: url.searchParams,
      body: typeof body === 'object' && body !== null && !Array.isArray(body) ? body : {},
      files,
    };
    const authorised =
      /^\/(interactions|webhooks)\//.test(path) ||
      request.headers.authorization === `Bot ${this.world.token}`;
    if (strike !== null && typeof strike === 'object' && strike.body)
      promised(
        strike.status === 429 ? spec.RatelimitedResponseSchema : spec.ErrorResponseSchema,
        strike.body,
      );
    const answer: Answer =
      strike !== null && typeof strike === 'object'
        ? {
            status: strike.status,
            ...(strike.headers ? { headers: strike.headers } : {}),
            body: strike.body ?? { code: 0, message: 'out of order' },
          }
        : authorised
          ? this.route(call)
          : error(401, 0, '401: Unauthorized');
    this.log.push({ method, path, body, files, status: answer.status });
    if (strike === 'cut after') {
      response.destroy();
      return;
    }
    // An answer without a body has no media type: with one, the client would try to read the nothing as JSON.
    const type = answer.body === undefined ? {} : { 'content-type': 'application/json' };
    response.writeHead(answer.status, { ...type, ...answer.headers });
    response.end(answer.body === undefined ? undefined : JSON.stringify(answer.body));
  }

  private strike(method: string, path: string): Fault['do'] | null {
    const index = this.faults.findIndex((fault) => fault.method === method && fault.path.test(path));
    const fault = this.faults[index];
    if (!fault) return null;
    if (fault.struck) queueMicrotask(fault.struck);
    const left = (fault.times ?? 1) - 1;
    if (left > 0) fault.times = left;
    else this.faults.splice(index, 1);
    return fault.do;
  }

  private serveFile(path: string, response: ServerResponse, strike: Fault['do'] | null): void {
    const found = this.world.uploads.get(path.replace(/^\/cdn\/attachments\//, ''));
    const fault = strike !== null && typeof strike === 'object' ? strike.status : null;
    const status = fault ?? (found ? 200 : 404);
    this.log.push({ method: 'GET', path, body: null, files: [], status });
    if (strike === 'cut after') {
      response.destroy();
    } else if (status !== 200 || !found) {
      response.writeHead(status).end();
    } else {
      response.writeHead(200, { 'content-type': found.type, 'content-length': found.bytes.length });
      response.end(found.bytes);
    }
  }

  /** Refuses a payload that has problems, as Discord does, and remembers them for the test. */
  private refusing(problems: readonly string[], call: Call): Answer | null {
    if (!problems.length) return null;
    this.problems.push(`${call.method} ${call.path}: ${problems.join('; ')}`);
    return error(400, 50035, `Invalid Form Body: ${problems.join('; ')}`);
  }

  private route(call: Call): Answer {
    const { method, path } = call;
    for (const [verb, pattern, handle] of routes) {
      const match = method === verb ? pattern.exec(path) : null;
      if (match) return handle.call(this, call, ...match.slice(1).map((part) => part ?? ''));
    }
    this.problems.push(`${method} ${path} is no route that the loopback knows`);
    return error(404, 0, '404: Not Found');
  }

  /** How many sessions may still be started, and for how long no more. */
  sessions = { remaining: 999, reset_after: 14_400_000 };
  /** How often that was asked. */
  sessionsAsked = 0;

  gatewayBot(): Answer {
    this.sessionsAsked += 1;
    const body = {
      url: `ws://127.0.0.1:${this.port}/gateway`,
      shards: 1,
      session_start_limit: { total: 1000, max_concurrency: 1, ...this.sessions },
    };
    promised(spec.GatewayBotResponseSchema, body);
    return { status: 200, body };
  }

  ownUser(): Answer {
    const body = {
      ...this.world.userJson(this.world.bot),
      mfa_enabled: false,
      locale: 'en-US',
      verified: true,
    };
    promised(spec.UserPIIResponseSchema, body);
    return { status: 200, body };
  }

  ownApplication(): Answer {
    const body = {
      id: this.world.application,
      name: 'Thirdhand',
      icon: null,
      description: '',
      type: null,
      flags: 0,
      flags_new: '0',
      bot: this.world.userJson(this.world.bot),
      verify_key: '0'.repeat(64),
      redirect_uris: [],
      eligible_oauth2_scopes: [],
      interactions_endpoint_url: null,
      role_connections_verification_url: null,
      owner: this.world.userJson([...this.world.users.values()][1] ?? this.world.bot),
      approximate_guild_count: this.world.servers.size,
      approximate_user_install_count: 0,
      approximate_user_authorization_count: 0,
      explicit_content_filter: 0,
      team: null,
    };
    promised(spec.PrivateApplicationResponseSchema, body);
    return { status: 200, body };
  }

  listCommands(call: Call, application: string, scope = 'global'): Answer {
    if (application !== this.world.application) return error(403, 20012, 'You are not authorized');
    const withWords = call.query.get('with_localizations') === 'true';
    const body = [...(this.world.commands.get(scope)?.values() ?? [])].map((command) => {
      if (withWords) return command;
      const { name_localizations, description_localizations, ...rest } = command;
      void name_localizations;
      void description_localizations;
      return rest;
    });
    for (const one of body) promised(spec.ApplicationCommandResponseSchema, one);
    return { status: 200, body };
  }

  createCommand(call: Call, application: string, scope = 'global'): Answer {
    if (application !== this.world.application) return error(403, 20012, 'You are not authorized');
    const refused = this.refusing(checkCommand(call.body), call);
    if (refused) return refused;
    const commands = this.world.commands.get(scope) ?? new Map<string, JsonObject>();
    this.world.commands.set(scope, commands);
    // A command of the same kind and name is replaced.
    const same = [...commands.values()].find(
      ({ name, type }) => name === call.body.name && type === (call.body.type ?? 1),
    );
    const id = textIn(same?.id) || snowflake();
    const body = storedCommand(call.body, id, this.world.application, scope);
    commands.set(id, body);
    if (commands.size > 100) return error(400, 30032, 'Maximum number of application commands reached');
    promised(spec.ApplicationCommandResponseSchema, body);
    return { status: same ? 200 : 201, body };
  }

  deleteCommand(_call: Call, ...parts: string[]): Answer {
    const [application, id = ''] = [parts[0], parts.at(-1)];
    if (application !== this.world.application) return error(403, 20012, 'You are not authorized');
    const scope = parts.length === 3 ? (parts[1] ?? '') : 'global';
    return this.world.commands.get(scope)?.delete(id) ? NO_CONTENT : UNKNOWN.command();
  }

  private message(
    call: Call,
    channel: string,
    part: Partial<Message> & { source?: JsonObject } = {},
  ): Message {
    const { source = call.body, ...rest } = part;
    const message: Message = {
      id: snowflake(),
      channel,
      author: this.world.bot.id,
      content: textIn(source.content),
      embeds: objectsIn(source.embeds),
      components: objectsIn(source.components),
      attachments: this.attachments(source, call.files, []),
      flags: typeof source.flags === 'number' ? source.flags : 0,
      nonce: textIn(source.nonce) || null,
      only: null,
      askedBy: null,
      edited: 0,
      at: new Date(),
      pending: false,
      ...rest,
    };
    this.world.messages.set(message.id, message);
    return message;
  }

  private attachments(source: JsonObject, files: readonly SentFile[], kept: Message['attachments']) {
    if (source.attachments === undefined) return kept;
    return listIn(source.attachments).flatMap((one) => {
      if (typeof one !== 'object' || one === null || Array.isArray(one)) return [];
      const old = kept.find(({ id }) => id === String(one.id));
      if (old) return [old];
      const file = files.find(({ field }) => field === `files[${String(one.id)}]`);
      if (!file) return [];
      const type = /\.png$/.test(file.name) ? 'image/png' : 'text/plain';
      return [
        this.world.upload(textIn(one.filename) || file.name, file.bytes, type, textIn(one.description)),
      ];
    });
  }

  private edit(call: Call, message: Message, source: JsonObject): void {
    if (source.content !== undefined) message.content = textIn(source.content);
    if (source.embeds !== undefined) message.embeds = objectsIn(source.embeds);
    if (source.components !== undefined) message.components = objectsIn(source.components);
    message.attachments = this.attachments(source, call.files, message.attachments);
    message.pending = false;
    message.edited += 1;
  }

  private shown(message: Message): Answer {
    const body = this.world.messageJson(message);
    promised(spec.MessageResponseSchema, body);
    return { status: 200, body };
  }

  callback(call: Call, id: string, token: string): Answer {
    const interaction = this.interactions.find(id);
    if (interaction && !interaction.heardAt) interaction.heardAt = performance.now();
    if (!interaction || interaction.token !== token || interaction.late()) return UNKNOWN.interaction();
    if (interaction.callback !== null) return error(400, 40060, 'Interaction has already been acknowledged.');
    const type = typeof call.body.type === 'number' ? call.body.type : 0;
    const refused = this.refusing(
      this.unchecked ? [] : [...checkCallback(call.body, call.files), ...interaction.unfit(type)],
      call,
    );
    if (refused) return refused;
    const data =
      typeof call.body.data === 'object' && call.body.data !== null && !Array.isArray(call.body.data)
        ? call.body.data
        : {};
    interaction.callback = type;
    this.show(call, interaction, type, data);
    interaction.changed();
    if (call.query.get('with_response') !== 'true') return NO_CONTENT;
    const { original } = interaction;
    const body = {
      interaction: {
        id: interaction.id,
        type: Number(interaction.payload.type),
        ...(original ? { response_message_id: original.id } : {}),
        response_message_loading: type === 5,
        response_message_ephemeral: interaction.ephemeral,
        channel_id: interaction.channel,
      },
      ...(original && (type === 4 || type === 7)
        ? { resource: { type, message: this.world.messageJson(original) } }
        : {}),
    };
    promised(spec.InteractionCallbackResponseSchema, body);
    return { status: 200, body };
  }

  private show(call: Call, interaction: Interaction, type: number, data: JsonObject): void {
    if (type === 4 || type === 5) {
      const flags = typeof data.flags === 'number' ? data.flags : 0;
      interaction.ephemeral = (flags & EPHEMERAL) !== 0;
      interaction.original = this.message(call, interaction.channel, {
        source: data,
        only: interaction.ephemeral ? interaction.user : null,
        askedBy: interaction.user,
        pending: type === 5,
      });
    }
    if (type === 6 || type === 7) {
      interaction.original = interaction.message;
      interaction.ephemeral = interaction.message?.only !== null;
      if (type === 7 && interaction.message) this.edit(call, interaction.message, data);
    }
    if (type === 8)
      interaction.choices = objectsIn(data.choices).map(({ name, value }) => ({
        name: textIn(name),
        value: typeof value === 'number' ? String(value) : textIn(value),
      }));
    if (type === 9) interaction.modal = data;
  }

  private hook(token: string): Interaction | null {
    const interaction = this.interactions.byToken(token);
    return interaction && interaction.callback !== null && !interaction.expired() ? interaction : null;
  }

  editOriginal(call: Call, _application: string, token: string): Answer {
    const interaction = this.hook(token);
    if (!interaction) return UNKNOWN.webhook();
    if (!interaction.original) return UNKNOWN.message();
    const refused = this.refusing(checkOriginalEdit(call.body, call.files), call);
    if (refused) return refused;
    this.edit(call, interaction.original, call.body);
    interaction.changed();
    return this.shown(interaction.original);
  }

  getOriginal(_call: Call, _application: string, token: string): Answer {
    const interaction = this.hook(token);
    if (!interaction) return UNKNOWN.webhook();
    return interaction.original ? this.shown(interaction.original) : UNKNOWN.message();
  }

  /** A message that answers an interaction, by its id. */
  private answerOf(token: string, id: string): Message | Answer {
    const interaction = this.hook(token);
    if (!interaction) return UNKNOWN.webhook();
    const all = [...(interaction.original ? [interaction.original] : []), ...interaction.followUps];
    return all.find((one) => one.id === id) ?? UNKNOWN.message();
  }

  getAnswer(_call: Call, _application: string, token: string, id: string): Answer {
    const found = this.answerOf(token, id);
    return 'status' in found ? found : this.shown(found);
  }

  editAnswer(call: Call, _application: string, token: string, id: string): Answer {
    const found = this.answerOf(token, id);
    if ('status' in found) return found;
    const refused = this.refusing(checkOriginalEdit(call.body, call.files), call);
    if (refused) return refused;
    this.edit(call, found, call.body);
    return this.shown(found);
  }

  deleteOriginal(_call: Call, _application: string, token: string): Answer {
    const interaction = this.hook(token);
    if (!interaction?.original) return UNKNOWN.webhook();
    this.world.messages.delete(interaction.original.id);
    interaction.original = null;
    return NO_CONTENT;
  }

  followUp(call: Call, _application: string, token: string): Answer {
    const interaction = this.hook(token);
    if (!interaction) return UNKNOWN.webhook();
    const refused = this.refusing(
      [
        ...checkFollowUp(call.body, call.files),
        // Discord would put it in the place of the deferred answer, with the privacy of that.
        ...(interaction.original?.pending ? ['a follow-up before the deferred answer'] : []),
      ],
      call,
    );
    if (refused) return refused;
    const flags = typeof call.body.flags === 'number' ? call.body.flags : 0;
    const message = this.message(call, interaction.channel, {
      only: flags & EPHEMERAL ? interaction.user : null,
      askedBy: interaction.user,
    });
    interaction.followUps.push(message);
    interaction.changed();
    return this.shown(message);
  }

  private mayPost(call: Call, channel: string): Answer | null {
    const found = this.world.channels.get(channel);
    if (!found) return UNKNOWN.channel();
    if (found.user !== null && this.world.user(found.user).closed)
      return error(403, 50007, 'Cannot send messages to this user');
    const may = this.world.botRights(found);
    if (!(may & rights.view)) return error(403, 50001, 'Missing Access');
    const needed =
      rights.send |
      (listIn(call.body.embeds).length ? rights.embed : 0n) |
      (call.files.length ? rights.attach : 0n);
    return (may & needed) === needed ? null : error(403, 50013, 'Missing Permissions');
  }

  postMessage(call: Call, channel: string): Answer {
    const refused = this.mayPost(call, channel) ?? this.refusing(checkMessage(call.body, call.files), call);
    if (refused) return refused;
    const nonce = textIn(call.body.nonce);
    const same =
      nonce && call.body.enforce_nonce === true
        ? [...this.world.messages.values()].find((one) => one.nonce === nonce && one.channel === channel)
        : undefined;
    return this.shown(same ?? this.message(call, channel));
  }

  listMessages(call: Call, channel: string): Answer {
    const found = this.world.channels.get(channel);
    if (!found) return UNKNOWN.channel();
    const may = this.world.botRights(found);
    if (!(may & rights.view)) return error(403, 50001, 'Missing Access');
    const limit = Number(call.query.get('limit') ?? 50);
    // Without the right to read history Discord gives an empty list.
    const seen = may & rights.history ? this.world.seenIn(channel).slice(0, limit) : [];
    return { status: 200, body: seen.map((one) => this.shown(one).body ?? null) };
  }

  getMessage(_call: Call, channel: string, id: string): Answer {
    const found = this.world.channels.get(channel);
    if (!found) return UNKNOWN.channel();
    const may = this.world.botRights(found);
    if (!(may & rights.view)) return error(403, 50001, 'Missing Access');
    if (!(may & rights.history)) return error(403, 50013, 'Missing Permissions');
    const message = this.world.messages.get(id);
    // What was shown to one person alone is no message of the channel.
    return message?.channel === channel && message.only === null ? this.shown(message) : UNKNOWN.message();
  }

  editMessage(call: Call, channel: string, id: string): Answer {
    const message = this.world.messages.get(id);
    const found = this.world.channels.get(channel);
    if (!found) return UNKNOWN.channel();
    if (!(this.world.botRights(found) & rights.view)) return error(403, 50001, 'Missing Access');
    if (message?.channel !== channel || message.only !== null) return UNKNOWN.message();
    if (found.thread?.archived) return ARCHIVED();
    const refused = this.refusing(checkMessageEdit(call.body, call.files), call);
    if (refused) return refused;
    this.edit(call, message, call.body);
    return this.shown(message);
  }

  threadOnMessage(call: Call, channel: string, id: string): Answer {
    const found = this.world.channels.get(channel);
    if (!found) return UNKNOWN.channel();
    const message = this.world.messages.get(id);
    if (message?.channel !== channel) return UNKNOWN.message();
    if (!(this.world.botRights(found) & rights.threads)) return DENIED();
    if (this.world.channels.has(id))
      return error(400, 160004, 'A thread has already been created for this message');
    const refused = this.refusing(checkThreadOnMessage(call.body), call);
    if (refused) return refused;
    const body = this.world.channelJson(
      this.world.addThread(id, textIn(call.body.name), found, this.world.bot.id),
    );
    promised(spec.CreatedThreadResponseSchema, body);
    return { status: 201, body };
  }

  forumPost(call: Call, channel: string): Answer {
    const forum = this.world.channels.get(channel);
    if (!forum) return UNKNOWN.channel();
    const may = this.world.botRights(forum);
    if (!(may & rights.view)) return error(403, 50001, 'Missing Access');
    if (!(may & rights.send)) return DENIED();
    const refused = this.refusing(forum.forum ? checkForumPost(call.body, call.files) : ['no forum'], call);
    if (refused) return refused;
    const tags = listIn(call.body.applied_tags).map(String);
    if (forum.forum?.wantsTag && !tags.length) return error(400, 40067, 'A tag is required');
    const source = call.body.message;
    if (typeof source !== 'object' || source === null || Array.isArray(source)) return UNKNOWN.message();
    const id = snowflake();
    const thread = this.world.addThread(id, textIn(call.body.name), forum, this.world.bot.id);
    if (thread.thread) thread.thread.tags = tags;
    const message = this.message(call, id, { source, id });
    const body = { ...this.world.channelJson(thread), message: this.world.messageJson(message) };
    promised(spec.CreatedThreadResponseSchema, this.world.channelJson(thread));
    promised(spec.MessageResponseSchema, body.message);
    return { status: 201, body };
  }

  activeThreads(_call: Call, id: string): Answer {
    const threads = [...this.world.channels.values()]
      .filter(({ server, thread }) => server === id && thread && !thread.archived)
      .map((one) => this.world.channelJson(one));
    const body = { threads, members: [], has_more: false };
    promised(spec.ThreadsResponseSchema, body);
    return { status: 200, body };
  }

  changeChannel(call: Call, id: string): Answer {
    const found = this.world.channels.get(id);
    if (!found) return UNKNOWN.channel();
    const may = this.world.botRights(found);
    if (!(may & rights.view)) return error(403, 50001, 'Missing Access');
    return found.thread ? this.changeThread(call, found, may) : this.changeForum(call, found, may);
  }

  /** Who began a thread may put it away and tag it; who opens a locked one has to manage threads ("Threads", "Modify Channel"). */
  private changeThread(call: Call, found: Channel, may: bigint): Answer {
    const refused = this.refusing(checkThreadChange(call.body), call);
    if (refused) return refused;
    const { thread } = found;
    if (!thread) return UNKNOWN.channel();
    const manages = (may & rights.manageThreads) !== 0n;
    if ((thread.locked || thread.owner !== this.world.bot.id) && !manages) return DENIED();
    const { archived, applied_tags: tags } = call.body;
    if (thread.archived && archived !== false) return ARCHIVED();
    if (typeof archived === 'boolean') thread.archived = archived;
    if (Array.isArray(tags)) thread.tags = tags.map(String);
    const body = this.world.channelJson(found);
    promised(spec.ThreadResponseSchema, body);
    return { status: 200, body };
  }

  private changeForum(call: Call, found: Channel, may: bigint): Answer {
    const refused = this.refusing(checkChannelChange(call.body), call);
    if (refused) return refused;
    if (!(may & rights.manageChannels)) return DENIED();
    if (found.forum && call.body.available_tags !== undefined)
      found.forum.tags = objectsIn(call.body.available_tags).map((tag) => ({
        id: textIn(tag.id) || snowflake(),
        name: textIn(tag.name),
        moderated: tag.moderated === true,
      }));
    const body = this.world.channelJson(found);
    promised(spec.GuildChannelResponseSchema, body);
    return { status: 200, body };
  }

  openDirect(call: Call): Answer {
    const refused = this.refusing(checkPrivateChannel(call.body), call);
    if (refused) return refused;
    const user = this.world.users.get(textIn(call.body.recipient_id));
    if (!user) return error(400, 50033, 'Invalid Recipient(s)');
    const body = this.world.channelJson(this.world.directOf(user));
    promised(spec.PrivateChannelResponseSchema, body);
    return { status: 200, body };
  }

  getServer(_call: Call, id: string): Answer {
    const server = this.world.servers.get(id);
    if (!server || !this.world.memberOf(server, this.world.bot.id)) return UNKNOWN.server();
    const body = this.world.serverJson(server);
    promised(spec.GuildResponseSchema, body);
    return { status: 200, body };
  }

  getMember(_call: Call, id: string, user: string): Answer {
    const server = this.world.servers.get(id);
    if (!server || !this.world.memberOf(server, this.world.bot.id)) return UNKNOWN.server();
    const member = this.world.memberOf(server, user);
    if (!member) return UNKNOWN.member();
    const body = this.world.memberJson(member);
    promised(spec.GuildMemberResponseSchema, body);
    return { status: 200, body };
  }

  getChannel(_call: Call, id: string): Answer {
    const channel = this.world.channels.get(id);
    if (!channel) return UNKNOWN.channel();
    if (!(this.world.botRights(channel) & rights.view)) return error(403, 50001, 'Missing Access');
    const body = this.world.channelJson(channel);
    const schema = channel.thread ? spec.ThreadResponseSchema : spec.GuildChannelResponseSchema;
    promised(channel.type === 1 ? spec.PrivateChannelResponseSchema : schema, body);
    return { status: 200, body };
  }
}

type Handler = (this: Loopback, call: Call, ...parts: string[]) => Answer;
const app = '/applications/(\\d+)';
const routes: readonly (readonly [string, RegExp, Handler])[] = [
  ['POST', /^\/interactions\/(\d+)\/([^/]+)\/callback$/, Loopback.prototype.callback],
  ['PATCH', /^\/webhooks\/(\d+)\/([^/]+)\/messages\/@original$/, Loopback.prototype.editOriginal],
  ['GET', /^\/webhooks\/(\d+)\/([^/]+)\/messages\/@original$/, Loopback.prototype.getOriginal],
  ['GET', /^\/webhooks\/(\d+)\/([^/]+)\/messages\/(\d+)$/, Loopback.prototype.getAnswer],
  ['PATCH', /^\/webhooks\/(\d+)\/([^/]+)\/messages\/(\d+)$/, Loopback.prototype.editAnswer],
  ['DELETE', /^\/webhooks\/(\d+)\/([^/]+)\/messages\/@original$/, Loopback.prototype.deleteOriginal],
  ['POST', /^\/webhooks\/(\d+)\/([^/]+)$/, Loopback.prototype.followUp],
  ['GET', /^\/gateway\/bot$/, Loopback.prototype.gatewayBot],
  ['GET', /^\/users\/@me$/, Loopback.prototype.ownUser],
  ['POST', /^\/users\/@me\/channels$/, Loopback.prototype.openDirect],
  ['GET', /^\/applications\/@me$/, Loopback.prototype.ownApplication],
  ['GET', new RegExp(`^${app}/commands$`), Loopback.prototype.listCommands],
  ['POST', new RegExp(`^${app}/commands$`), Loopback.prototype.createCommand],
  ['DELETE', new RegExp(`^${app}/commands/(\\d+)$`), Loopback.prototype.deleteCommand],
  ['GET', new RegExp(`^${app}/guilds/(\\d+)/commands$`), Loopback.prototype.listCommands],
  ['POST', new RegExp(`^${app}/guilds/(\\d+)/commands$`), Loopback.prototype.createCommand],
  ['DELETE', new RegExp(`^${app}/guilds/(\\d+)/commands/(\\d+)$`), Loopback.prototype.deleteCommand],
  ['GET', /^\/channels\/(\d+)$/, Loopback.prototype.getChannel],
  ['PATCH', /^\/channels\/(\d+)$/, Loopback.prototype.changeChannel],
  ['POST', /^\/channels\/(\d+)\/threads$/, Loopback.prototype.forumPost],
  ['POST', /^\/channels\/(\d+)\/messages\/(\d+)\/threads$/, Loopback.prototype.threadOnMessage],
  ['GET', /^\/guilds\/(\d+)\/threads\/active$/, Loopback.prototype.activeThreads],
  ['GET', /^\/channels\/(\d+)\/messages$/, Loopback.prototype.listMessages],
  ['POST', /^\/channels\/(\d+)\/messages$/, Loopback.prototype.postMessage],
  ['GET', /^\/channels\/(\d+)\/messages\/(\d+)$/, Loopback.prototype.getMessage],
  ['PATCH', /^\/channels\/(\d+)\/messages\/(\d+)$/, Loopback.prototype.editMessage],
  ['GET', /^\/guilds\/(\d+)$/, Loopback.prototype.getServer],
  ['GET', /^\/guilds\/(\d+)\/members\/(\d+)$/, Loopback.prototype.getMember],
];

/** A command as Discord keeps it: what was left out has its default. */
function storedCommand(body: JsonObject, id: string, application: string, scope: string): JsonObject {
  return {
    ...body,
    id,
    application_id: application,
    version: snowflake(),
    type: body.type ?? 1,
    description: body.description ?? '',
    // Taken as a number and answered as a text, as the published description has it.
    default_member_permissions:
      typeof body.default_member_permissions === 'number' ? String(body.default_member_permissions) : null,
    nsfw: body.nsfw ?? false,
    ...(scope === 'global'
      ? { contexts: body.contexts ?? null, integration_types: body.integration_types ?? [0] }
      : { guild_id: scope }),
  };
}

async function readBody(request: IncomingMessage): Promise<{ body: Json; files: SentFile[] }> {
  const type = request.headers['content-type'] ?? '';
  if (type.startsWith('multipart/form-data')) return readForm(request);
  const chunks: Buffer[] = [];
  for await (const chunk of request) chunks.push(z.instanceof(Buffer).parse(chunk));
  const text = Buffer.concat(chunks).toString();
  return { body: text ? jsonSchema.parse(JSON.parse(text)) : null, files: [] };
}

async function readForm(request: IncomingMessage): Promise<{ body: Json; files: SentFile[] }> {
  const form = busboy({ headers: request.headers });
  let body: Json = null;
  const files: SentFile[] = [];
  form.on('field', (name, value) => {
    if (name === 'payload_json') body = jsonSchema.parse(JSON.parse(value));
  });
  form.on('file', (field, stream, { filename }) => {
    const chunks: Buffer[] = [];
    stream.on('data', (chunk: Buffer) => chunks.push(chunk));
    stream.on('end', () => files.push({ field, name: filename ?? '', bytes: Buffer.concat(chunks) }));
  });
  await new Promise<void>((resolve, reject) => {
    form.on('close', resolve);
    form.on('error', reject);
    request.pipe(form);
  });
  return { body, files };
}

export const openLoopback = (): Promise<Loopback> => new Loopback().listen();
