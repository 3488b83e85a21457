/** The bot on its chat platforms: starts those that are set, keeps the clock, and ends in good order. */
import { randomBytes } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { z } from 'zod';
import { createDispatcher } from '../commands/framework/dispatch.ts';
import { DEFAULT_LIMIT } from '../commands/framework/rate-limit.ts';
import { commands } from '../commands/index.ts';
import type { Knowledge } from '../knowledge/load.ts';
import type { Collective } from '../shared/collective/collective-settings.ts';
import type { Database } from '../shared/store/index.ts';
import type { PostPlace } from './clock/post-once.ts';
import { createClock } from './clock/scheduler.ts';
import { type DrawingThread, drawingThread } from './draw/drawing-thread.ts';
import type { Log } from './environment/log.ts';
import { WrongSetting } from './environment/program-settings.ts';
import { loadAhead } from './load-ahead.ts';
import { healthOf, statusLine } from './observe/health.ts';
import { Meters } from './observe/meters.ts';
import { serviceManager } from './observe/service-manager.ts';
import { openStatus } from './observe/status.ts';
import { storeFile } from './store/sealed-store.ts';
import { ChatMessages } from './surfaces/chat-messages.ts';
import { readDiscordSettings } from './surfaces/discord/settings.ts';
import { readMatrixSettings } from './surfaces/matrix/settings.ts';
import type { Poster } from './surfaces/weekly-poster.ts';
import { workingAhead } from './work-ahead.ts';

/** A chat platform that the bot is on. */
interface Surface {
  /** For the weekly post in one of its rooms. */
  posterFor(room: string): Poster;
  /** How many requests wait for their turn, where it keeps a queue. */
  waiting?(): number;
  /** Ends the connection when what is being answered just now has been. */
  stop(): Promise<void>;
  /** Resolves with the reason when it has ended by itself, as when its token is no longer accepted. */
  ended: Promise<string>;
}

export interface ServeParts {
  database: Database;
  knowledge: Knowledge;
  data: string;
  environment: NodeJS.ProcessEnv;
  log: Log;
  write: (line: string) => void;
  /** The port of 127.0.0.1 at which it says how it is; none when not given. */
  healthPort?: number | null;
  /** Resolves when the bot is to end. */
  until: Promise<string>;
}

const makeId = (): string => randomBytes(12).toString('base64url');

/** A platform, and how its connection is opened; its library is loaded only then. */
interface Platform {
  name: string;
  /** Loads its library, without a connection. */
  load(): Promise<unknown>;
  /** Waits for a platform that cannot be reached. `hello`: what is told once it is. */
  connect(): Promise<{ surface: Surface; hello: string }>;
}

/** The platforms that the environment names. */
function platformsOf(
  { database, knowledge, environment }: ServeParts,
  log: Log,
  meters: Meters,
  drawFile: DrawingThread['draw'],
): Platform[] {
  const discord = readDiscordSettings(environment);
  const matrix = readMatrixSettings(environment);
  if (!discord && !matrix) {
    throw new WrongSetting(
      'There is nothing to serve: set DISCORD_TOKEN, or MATRIX_HOMESERVER and MATRIX_TOKEN. The README says how to get them.',
    );
  }
  const clock = () => new Date();
  const answering = createDispatcher({ database, knowledge, commands, makeId, log, limit: DEFAULT_LIMIT });
  const dispatcher = meters.watching(workingAhead(answering, clock));
  const messages = new ChatMessages({ database, clock, onFault: (error) => log('messages', error) });
  const shared = { database, dispatcher, commands, makeId, clock, log, drawFile, watch: meters, messages };
  const platforms: Platform[] = [];
  if (discord) {
    platforms.push({
      name: 'discord',
      load: () => import('discord.js'),
      connect: async () => {
        const { startDiscord } = await import('./surfaces/discord/start.ts');
        return {
          surface: await startDiscord({ ...shared, settings: discord }),
          hello: 'Discord: connected.',
        };
      },
    });
  }
  if (matrix) {
    platforms.push({
      name: 'matrix',
      load: async () => {
        const [{ loadSdk }, { loadCrypto }] = await Promise.all([
          import('./surfaces/matrix/load-sdk.ts'),
          import('./surfaces/matrix/encryption/crypto-library.ts'),
          import('./surfaces/matrix/start.ts'),
        ]);
        loadSdk();
        await loadCrypto();
      },
      connect: async () => {
        const { startMatrix } = await import('./surfaces/matrix/start.ts');
        const surface = await startMatrix({ ...shared, settings: matrix });
        const lacks = surface.withoutEncryption ? `, without encryption: ${surface.withoutEncryption}` : '';
        return { surface, hello: `Matrix: connected as ${surface.id}${lacks}.` };
      },
    });
  }
  return platforms;
}

