/**
 * How long an answer takes on Discord: from the dispatch of an interaction to its first answer read on the other side,
 * through a real discord.js client, beside a bare discord.js bot that answers a constant. Both bots are processes of their
 * own on the same loopback server, asked in turns in the same run: the ratio says something, the milliseconds are of this
 * machine at this moment. The time to ready and the memory are those of whole processes too.
 *
 * Part of `npm run bench`; alone: `npm run node tests/bench/discord.ts`.
 */
import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { REST } from 'discord.js';
import { commands } from '../../commands/index.ts';
import { register } from '../../src/surfaces/discord/registering.ts';
import type { Interaction } from '../discord/loopback/interactions.ts';
import type { Person, Value } from '../discord/loopback/person.ts';
import { type Loopback, openLoopback } from '../discord/loopback/server.ts';
import type { Message } from '../discord/loopback/world.ts';
import { rights } from '../discord/loopback/world.ts';

const root = join(fileURLToPath(import.meta.url), '../../..');
const AT_ONCE = 32;
const STARTS = 9;
/** Requests of one person. */
const PATIENCE = 8;
/** So often one after the other, and so many times 32 at once; traces have to be begun first, and are fewer. */
const counts = {
  light: { alone: 500, rounds: 40, warmUp: 100 },
  trace: { alone: 200, rounds: 6, warmUp: 40 },
} as const;
type Count = (typeof counts)[keyof typeof counts];

const quantile = (values: readonly number[], p: number): number =>
  [...values].sort((a, b) => a - b)[Math.min(values.length - 1, Math.floor(p * values.length))] ?? Number.NaN;
const round = (value: number): number => Math.round(value * 1000) / 1000;

interface Bot {
  child: ChildProcess;
  /** Seconds from its start to its word that it is ready. */
  seconds: number;
  /** Resident memory in MB. */
  memory(): number;
  stop(): Promise<void>;
}

