import type { Interaction } from './interactions.ts';
import { isObject, type JsonObject, listIn, objectsIn, textIn } from './rules.ts';
import type { Loopback } from './server.ts';
import { type Message, rights, snowflake, type User } from './world.ts';

const STRING = 3;
const INTEGER = 4;
const CHANNEL = 7;
const ROLE = 8;
const NUMBER = 10;
const ATTACHMENT = 11;
const SUBCOMMAND = 1;
/** For an answer to come; long, since a test machine may be busy with other things. */
/** It ends what hangs; a busy machine does not come near it. */
const WAIT_MS = 240_000;

interface SentUpload {
  file: string;
  bytes: Buffer;
  type?: string;
}
export type Value = string | number | SentUpload;

/** What came of something that a person did. */
export interface Seen {
  interaction: Interaction;
  /** The message that shows the answer; null for a form or for completions. */
  message: Message | null;
  followUps: Message[];
  ephemeral: boolean;
  /** "Thinking…" was shown first. */
  deferred: boolean;
  /** The pressed message itself was changed. */
  inPlace: boolean;
  modal: JsonObject | null;
  choices: { name: string; value: string }[];
}

export class Person {
  private readonly loopback: Loopback;
  readonly user: User;
  readonly channel: string;
  locale = 'en-GB';

  constructor(loopback: Loopback, user: User, place: { channel: string } | 'direct') {
    this.loopback = loopback;
    this.user = user;
    this.channel = place === 'direct' ? loopback.world.directOf(user).id : place.channel;
  }

  /** The registered command as this place shows it; throws where a client would not offer it. */
  private registered(name: string, type = 1): JsonObject {
    const channel = this.loopback.world.channel(this.channel);
    const scopes = ['global', ...(channel.server === null ? [] : [channel.server])];
    for (const scope of scopes) {
      for (const command of this.loopback.world.commands.get(scope)?.values() ?? []) {
        if (command.name !== name || command.type !== type) continue;
        const context = channel.server === null ? 1 : 0;
        const contexts = listIn(command.contexts);
        if (command.contexts !== null && command.contexts !== undefined && !contexts.includes(context))
          throw new Error(`/${name} is not offered here`);
        if (!this.isShown(name, textIn(command.default_member_permissions), channel.server))
          throw new Error(`/${name} is not shown to ${this.user.name}`);
        return command;
      }
    }
    throw new Error(`/${name} is not registered`);
  }

  /** Whether a server shows them a command that asks for these rights. */
  private isShown(name: string, needed: string, id: string | null): boolean {
    const { world } = this.loopback;
    const server = id === null ? undefined : world.servers.get(id);
    const member = server?.members.find(({ user }) => user === this.user.id);
    if (!needed || !server || !member || world.shownToAll.has(`${id} ${name}`)) return true;
    const granted = world.permissionsOf(server, member);
    return (granted & rights.administrator) !== 0n || (granted & BigInt(needed)) === BigInt(needed);
  }

  private optionsOf(name: string, action: string): { command: JsonObject; options: JsonObject[] } {
    const command = this.registered(name);
    const all = objectsIn(command.options);
    if (!action) return { command, options: all.filter(({ type }) => type !== SUBCOMMAND) };
    const sub = all.find((one) => one.type === SUBCOMMAND && one.name === action);
    if (!sub) throw new Error(`/${name} ${action} is not registered`);
    return { command, options: objectsIn(sub.options) };
  }

  /** A file that was sent, among those that are resolved; its id. */
  private uploaded(
    { file, bytes, type = 'text/csv' }: SentUpload,
    resolved: Record<string, JsonObject>,
  ): string {
    const upload = this.loopback.world.upload(file, bytes, type);
    resolved.attachments = {
      ...resolved.attachments,
      [upload.id]: { ...this.loopback.world.attachmentJson(upload), ephemeral: true },
    };
    return upload.id;
  }

  /** One option as it is sent; throws where a client would not let it through. */
  private optionOf(spec: JsonObject, value: Value, resolved: Record<string, JsonObject>): JsonObject {
    const name = textIn(spec.name);
    const type = Number(spec.type);
    if (typeof value === 'object') {
      if (type !== ATTACHMENT) throw new Error(`${name} takes no file`);
      return { name, type, value: this.uploaded(value, resolved) };
    }
    if (type === INTEGER || type === NUMBER) {
      const number = Number(value);
      const least = typeof spec.min_value === 'number' ? spec.min_value : Number.NEGATIVE_INFINITY;
      const most = typeof spec.max_value === 'number' ? spec.max_value : Number.POSITIVE_INFINITY;
      if (!(number >= least && number <= most)) throw new Error(`${name}: ${value} is out of range`);
      return { name, type, value: number };
    }
    if (type === CHANNEL || type === ROLE) return { name, type, value: String(value) };
    if (type !== STRING) throw new Error(`${name}: type ${type}`);
    const text = String(value);
    const choices = objectsIn(spec.choices);
    if (choices.length && !choices.some((one) => one.value === text))
      throw new Error(`${name}: "${text}" is no choice`);
    if (typeof spec.max_length === 'number' && text.length > spec.max_length)
      throw new Error(`${name} is over ${spec.max_length}`);
    return { name, type, value: text };
  }