const packageSchema = z.object({ version: z.string() });
const versionOfProgram = (): string =>
  packageSchema.parse(JSON.parse(readFileSync(new URL('../package.json', import.meta.url), 'utf8'))).version;

/** Lets whoever runs the bot see how it is: the status socket, the port, the service manager. Gives what ends them. */
async function openToView(
  { data, environment, healthPort = null }: ServeParts,
  meters: Meters,
  log: Log,
): Promise<() => void> {
  const version = versionOfProgram();
  const health = () => healthOf(meters, version, new Date());
  const onFault = (error: unknown) => log('status', error);
  const close = await openStatus({
    data,
    port: healthPort,
    health,
    families: () => meters.families(),
    onFault,
  });
  const manager = serviceManager({
    environment,
    isAlive: () => health().hears,
    status: () => statusLine(health()),
    onFault,
  });
  manager.ready(statusLine(health()));
  return () => {
    manager.stopping();
    manager.stop();
    close();
    meters.stop();
  };
}

/** Connects each platform, tells of it, and resolves when all have ended by themselves. */
function connectAll(
  platforms: readonly Platform[],
  surfaces: Map<string, Surface>,
  { meters, write, tickNow }: { meters: Meters; write: (line: string) => void; tickNow: () => void },
): Promise<unknown> {
  return Promise.all(
    platforms.map(async ({ name, connect }) => {
      meters.stands(name, 'starting');
      const { surface, hello } = await connect();
      surfaces.set(name, surface);
      meters.connected(name, true);
      write(hello);
      tickNow();
      write(`${name}: ${await surface.ended}`);
      meters.stands(name, 'ended');
      surfaces.delete(name);
    }),
  );
}

/**
 * Serves until it is told to end, or until every platform has ended by itself; one that cannot be reached holds up neither the
 * others nor the end. Gives the exit code. What still waits for its platform then is to be left by ending the process.
 */
export async function serve(parts: ServeParts): Promise<0 | 1> {
  const { database, knowledge, write } = parts;
  const surfaces = new Map<string, Surface>();
  const meters = new Meters({
    storeFile: storeFile(parts),
    clock: () => new Date(),
    waiting: () => [...surfaces.values()].reduce((sum, { waiting }) => sum + (waiting?.() ?? 0), 0),
  });
  // What is no fault but news is told where it is started, too: whoever starts it looks there first.
  const log: Log = meters.counting((id, error) => {
    parts.log(id, error);
    if (typeof error === 'string') write(`${id}: ${error}`);
  });
  const drawing = drawingThread();
  const platforms = platformsOf(parts, log, meters, (file) => drawing.draw(file));
  const placesOf = ({ id }: Collective): PostPlace[] =>
    database.channelBindings.weeklyBindings(id).flatMap((place) => {
      const surface = surfaces.get(place.platform);
      if (!surface) return [];
      const poster = meters.posting(surface.posterFor(place.id));
      return [{ place: `${place.platform}:${place.id}`, poster }];
    });
  const clock = createClock({ database, knowledge, placesOf, log });
  // What is due goes out as soon as there is a way; a tick under way has not seen the new one.
  const tickNow = async (): Promise<void> => {
    await clock.tick(new Date());
    await clock.tick(new Date());
  };
  const endView = await openToView(parts, meters, log);
  clock.start(() => new Date());
  const running = connectAll(platforms, surfaces, { meters, write, tickNow: () => void tickNow() });
  void loadAhead(
    platforms.map(({ load }) => load),
    () => drawing.load(),
  ).then(
    () => write('Everything is loaded: files of the program may be replaced while it runs.'),
    (error: unknown) => log('start', error),
  );
  const told = parts.until.then((why) => {
    write(`${why}: ending.`);
    return 0 as const;
  });
  try {
    return await Promise.race([told, running.then(() => 1 as const)]);
  } finally {
    endView();
    await clock.stop();
    await Promise.all([...surfaces.values()].map((surface) => surface.stop()));
    await drawing.stop();
  }
}

/** Resolves at the first SIGINT or SIGTERM. */
export const signalled = (): Promise<string> =>
  new Promise((resolve) => {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => resolve(signal));
  });