/** Starts a bot and waits until it says that it listens. */
export async function startBot(
  args: readonly string[],
  ready: RegExp,
  loopback: Loopback,
  more: NodeJS.ProcessEnv = {},
): Promise<Bot> {
  const from = performance.now();
  const child = spawn(process.execPath, args, {
    cwd: root,
    env: {
      ...process.env,
      DISCORD_TOKEN: loopback.world.token,
      DISCORD_API: loopback.api,
      MATRIX_TOKEN: '',
      ...more,
    },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let said = '';
  const exited = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  const seconds = await new Promise<number>((resolve, reject) => {
    const heard = (chunk: Buffer) => {
      said += chunk.toString();
      if (ready.test(said)) resolve((performance.now() - from) / 1000);
    };
    child.stdout?.on('data', heard);
    child.stderr?.on('data', heard);
    exited.then(() => reject(new Error(`the bot ended: ${said}`)));
  });
  return {
    child,
    seconds,
    memory: () =>
      Number(execFileSync('ps', ['-o', 'rss=', '-p', String(child.pid)], { encoding: 'utf8' })) / 1024,
    stop: async () => {
      child.kill('SIGTERM');
      await exited;
    },
  };
}

interface Place {
  loopback: Loopback;
  /** May manage the server. */
  lead: Person;
  /** Somebody who has not said much yet: the bot holds back who says a great deal at once. */
  next(): Person;
}

/** A loopback with a server, a channel, people in it and the commands registered. */
export async function openPlace(): Promise<Place> {
  const loopback = await openLoopback();
  const { world } = loopback;
  const server = world.addServer('Tin Shed', world.addUser('bram', 'Bram'));
  const user = world.addUser('ines', 'Ines');
  world.join(server, user, [world.addRole(server, 'Lead', rights.manageServer)]);
  const channel = world.addChannel(server, 'workshop');
  const rest = new REST({ api: loopback.api }).setToken(world.token);
  await register({ rest, application: world.application, commands, server: null });
  const place = { channel: channel.id };
  let uses = 0;
  let person = loopback.person(user, place);
  return {
    loopback,
    lead: person,
    next: () => {
      if (uses % PATIENCE === 0) {
        const other = world.addUser(`guest${uses}`, `Guest ${uses}`);
        world.join(server, other);
        person = loopback.person(other, place);
      }
      uses += 1;
      return person;
    },
  };
}

/** Milliseconds from the dispatch to the answer read. */
async function timed(interaction: Interaction): Promise<number> {
  if (!interaction.heardAt && !(await interaction.next(30_000)))
    throw new Error(`no answer to ${JSON.stringify(interaction.payload.data)}`);
  return interaction.heardAt - interaction.sentAt;
}

/** Throws where what was measured was a refusal, which is quicker said. */
function mustBeAnswered({ original, choices, payload }: Interaction): void {
  const title = String(original?.embeds.at(-1)?.title ?? '');
  if (title.startsWith('✗') || (!original && !choices?.length))
    throw new Error(`refused: ${title} ${JSON.stringify(payload.data)}`);
}

/** Prepares what is to be measured, and gives the way to begin it. */
type Prepare = (person: Person, i: number) => Promise<() => Interaction>;

const command =
  (name: string, options: (i: number) => Record<string, Value>): Prepare =>
  async (person, i) =>
  () =>
    person.start(name, '', options(i));

/** A trace that asks for a check, on the bot's own side; the first answer to it is what is pressed. */
const traceStep: Prepare = async (person) => {
  const seen = await person.use('trace', 'start', { symptoms: 'dead', model: 'Orrin K3' });
  const { message } = seen;
  if (!message) throw new Error('a trace without a message');
  const [first = ''] = person.labels(message);
  if (first.startsWith('Go on anyway')) await person.press(message, first);
  const [answer] = person.labels(message);
  if (answer === undefined) throw new Error(`a trace without a step: ${JSON.stringify(message.embeds)}`);
  return () => person.startPress(message, answer);
};

/** The bare bot's message has no buttons of its own: it gets one. */
const barePress: Prepare = async (person) => {
  const { message } = await person.use('trace', 'start', { symptoms: 'dead', model: 'Orrin K3' });
  if (!message) throw new Error('a trace without a message');
  const withButton: Message = Object.assign(message, {
    components: [{ type: 1, components: [{ type: 2, style: 2, label: 'Pass', custom_id: 'pass' }] }],
  });
  return () => person.startPress(withButton, 'Pass');
};

interface Sides {
  own: Place;
  bare: Place;
}

/** Both bots in turns, so that whatever else the machine does meets both alike. */
async function compare(
  { own, bare }: Sides,
  prepare: { own: Prepare; bare: Prepare },
  { alone, rounds, warmUp }: Count,
): Promise<Record<string, number>> {
  const sides = [
    { place: own, prepare: prepare.own, single: [] as number[], many: [] as number[] },
    { place: bare, prepare: prepare.bare, single: [] as number[], many: [] as number[] },
  ];
  const one = async ({ place, prepare }: (typeof sides)[number], i: number): Promise<number> => {
    const interaction = (await prepare(place.next(), i))();
    const ms = await timed(interaction);
    mustBeAnswered(interaction);
    return ms;
  };
  // What the bot sends is looked at while it warms up; discord.js adds fields that the published description does not know.
  own.loopback.unchecked = false;
  bare.loopback.unchecked = true;
  for (let i = 0; i < warmUp; i += 1) for (const side of sides) await one(side, i);
  if (own.loopback.problems.length) throw new Error(own.loopback.problems.slice(0, 3).join('\n'));
  own.loopback.unchecked = true;
  for (let i = 0; i < alone; i += 1) for (const side of sides) side.single.push(await one(side, i));
  for (let i = 0; i < rounds; i += 1) {
    for (const side of sides) {
      const begin: (() => Interaction)[] = [];
      for (let k = 0; k < AT_ONCE; k += 1) begin.push(await side.prepare(side.place.next(), i * AT_ONCE + k));
      const begun = begin.map((start) => start());
      side.many.push(...(await Promise.all(begun.map(timed))));
      begun.forEach(mustBeAnswered);
    }
  }
  const [ours, floor] = sides;
  const figures: Record<string, number> = {};
  for (const [kind, suffix] of [
    ['single', ''],
    ['many', `.${AT_ONCE}`],
  ] as const) {
    for (const [key, p] of [
      ['p50', 0.5],
      ['p99', 0.99],
    ] as const) {
      const mine = quantile(ours?.[kind] ?? [], p);
      const theirs = quantile(floor?.[kind] ?? [], p);
      figures[`bare${suffix}.${key}ms`] = round(theirs);
      figures[`own${suffix}.${key}ms`] = round(mine);
      figures[`own${suffix}.${key}.ratio`] = round(mine / theirs);
    }
  }
  return figures;
}

export const ownArgs = (folder: string) => ['src/thirdhand.cjs', '--serve', '--data', folder];
const bareArgs = ['tests/bench/bare-bot.mjs'];

async function starting(sides: Sides, folder: string): Promise<Record<string, number>> {
  const own: number[] = [];
  const bare: number[] = [];
  const memory: { own: number[]; bare: number[] } = { own: [], bare: [] };
  // The first start of a version bundles it; that is done once.
  await (await startBot(ownArgs(folder), /connected\./, sides.own.loopback)).stop();
  for (let i = 0; i < STARTS; i += 1) {
    const one = await startBot(ownArgs(folder), /connected\./, sides.own.loopback);
    own.push(one.seconds);
    await pause(300);
    memory.own.push(one.memory());
    await one.stop();
    const other = await startBot(bareArgs, /ready/, sides.bare.loopback);
    bare.push(other.seconds);
    await pause(300);
    memory.bare.push(other.memory());
    await other.stop();
  }
  const median = (values: number[]) => quantile(values, 0.5);
  return {
    'discord.ready.bare.s': round(median(bare)),
    'discord.ready.s': round(median(own)),
    'discord.ready.ratio': round(median(own) / median(bare)),
    'discord.memory.bare.mb': round(median(memory.bare)),
    'discord.memory.mb': round(median(memory.own)),
    'discord.memory.over.mb': round(median(memory.own) - median(memory.bare)),
  };
}

/** What the person says first: a model with prices, so that there is something to work out. */
export async function furnish(person: Person): Promise<void> {
  await person.use('setup', 'change', { region: 'AU', zone: 'Australia/Sydney', currency: 'AUD' });
  await person.use('family', 'name', {
    model: 'Orrin K3',
    as: 'glued-front-home-sensor',
    launched: '2020-01',
    'new-price': '749',
  });
  for (let price = 120; price < 132; price += 1)
    await person.use('prices', 'add', { what: 'Orrin K3', price: String(price) });
}

export async function discordFigures(): Promise<Record<string, number>> {
  const folder = mkdtempSync(join(tmpdir(), 'thirdhand-bench-'));
  const closing: (() => Promise<unknown>)[] = [];
  try {
    const sides: Sides = { own: await openPlace(), bare: await openPlace() };
    closing.push(
      () => sides.own.loopback.close(),
      () => sides.bare.loopback.close(),
    );
    const figures = await starting(sides, folder);
    const own = await startBot(ownArgs(folder), /connected\./, sides.own.loopback);
    closing.push(() => own.stop());
    const bare = await startBot(bareArgs, /ready/, sides.bare.loopback);
    closing.push(() => bare.stop());
    await furnish(sides.own.lead);
    const tasks: Record<string, [prepare: { own: Prepare; bare: Prepare }, count: Count]> = {};
    const both = (prepare: Prepare) => ({ own: prepare, bare: prepare });
    tasks.worth = [
      both(command('worth', (i) => ({ model: 'Orrin K3', price: String(40 + (i % 50)) }))),
      counts.light,
    ];
    tasks.paired = [both(command('paired', () => ({ of: 'Orrin K3', component: 'battery' }))), counts.light];
    tasks.complete = [
      both(async (person, i) => () => person.startTyping('worth', '', 'model', 'orrin k3'.slice(0, i % 9))),
      counts.light,
    ];
    tasks.trace = [{ own: traceStep, bare: barePress }, counts.trace];
    for (const [name, [prepare, count]] of Object.entries(tasks)) {
      for (const [key, value] of Object.entries(await compare(sides, prepare, count)))
        figures[`discord.${name}.${key.replace(/^own\.?/, '')}`] = value;
    }
    figures['discord.memory.afterWork.bare.mb'] = round(bare.memory());
    figures['discord.memory.afterWork.mb'] = round(own.memory());
    return figures;
  } finally {
    for (const close of closing.reverse()) await close();
    rmSync(folder, { recursive: true });
  }
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const figures = await discordFigures();
  for (const [name, value] of Object.entries(figures))
    process.stdout.write(`${name.padEnd(36)}${String(value).padStart(12)}\n`);
}