  private commandData(
    name: string,
    action: string,
    values: Record<string, Value>,
    focused?: { option: string; typed: string },
  ): JsonObject {
    const { command, options } = this.optionsOf(name, action);
    const resolved: Record<string, JsonObject> = {};
    const given: JsonObject[] = Object.entries(values).map(([option, value]) => {
      const spec = options.find((one) => one.name === option);
      if (!spec) throw new Error(`/${name} ${action} has no option ${option}`);
      return this.optionOf(spec, value, resolved);
    });
    if (focused) {
      const spec = options.find((one) => one.name === focused.option);
      if (spec?.autocomplete !== true) throw new Error(`${focused.option} is not completed`);
      given.push({ name: focused.option, type: Number(spec.type), value: focused.typed, focused: true });
    } else {
      const missing = options.find((one) => one.required === true && !(textIn(one.name) in values));
      if (missing) throw new Error(`${textIn(missing.name)} has to be given`);
    }
    return {
      id: textIn(command.id),
      name,
      type: 1,
      options: action ? [{ name: action, type: SUBCOMMAND, options: given }] : given,
      ...(Object.keys(resolved).length ? { resolved } : {}),
    };
  }

  private send(
    kind: Parameters<Loopback['interactions']['send']>[0],
    data: JsonObject,
    message: Message | null = null,
  ): Interaction {
    return this.loopback.interactions.send(kind, this.user.id, this.channel, data, message, this.locale);
  }

  /** Sends a command without waiting for its answer. */
  start(name: string, action: string, values: Record<string, Value> = {}): Interaction {
    return this.send('command', this.commandData(name, action, values));
  }
  /** `/name action` with its options, and what comes of it. */
  async use(name: string, action: string, values: Record<string, Value> = {}): Promise<Seen> {
    return this.outcome(this.start(name, action, values));
  }

  /** What completion offers for what has been typed. */
  async type(
    name: string,
    action: string,
    option: string,
    typed: string,
    others: Record<string, Value> = {},
  ): Promise<{ name: string; value: string }[]> {
    return (await this.outcome(this.startTyping(name, action, option, typed, others))).choices;
  }
  /** Types without waiting for what is offered. */
  startTyping(
    name: string,
    action: string,
    option: string,
    typed: string,
    others: Record<string, Value> = {},
  ): Interaction {
    return this.send('autocomplete', this.commandData(name, action, others, { option, typed }));
  }

  /** A command of a message's context menu. */
  async menu(name: string, target: { content: string; author: User }): Promise<Seen> {
    const command = this.registered(name, 3);
    const { world } = this.loopback;
    const message: Message = {
      id: snowflake(),
      channel: this.channel,
      author: target.author.id,
      content: target.content,
      embeds: [],
      components: [],
      attachments: [],
      flags: 0,
      nonce: null,
      only: null,
      askedBy: null,
      edited: 0,
      at: new Date(),
      pending: false,
    };
    const data = {
      id: textIn(command.id),
      name,
      type: 3,
      target_id: message.id,
      resolved: { messages: { [message.id]: world.messageJson(message) } },
    };
    return this.outcome(this.send('menu', data));
  }

  private partsOf(message: Message): JsonObject[] {
    if (message.only !== null && message.only !== this.user.id)
      throw new Error(`${this.user.name} does not see that message`);
    return message.components.flatMap((row) => objectsIn(row.components));
  }

