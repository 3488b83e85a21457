/** Starts the bot: reads the settings, opens the store and the knowledge, and hands over to the surface that is asked for. */
import { join } from 'node:path';
import { codeOf } from '../commands/framework/internal-error.ts';
import { BadPack, loadKnowledge, packFolder } from '../knowledge/load.ts';
import { newKey, sealerOf } from '../shared/sealing/sealer.ts';
import { type Database, openDatabase } from '../shared/store/index.ts';
import { logTo } from './environment/log.ts';
import { helpText, readSettings, type Settings, WrongSetting } from './environment/program-settings.ts';
import { changeKey, openSealedStore } from './store/sealed-store.ts';

const write = (text: string): void => {
  process.stdout.write(text);
};

function openStore(settings: Settings): Database {
  if (settings.tour) return openDatabase(':memory:', sealerOf([newKey()]));
  const { database, lines } = openSealedStore({ ...settings, makeKey: !settings.check });
  for (const line of lines) process.stderr.write(`thirdhand: ${line}\n`);
  return database;
}

async function main(): Promise<number> {
  const settings = readSettings(process.argv.slice(2), process.env, Boolean(process.stdout.isTTY));
  if (settings.help) {
    write(helpText);
    return 0;
  }
  const knowledge = loadKnowledge(
    settings.knowledge === undefined ? undefined : [packFolder, settings.knowledge],
  );
  if (settings.newKey) {
    for (const line of changeKey(settings)) write(`${line}\n`);
    return 0;
  }
  const database = openStore(settings);
  try {
    if (settings.backup !== null) {
      await database.backup(settings.backup);
      write(`The store is copied to ${settings.backup}.\n`);
      return 0;
    }
    if (settings.check) {
      const { check } = await import('./self-check.ts');
      const { sound, lines } = await check(database, knowledge, process.env);
      write(`${lines.join('\n')}\n`);
      return sound ? 0 : 1;
    }
    const log = logTo(settings.tour ? null : join(settings.data, 'thirdhand.log'));
    if (settings.serve) {
      const { serve, signalled } = await import('./serve.ts');
      const say = (line: string) => write(`${line}\n`);
      const { data } = settings;
      return await serve({
        database,
        knowledge,
        data,
        environment: process.env,
        log,
        write: say,
        until: signalled(),
      });
    }
    const { startTerminal } = await import('./surfaces/terminal/start.ts');
    return await startTerminal({ settings, database, knowledge, log });
  } finally {
    database.close();
  }
}

/** A start that cannot be gets one clear line, without a stack. */
const clearLine = (error: unknown): string => {
  if (error instanceof BadPack) {
    const [first] = error.problems;
    const more = error.problems.length - 1;
    return `The knowledge pack is not right: ${first ? `${first.file}:${first.line} ${first.problem}` : ''}${more > 0 ? ` (and ${more} more)` : ''}. npm run knowledge lists all.`;
  }
  if (error instanceof WrongSetting) return error.message;
  if (!(error instanceof Error)) return String(error);
  const code = codeOf(error);
  if (/^(SQLITE_BUSY|SQLITE_LOCKED)/.test(code))
    return 'The store is in use by another bot. Stop that one, or choose another folder with --data.';
  if (/^(SQLITE_FULL|SQLITE_IOERR|ENOSPC|EDQUOT|EFBIG)/.test(code))
    return `The disk is full, or takes nothing more: ${error.message}. Make room, and start again; what was saved before is there.`;
  if (/^(SQLITE_CORRUPT|SQLITE_NOTADB|BAD_ROW)/.test(code))
    return `The store is damaged (${error.message}). Keep the file, and put a copy made by --backup in its place.`;
  if (/^(EACCES|EROFS|EPERM|ENOTDIR|SQLITE_CANTOPEN|SQLITE_READONLY)/.test(code))
    return `The data folder cannot be written: ${error.message}. Choose another with --data.`;
  return error.message;
};

// A reader that has seen enough, such as head, is no fault.
process.stdout.on('error', (error: NodeJS.ErrnoException) => process.exit(error.code === 'EPIPE' ? 0 : 1));

try {
  process.exitCode = await main();
} catch (error) {
  process.stderr.write(`thirdhand: ${clearLine(error)}\n`);
  process.exitCode = 1;
}
// A platform that could not be reached is still being tried: nothing hangs on that any more.
if (process.argv.includes('--serve')) process.exit();
