/** The bot at a homeserver, with a store that outlives it, so that a test can stop it and start it again. */
import { randomBytes } from 'node:crypto';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { commands } from '../../commands/index.ts';
import { type Database, openDatabase } from '../../shared/store/index.ts';
import { drawFile } from '../../src/draw/draw-file.ts';
import type { MatrixSettings } from '../../src/surfaces/matrix/settings.ts';
import { type MatrixParts, type MatrixSurface, startMatrix } from '../../src/surfaces/matrix/start.ts';
import { testSealer } from '../sealer.ts';
import { knowledge } from '../test-bot.ts';
import type { Account } from './synapse.ts';

export interface Bot {
  database: Database;
  surface: MatrixSurface;
  logged: string[];
  /** Stops it as a user would, and starts it again on the same store. */
  restart(): Promise<void>;
  stop(): Promise<void>;
  start(changed?: Partial<MatrixParts>): Promise<void>;
}

const makeId = () => randomBytes(12).toString('base64url');

export async function startBot(
  url: string,
  account: Account,
  settings: Partial<MatrixSettings> = {},
  changed: Partial<MatrixParts> = {},
): Promise<Bot> {
  const database = changed.database ?? openDatabase(':memory:', testSealer);
  const logged: string[] = [];
  const log = (id: string, error: unknown) => {
    logged.push(`${id} ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`);
  };
  const start = (more: Partial<MatrixParts> = {}) => {
    const opened = more.database ?? database;
    return startMatrix({
      settings: {
        homeserver: url,
        token: account.token,
        allow: null,
        prefix: '!th',
        recoveryKey: null,
        adminRoom: null,
        stewardLevel: 50,
        ...settings,
      },
      database: opened,
      dispatcher: createDispatcher({ database: opened, knowledge: knowledge(), commands, makeId, log }),
      commands,
      makeId,
      clock: () => new Date(),
      log,
      drawFile,
      ...changed,
      ...more,
    });
  };
  const bot: Bot = {
    database,
    surface: await start(),
    logged,
    stop: () => bot.surface.stop(),
    start: async (more) => {
      bot.surface = await start(more);
    },
    restart: async () => {
      await bot.stop();
      await bot.start();
    },
  };
  return bot;
}
