/** `--backup`, `--verify` and `--restore`: copies of the store that are what they say. None of them ever makes a store. */
import {
  chmodSync,
  copyFileSync,
  existsSync,
  linkSync,
  mkdirSync,
  readdirSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
} from 'node:fs';
import { dirname, join } from 'node:path';
import { newKey, sealerOf } from '../../shared/sealing/sealer.ts';
import {
  copyStore,
  emptyJournalAlone,
  isAhead,
  readContents,
  type StoreContents,
  syncToDisk,
  type Verified,
  verifyStore,
} from '../../shared/store/index.ts';
import { WrongSetting } from '../environment/program-settings.ts';
import { closedLines, keyFile, keysOf, type StoreParts, storeFile } from './sealed-store.ts';

/** What to tell, one line each, and whether all of it is well. */
export interface Told {
  sound: boolean;
  lines: string[];
}

const many = (count: number, one: string): string => `${count} ${one}${count === 1 ? '' : 's'}`;
const atMinute = (time: Date): string => `${time.toISOString().slice(0, 16).replace('T', ' ')} UTC`;

/** "4 jobs, 12 prices, 3 notes, newest entry 2026-03-02 09:00 UTC", of which collectives. */
export const holdingLine = ({ collectives, jobs, prices, notes, newest }: StoreContents): string =>
  `${many(jobs, 'job')}, ${many(prices, 'price')}, ${many(notes, 'note')}, ${
    newest ? `newest entry ${atMinute(newest)}` : 'no entry'
  }${collectives.length ? ` (${collectives.join(', ')})` : ''}`;

/** What a file holds, if it is a store that can be read; else null. */
function contentsIfAny(file: string): StoreContents | null {
  try {
    return readContents(file);
  } catch {
    return null;
  }
}

const isFolder = (path: string): boolean =>
  /[/\\]$/.test(path) || (existsSync(path) && statSync(path).isDirectory());

/** How much of what is sealed opens with the keys at hand. */
function keyLines(verified: Verified, parts: StoreParts): Told {
  const sealed = (verified.sealed ?? []).reduce((sum, { all }) => sum + all, 0);
  if (verified.sealed === null)
    return {
      sound: true,
      lines: [
        `It is of an older version (schema ${verified.schema}), which the next start brings up to date; what is sealed in it was not tried.`,
      ],
    };
  if (sealed === 0) return { sound: true, lines: ['Nothing is sealed in it.'] };
  if (keysOf(parts) === null)
    return {
      sound: true,
      lines: [
        `${sealed} sealed texts were not tried: the key is not at ${keyFile(parts)}. They open with the key alone.`,
      ],
    };
  const closed = closedLines(verified.sealed);
  return {
    sound: closed.every(({ lasting }) => !lasting),
    lines: closed.length
      ? closed.map(({ line }) => line)
      : [`All ${sealed} sealed texts in it open with the key.`],
  };
}

/** Opens a copy and reads all of it, with the keys at hand. Throws NoStore, ForeignFile and NewerFile. */
export function verifyCopy(file: string, parts: StoreParts): Told {
  const verified = verifyStore(file, sealerOf(keysOf(parts) ?? [newKey()]));
  const key = keyLines(verified, parts);
  return {
    sound: verified.problems.length === 0 && key.sound,
    lines: [
      `${file} holds ${holdingLine(verified)}; ${Math.ceil(verified.bytes / 1024)} kB.`,
      ...verified.problems.map((problem) => `It is damaged: ${problem}`),
      ...(verified.problems.length ? [] : ['It was opened and read whole: it is sound.']),
      ...key.lines,
    ],
  };
}

export interface BackupParts extends StoreParts {
  /** A file, or a folder in which each copy gets a name of its own. */
  target: string;
  /** In a folder: how many copies stay; null keeps all. */
  keep: number | null;
  /** Replaces a file that holds more, too. */
  replace: boolean;
  now: Date;
}

const COPY_NAME = /^thirdhand-\d{4}-\d\d-\d\dT\d{6}Z\.sqlite$/;
const copyName = (now: Date): string =>
  `thirdhand-${now.toISOString().slice(0, 19).replaceAll(':', '')}Z.sqlite`;

/** Throws WrongSetting where the file is no copy, or holds what the store does not. */
function mayReplace(target: string, store: string, { replace }: BackupParts): void {
  if (!existsSync(target)) return;
  if (realpathSync(target) === realpathSync(store))
    throw new WrongSetting(`${target} is the store itself. Nothing was copied.`);
  if (replace || statSync(target).size === 0) return;
  const there = contentsIfAny(target);
  if (there === null)
    throw new WrongSetting(
      `${target} is no copy of a store that can be read, so it was left as it is. Choose another name, or say --replace too.`,
    );
  const here = readContents(store);
  if (isAhead(there, here))
    throw new WrongSetting(
      `${target} holds what this store does not, so it was left as it is. It has ${holdingLine(there)}; the store in ${dirname(store)} has ${holdingLine(here)}. Is that the right folder (--data)? Choose another name, or say --replace too.`,
    );
}

