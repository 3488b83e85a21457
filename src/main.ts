/** Starts the bot: reads the settings, opens the store and the knowledge, and hands over to the surface that is asked for. */
import { join } from 'node:path';
import { codeOf } from '../commands/framework/internal-error.ts';
import { BadPack, loadKnowledge, packFolder } from '../knowledge/load.ts';
import { newKey, sealerOf } from '../shared/sealing/sealer.ts';
import { type Database, openDatabase } from '../shared/store/index.ts';
import { isJournal, type LogPlace, logTo } from './environment/log.ts';
import { helpText, readSettings, type Settings, WrongSetting } from './environment/program-settings.ts';
import type { Told } from './store/backup.ts';
import { copyLine } from './store/copy-line.ts';
import { changeKey, openSealedStore } from './store/sealed-store.ts';

const write = (text: string): void => {
  process.stdout.write(text);
};

function openStore(settings: Settings): Database {
  if (settings.tour) return openDatabase(':memory:', sealerOf([newKey()]));
  const { database, lines } = openSealedStore(settings);
  const copies = settings.serve ? database.upgradeCopies().map(copyLine) : [];
  for (const line of [...lines, ...copies]) process.stderr.write(`thirdhand: ${line}\n`);
  return database;
}

function placeOfLog({ tour, serve, data }: Settings): LogPlace {
  if (tour) return null;
  return serve && isJournal(process.env) ? 'journal' : { file: join(data, 'thirdhand.log') };
}

/** What is done with the store as a file, and ends; null where none of that was asked for. */
async function runVerb(settings: Settings): Promise<Told | null> {
  const { backup, keep, replace, verify, restore: from } = settings;
  if (settings.status) return (await import('./observe/status.ts')).askStatus(settings.data);
  if (settings.newKey) return { sound: true, lines: changeKey(settings) };
  if (backup === null && verify === null && from === null) {
    if (keep !== null || replace) throw new WrongSetting('--keep and --replace go with --backup.');
    return null;
  }
  const { backUp, restore, verifyCopy } = await import('./store/backup.ts');
  const now = new Date();
  if (backup !== null) return backUp({ ...settings, target: backup, keep, replace, now });
  if (from !== null) return restore({ ...settings, file: from, now });
  return verifyCopy(verify ?? '', settings);
}

async function main(): Promise<number> {
  const settings = readSettings(process.argv.slice(2), process.env, Boolean(process.stdout.isTTY));
  if (settings.help) {
    write(helpText);
    return 0;
  }
  const told = await runVerb(settings);
  if (told) {
    for (const line of told.lines) write(`${line}\n`);
    return told.sound ? 0 : 1;
  }
  const knowledge = loadKnowledge(
    settings.knowledge === undefined ? undefined : [packFolder, settings.knowledge],
  );
  if (settings.check) {
    const { check } = await import('./self-check.ts');
    const { sound, lines } = await check(settings, knowledge, process.env);
    write(`${lines.join('\n')}\n`);
    return sound ? 0 : 1;
  }
  const database = openStore(settings);
  try {
    const log = logTo(placeOfLog(settings), { ready: settings.serve });
    if (settings.serve) {
      const { serve, signalled } = await import('./serve.ts');
      const say = (line: string) => write(`${line}\n`);
      const { data, healthPort } = settings;
      return await serve({
        database,
        knowledge,
        data,
        healthPort,
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
    return `The store is damaged (${error.message}). Keep the file, and put a copy made by --backup in its place with --restore.`;
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
