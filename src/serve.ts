/** The bot on its chat platforms: starts those that are set, keeps the clock, and ends in good order. */
import { randomBytes } from 'node:crypto';
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
import { readDiscordSettings } from './surfaces/discord/settings.ts';
import { readMatrixSettings } from './surfaces/matrix/settings.ts';
import type { Poster } from './surfaces/weekly-poster.ts';

/** A chat platform that the bot is on. */
interface Surface {
  /** For the weekly post in one of its rooms. */
  posterFor(room: string): Poster;
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
  drawFile: DrawingThread['draw'],
): Platform[] {
  const discord = readDiscordSettings(environment);
  const matrix = readMatrixSettings(environment);
  if (!discord && !matrix) {
    throw new WrongSetting(
      'There is nothing to serve: set DISCORD_TOKEN, or MATRIX_HOMESERVER and MATRIX_TOKEN. The README says how to get them.',
    );
  }
  const dispatcher = createDispatcher({ database, knowledge, commands, makeId, log, limit: DEFAULT_LIMIT });
  const shared = { database, dispatcher, commands, makeId, clock: () => new Date(), log, drawFile };
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
      load: () => import('./surfaces/matrix/start.ts'),
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

/**
 * Serves until it is told to end, or until every platform has ended by itself; one that cannot be reached holds up neither the
 * others nor the end. Gives the exit code. What still waits for its platform then is to be left by ending the process.
 */
export async function serve(parts: ServeParts): Promise<0 | 1> {
  const { database, knowledge, write } = parts;
  // What is no fault but news is told where it is started, too: whoever starts it looks there first.
  const log: Log = (id, error) => {
    parts.log(id, error);
    if (typeof error === 'string') write(`${id}: ${error}`);
  };
  const drawing = drawingThread();
  const platforms = platformsOf(parts, log, (file) => drawing.draw(file));
  const surfaces = new Map<string, Surface>();
  const placesOf = ({ id }: Collective): PostPlace[] =>
    database.channelBindings.weeklyBindings(id).flatMap((place) => {
      const surface = surfaces.get(place.platform);
      return surface ? [{ place: `${place.platform}:${place.id}`, poster: surface.posterFor(place.id) }] : [];
    });
  const clock = createClock({ database, knowledge, placesOf, log });
  // What is due goes out as soon as there is a way; a tick under way has not seen the new one.
  const tickNow = async (): Promise<void> => {
    await clock.tick(new Date());
    await clock.tick(new Date());
  };
  clock.start(() => new Date());
  const running = platforms.map(async ({ name, connect }) => {
    const { surface, hello } = await connect();
    surfaces.set(name, surface);
    write(hello);
    void tickNow();
    write(`${name}: ${await surface.ended}`);
    surfaces.delete(name);
  });
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
    return await Promise.race([told, Promise.all(running).then(() => 1 as const)]);
  } finally {
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