/** Removes the oldest copies of a folder beyond `keep`; one that holds more than the newest stays, and is told of. */
function prune(folder: string, keep: number, newest: StoreContents): string[] {
  const old = readdirSync(folder)
    .filter((name) => COPY_NAME.test(name))
    .sort()
    .slice(0, -keep);
  const lines: string[] = [];
  for (const name of old) {
    const file = join(folder, name);
    const there = contentsIfAny(file);
    if (there !== null && !isAhead(there, newest)) rmSync(file);
    else
      lines.push(
        there === null
          ? `${file} cannot be read, and was left for you to look at.`
          : `${file} holds what the store does not (${holdingLine(there)}), and was kept. Is ${folder} the folder of another bot, or was an older copy put back?`,
      );
  }
  return lines;
}

/**
 * Copies the store while a bot may have it open, opens the copy, and says what is in it. Throws NoStore where there is no
 * store, WrongSetting where a file would be lost, and what SQLite throws; a file that was there before stays then.
 */
export function backUp(parts: BackupParts): Told {
  const { target: given, keep, now } = parts;
  const store = storeFile(parts);
  const inFolder = isFolder(given);
  if (keep !== null && !inFolder)
    throw new WrongSetting('--keep goes with a folder: --backup /backups/ --keep 14');
  // Before anything is made: is there a store at all?
  readContents(store);
  if (inFolder) mkdirSync(given, { recursive: true, mode: 0o700 });
  const target = inFolder ? join(given, copyName(now)) : given;
  mayReplace(target, store, parts);
  const making = `${target}.new`;
  try {
    const contents = copyStore(store, making);
    const { sound, lines } = verifyCopy(making, parts);
    const told = lines.map((line) => line.replaceAll(making, target));
    if (!sound)
      return {
        sound,
        lines: [...told, `So it is no good as a copy. What was at ${target} before is untouched.`],
      };
    renameSync(making, target);
    syncToDisk(dirname(target));
    return {
      sound,
      lines: [
        ...told,
        ...(parts.key === undefined && existsSync(keyFile(parts))
          ? [`The key is not in it: keep a copy of ${keyFile(parts)} in another place.`]
          : []),
        ...(keep === null ? [] : prune(given, keep, contents)),
      ],
    };
  } finally {
    rmSync(making, { force: true });
  }
}

export interface RestoreParts extends StoreParts {
  file: string;
  now: Date;
}

/** A name for what was there before, that is not taken. */
function nameForOld(store: string, now: Date): string {
  const stamp = now.toISOString().slice(0, 19).replaceAll(':', '');
  const name = `${store}.replaced-${stamp}Z`;
  // Two within a second, or with a clock set back.
  for (let number = 1; ; number += 1) {
    const free = number === 1 ? name : `${name}-${number}`;
    if (!existsSync(free)) return free;
  }
}

/**
 * Puts a copy in the place of the store, and keeps the old one beside it. The old store is whole in its place until the
 * new one is. Throws NoStore, ForeignFile, NewerFile, WrongSetting for a damaged copy, SQLITE_BUSY where a bot has it open.
 */
export function restore(parts: RestoreParts): Told {
  const { file, now } = parts;
  const store = storeFile(parts);
  const { sound, lines } = verifyCopy(file, parts);
  const { problems } = verifyStore(file, sealerOf([newKey()]));
  if (problems.length) throw new WrongSetting(`${lines.join(' ')} Nothing was put back.`);
  mkdirSync(parts.data, { recursive: true, mode: 0o700 });
  const making = `${store}.restoring`;
  const old = nameForOld(store, now);
  try {
    copyFileSync(file, making);
    chmodSync(making, 0o600);
    syncToDisk(making);
    const kept = keepOld(store, old);
    renameSync(making, store);
    syncToDisk(parts.data);
    return {
      sound,
      lines: [
        ...lines,
        `It is the store in ${parts.data} now.`,
        ...(kept ? [`What was there before is ${old}.`] : []),
        ...(parts.key === undefined && !existsSync(keyFile(parts))
          ? [
              `Put the copy of the key at ${keyFile(parts)}, readable by the bot's account alone (chmod 600), before you start the bot.`,
            ]
          : []),
      ],
    };
  } finally {
    rmSync(making, { force: true });
  }
}

/**
 * Gives the store that is there a second name, and its journal, if it could not be emptied, with it. False where there is none.
 * Throws SQLITE_BUSY where a bot has it open.
 */
function keepOld(store: string, old: string): boolean {
  if (!existsSync(store)) return false;
  emptyJournalAlone(store);
  linkSync(store, old);
  if (existsSync(`${store}-wal`)) renameSync(`${store}-wal`, `${old}-wal`);
  rmSync(`${store}-shm`, { force: true });
  return true;
}
