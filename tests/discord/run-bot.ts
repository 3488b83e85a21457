/**
 * A bot as a process of its own, for tests of what ends one: `run-bot.ts DATABASE`, with the Discord settings in the
 * environment. Prints `ready` when it listens and `ended: …` when it stops by itself; faults go to stderr.
 */
import { randomBytes } from 'node:crypto';
import { createDispatcher } from '../../commands/framework/dispatch.ts';
import { commands } from '../../commands/index.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { readDiscordSettings } from '../../src/surfaces/discord/settings.ts';
import { startDiscord } from '../../src/surfaces/discord/start.ts';
import { testSealer } from '../sealer.ts';
import { knowledge } from '../test-bot.ts';
import { PNG } from './bot.ts';

const makeId = () => randomBytes(12).toString('base64url');
const log = (id: string, error: unknown) =>
  process.stderr.write(`${id} ${error instanceof Error ? error.stack : String(error)}\n`);
try {
  const settings = readDiscordSettings(process.env);
  if (!settings) throw new Error('no token');
  const database = openDatabase(process.argv[2] ?? ':memory:', testSealer);
  const bot = await startDiscord({
    settings,
    database,
    dispatcher: createDispatcher({ database, knowledge: knowledge(), commands, makeId, log }),
    commands,
    makeId,
    clock: () => new Date(),
    log,
    drawFile: () => Promise.resolve(PNG),
  });
  const end = async (line: string, code: number) => {
    process.stdout.write(`${line}\n`);
    await bot.stop();
    database.close();
    process.exitCode = code;
  };
  process.once('SIGTERM', () => end('stopped', 0));
  bot.ended.then((reason) => end(`ended: ${reason}`, 1));
  process.stdout.write('ready\n');
} catch (error) {
  process.stdout.write(`not started: ${error instanceof Error ? error.message : String(error)}\n`);
  process.exitCode = 2;
}