  /** Presses the button with a label. */
  async press(message: Message, label: string): Promise<Seen> {
    return this.outcome(this.startPress(message, label));
  }
  startPress(message: Message, label: string): Interaction {
    const button = this.partsOf(message).find((one) => one.type === 2 && one.label === label);
    if (!button) throw new Error(`no button "${label}" among ${this.labels(message).join(', ')}`);
    if (button.disabled === true) throw new Error(`"${label}" is off`);
    return this.send('component', { component_type: 2, custom_id: textIn(button.custom_id) }, message);
  }
  /** The buttons of a message and the entries of its menus. */
  labels(message: Message): string[] {
    return this.partsOf(message).flatMap((one) =>
      one.type === 2 ? [textIn(one.label)] : objectsIn(one.options).map(({ label }) => textIn(label)),
    );
  }
  /** Chooses an entry of a menu, or several of one that takes as many. */
  async choose(message: Message, ...labels: string[]): Promise<Seen> {
    return this.outcome(this.startChoice(message, ...labels));
  }
  startChoice(message: Message, ...labels: string[]): Interaction {
    for (const select of this.partsOf(message)) {
      const entries = objectsIn(select.options);
      const options = labels.flatMap((label) => {
        const entry = entries.find((one) => one.label === label);
        return entry ? [entry] : [];
      });
      if (options.length !== labels.length) continue;
      const [least, most] = [select.min_values ?? 1, select.max_values ?? 1];
      if (labels.length < Number(least) || labels.length > Number(most))
        throw new Error(`${labels.length} entries where ${least} to ${most} can be chosen`);
      const data = {
        component_type: 3,
        custom_id: textIn(select.custom_id),
        values: options.map(({ value }) => textIn(value)),
      };
      return this.send('component', data, message);
    }
    throw new Error(`no menu with ${labels.join(', ')} among ${this.labels(message).join(', ')}`);
  }
  /** The menus of a message: what each asks, and how many can be chosen in it. */
  menus(message: Message): { asks: string; entries: string[]; most: number }[] {
    return this.partsOf(message).flatMap((one) =>
      one.type === 3
        ? [
            {
              asks: textIn(one.placeholder),
              entries: objectsIn(one.options).map(({ label }) => textIn(label)),
              most: Number(one.max_values ?? 1),
            },
          ]
        : [],
    );
  }

  /** Fills in the fields of a form by their labels, and sends it. */
  async submit(modal: JsonObject, values: Record<string, string | SentUpload>): Promise<Seen> {
    const labels = objectsIn(modal.components);
    for (const label of Object.keys(values)) {
      if (!labels.some((one) => one.label === label)) throw new Error(`the form has no field "${label}"`);
    }
    const resolved: Record<string, JsonObject> = {};
    const components = labels.map((label, index): JsonObject => {
      const field = isObject(label.component) ? label.component : {};
      const name = textIn(label.label);
      const id = index * 2 + 2;
      const custom_id = textIn(field.custom_id);
      const given = values[name];
      if (field.type === 19) {
        if (typeof given === 'string') throw new Error(`${name} takes a file`);
        if (field.required !== false && !given) throw new Error(`${name} has to be chosen`);
        // "File Upload Interaction Response Structure": the ids of what is resolved.
        const uploads = given ? [this.uploaded(given, resolved)] : [];
        return { type: 18, id: id - 1, component: { type: 19, id, custom_id, values: uploads } };
      }
      if (typeof given === 'object') throw new Error(`${name} takes no file`);
      if (field.type === 3) {
        const options = objectsIn(field.options);
        const chosen = options.filter((one) =>
          given === undefined ? one.default === true : one.label === given,
        );
        if (given !== undefined && !chosen.length) throw new Error(`${name}: no entry "${given}"`);
        if (field.required !== false && !chosen.length) throw new Error(`${name} has to be chosen`);
        const picked = chosen.map(({ value }) => textIn(value));
        return { type: 18, id: id - 1, component: { type: 3, id, custom_id, values: picked } };
      }
      const value = given ?? textIn(field.value);
      if (field.required !== false && !value) throw new Error(`${name} has to be filled in`);
      if (typeof field.max_length === 'number' && value.length > field.max_length)
        throw new Error(`${name} is over ${field.max_length}`);
      return { type: 18, id: id - 1, component: { type: 4, id, custom_id, value } };
    });
    const data = {
      custom_id: textIn(modal.custom_id),
      components,
      ...(Object.keys(resolved).length ? { resolved } : {}),
    };
    return this.outcome(this.send('modal', data));
  }

  /** Waits until the answer is there, "thinking" over. Throws when nothing comes. */
  async outcome(interaction: Interaction): Promise<Seen> {
    if (interaction.callback === null && !(await interaction.next(WAIT_MS)))
      throw new Error(`no answer to ${JSON.stringify(interaction.payload.data)}`);
    const deferred = interaction.callback === 5 || interaction.callback === 6;
    const until = performance.now() + WAIT_MS;
    while (interaction.callback === 5 && interaction.original?.pending) {
      if (!(await interaction.next(until - performance.now()))) throw new Error('still thinking');
    }
    return {
      interaction,
      message: interaction.original,
      followUps: interaction.followUps,
      ephemeral: interaction.ephemeral,
      deferred,
      inPlace: interaction.callback === 7,
      modal: interaction.modal,
      choices: interaction.choices ?? [],
    };
  }
}
