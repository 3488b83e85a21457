/** The bot on the loopback Discord, in a server of the invented collective, with people in it. */
import { randomBytes } from 'node:crypto';
import { setTimeout as pause } from 'node:timers/promises';
import { REST } from 'discord.js';
import type { Command } from '../../commands/framework/command.ts';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import type { RateLimit } from '../../commands/framework/rate-limit.ts';
import { commands as allCommands } from '../../commands/index.ts';
import { type Database, openDatabase } from '../../shared/store/index.ts';
import type { DrawFile } from '../../src/surfaces/discord/files.ts';
import { DEFER_MS } from '../../src/surfaces/discord/interaction-response.ts';
import { STALE_MS } from '../../src/surfaces/discord/queue.ts';
import { register } from '../../src/surfaces/discord/registering.ts';
import { type DiscordParts, type DiscordSurface, startDiscord } from '../../src/surfaces/discord/start.ts';
import { testSealer } from '../sealer.ts';
import { knowledge } from '../test-bot.ts';
import { DEADLINE_MS } from './loopback/interactions.ts';
import type { Person } from './loopback/person.ts';
import { type Loopback, openLoopback } from './loopback/server.ts';
import { type Channel, type Message, rights, type Server, type User } from './loopback/world.ts';

/** A picture of one point; enough for what the tests look at. */
export const PNG = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==',
  'base64',
);

export interface Stage {
  loopback: Loopback;
  database: Database;
  server: Server;
  channel: Channel;
  people: { ines: User; moss: User; wren: User };
  /** Ines may manage the server; Moss and Wren are members. */
  ines: Person;
  moss: Person;
  wren: Person;
  /** The same person in a direct message. */
  direct(person: User): Person;
  /** Faults logged so far. */
  faults: { id: string; error: unknown }[];
  /** What the bot was started with. */
  parts: DiscordParts;
  bot: DiscordSurface;
  now: { at: Date };
  /** Stops the bot and starts it anew on the same store. */
  restart(): Promise<void>;
  /** Ends all; the payloads that the bot sent must have been right. */
  close(): Promise<string[]>;
}

/** So many times as long as Discord does the loopback wait, and so does the bot there: for a machine that is busy. */
const BUSY = 60;

export interface StageOptions {
  commands?: readonly Command[];
  database?: Database;
  drawFile?: DrawFile;
  /** In proportion to the deadline of the stage when not given. */
  deferMs?: number;
  limit?: RateLimit;
  patience?: NonNullable<DiscordParts['patience']>;
  /** Prepares the loopback before the bot connects. */
  before?: (loopback: Loopback) => void;
}

/** What the bot is started with. */
function partsOn(
  loopback: Loopback,
  database: Database,
  { commands = allCommands, drawFile, deferMs = BUSY * DEFER_MS, limit, patience }: StageOptions,
  faults: Stage['faults'],
  clock: () => Date,
): DiscordParts {
  const makeId = () => randomBytes(12).toString('base64url');
  const log = (id: string, error: unknown) => faults.push({ id, error });
  return {
    settings: {
      token: loopback.world.token,
      application: loopback.world.application,
      api: loopback.api,
    },
    database,
    dispatcher: createDispatcher({
      database,
      knowledge: knowledge(),
      commands,
      makeId,
      log,
      ...(limit ? { limit } : {}),
    }),
    commands,
    makeId,
    clock,
    log,
    drawFile: drawFile ?? (() => Promise.resolve(PNG)),
    deferMs,
    staleMs: BUSY * STALE_MS,
    ...(patience ? { patience } : {}),
  };
}

/** Registers the commands and starts the bot: what a person does once before they can use it. */
export async function stage(options: StageOptions = {}): Promise<Stage> {
  const loopback = await openLoopback();
  // A machine that is busy with other things must not turn an answer into a late one.
  loopback.interactions.deadlineMs = BUSY * DEADLINE_MS;
  const { world } = loopback;
  const ines = world.addUser('ines', 'Ines');
  const moss = world.addUser('moss', 'Moss');
  const wren = world.addUser('wren', 'Wren');
  const owner = world.addUser('bram', 'Bram');
  const server = world.addServer('Tin Shed', owner);
  const lead = world.addRole(server, 'Lead', rights.manageServer);
  world.join(server, ines, [lead]);
  world.join(server, moss);
  world.join(server, wren);
  const channel = world.addChannel(server, 'workshop');
  options.before?.(loopback);
  const rest = new REST({ api: loopback.api }).setToken(world.token);
  await register({
    rest,
    application: world.application,
    commands: options.commands ?? allCommands,
    server: null,
  });
  const database = options.database ?? openDatabase(':memory:', testSealer);
  const faults: Stage['faults'] = [];
  const now = { at: new Date('2026-03-02T09:00:00Z') };
  const parts = partsOn(loopback, database, options, faults, () => now.at);
  const start = () => startDiscord(parts);
  const made: Stage = {
    loopback,
    database,
    server,
    channel,
    people: { ines, moss, wren },
    ines: loopback.person(ines, { channel: channel.id }),
    moss: loopback.person(moss, { channel: channel.id }),
    wren: loopback.person(wren, { channel: channel.id }),
    direct: (person) => loopback.person(person),
    faults,
    parts,
    bot: await start(),
    now,
    restart: async () => {
      await made.bot.stop();
      made.bot = await start();
    },
    close: async () => {
      await made.bot.stop();
      await loopback.close();
      return loopback.problems;
    },
  };
  return made;
}

/** All that a message says, for a look at its words. */
export const wordsOn = (message: Message | null): string =>
  message
    ? [
        message.content,
        ...message.embeds.flatMap(({ title, description, footer }) => [
          String(title ?? ''),
          String(description ?? ''),
          typeof footer === 'object' && footer !== null && 'text' in footer ? String(footer.text) : '',
        ]),
      ].join('\n')
    : '';
export const titleOf = (message: Message | null): string => String(message?.embeds.at(-1)?.title ?? '');

/** What has to be there for a test to go on. */
export function notNull<T>(value: T | null | undefined, what = 'message'): T {
  if (value === null || value === undefined) throw new Error(`no ${what}`);
  return value;
}

/** Waits until something is so; throws when it does not come to be. */
export async function until(check: () => boolean, what: string, ms = 240_000): Promise<void> {
  const end = performance.now() + ms;
  while (!check()) {
    if (performance.now() > end) throw new Error(`did not come to be: ${what}`);
    await pause(5);
  }
}
