/** The bot on its chat platforms: starts those that are set, keeps the clock, and ends in good order. */
import { randomBytes } from 'node:crypto';
import { join } from 'node:path';
import { createDispatcher } from '../commands/dispatch.ts';
import { commands } from '../commands/index.ts';
import { FAIR } from '../commands/turns.ts';
import type { Knowledge } from '../knowledge/load.ts';
import type { Collective, Database } from '../shared/store/index.ts';
import { createClock, type PostPlace } from './clock.ts';
import { drawFile } from './draw/draw-file.ts';
import type { Log } from './log.ts';
import type { Poster } from './poster.ts';
import { WrongSetting } from './settings.ts';
import { readDiscordSettings } from './surfaces/discord/settings.ts';
import { readMatrixSettings } from './surfaces/matrix/settings.ts';

/** A chat platform that the bot is on. */
export interface Surface {
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

/** Starts the platforms that the environment names; each platform's library is loaded only then. */
async function startSurfaces(parts: ServeParts): Promise<Map<string, Surface>> {
  const { database, knowledge, data, environment, log } = parts;
  const discord = readDiscordSettings(environment);
  const matrix = readMatrixSettings(environment);
  if (!discord && !matrix) {
    throw new WrongSetting(
      'There is nothing to serve: set DISCORD_TOKEN, or MATRIX_HOMESERVER and MATRIX_TOKEN. The README says how to get them.',
    );
  }
  const dispatcher = createDispatcher({ database, knowledge, commands, makeId, log, limit: FAIR });
  const shared = { database, dispatcher, commands, makeId, clock: () => new Date(), log, drawFile };
  const surfaces = new Map<string, Surface>();
  try {
    if (discord) {
      const { startDiscord } = await import('./surfaces/discord/start.ts');
      surfaces.set('discord', await startDiscord({ ...shared, settings: discord }));
      parts.write('Discord: connected.');
    }
    if (matrix) {
      const { startMatrix } = await import('./surfaces/matrix/start.ts');
      const surface = await startMatrix({ ...shared, settings: matrix, folder: join(data, 'matrix') });
      surfaces.set('matrix', surface);
      parts.write(
        `Matrix: connected as ${surface.id}${surface.withoutEncryption ? `, without encryption: ${surface.withoutEncryption}` : ''}.`,
      );
    }
  } catch (error) {
    for (const surface of surfaces.values()) await surface.stop();
    throw error;
  }
  return surfaces;
}

/** Serves until it is told to end, or until every platform has ended by itself. Gives the exit code. */
export async function serve(parts: ServeParts): Promise<0 | 1> {
  const { database, knowledge, log, write } = parts;
  const surfaces = await startSurfaces(parts);
  const placesOf = ({ id }: Collective): PostPlace[] =>
    database.places.weeklyPlaces(id).flatMap((place) => {
      const surface = surfaces.get(place.platform);
      return surface ? [{ place: `${place.platform}:${place.id}`, poster: surface.posterFor(place.id) }] : [];
    });
  const clock = createClock({ database, knowledge, placesOf, log });
  clock.start(() => new Date());
  const gone = [...surfaces].map(async ([name, surface]) => {
    write(`${name}: ${await surface.ended}`);
    surfaces.delete(name);
  });
  const told = parts.until.then((why) => {
    write(`${why}: ending.`);
    return 0 as const;
  });
  const code = await Promise.race([told, Promise.all(gone).then(() => 1 as const)]);
  await clock.stop();
  await Promise.all([...surfaces.values()].map((surface) => surface.stop()));
  return code;
}

/** Resolves at the first SIGINT or SIGTERM. */
export const signalled = (): Promise<string> =>
  new Promise((resolve) => {
    for (const signal of ['SIGINT', 'SIGTERM'] as const) process.once(signal, () => resolve(signal));
  });
