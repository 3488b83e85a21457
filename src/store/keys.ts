/** The keys that seal private notes and IMEIs: from settings, or from a file that only its owner can read. */
import {
  closeSync,
  fsyncSync,
  linkSync,
  openSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { codeOf } from '../../commands/framework/internal-error.ts';
import { newKey, type SealKey, sealKeyOf } from '../../shared/sealing/sealer.ts';
import { syncToDisk } from '../../shared/store/index.ts';
import { WrongSetting } from '../environment/program-settings.ts';

/** The first one seals; the others open what they sealed. */
export type Keys = readonly [SealKey, ...SealKey[]];

/** A key as text: 32 bytes in base64. Throws WrongSetting, which does not repeat it. */
export function readKey(text: string, from: string): SealKey {
  if (!/^[A-Za-z0-9+/_-]{43}=?$/.test(text.trim()))
    throw new WrongSetting(`${from} is not a key: expected 32 bytes in base64.`);
  return sealKeyOf(Buffer.from(text.trim(), 'base64'));
}

/**
 * The keys of a file, one a line; null when there is no file. A file that others can read is refused and left as it is:
 * who may have read it is for its owner to judge, and a silent chmod would hide the question.
 */
export function readKeyFile(file: string): Keys | null {
  let text: string;
  try {
    if (process.platform !== 'win32' && (statSync(file).mode & 0o077) !== 0) {
      throw new WrongSetting(
        `${file} can be read by others on this machine. If nobody did: chmod 600 ${file}. If somebody may have: the same, and then npm start -- --new-key`,
      );
    }
    text = readFileSync(file, 'utf8');
  } catch (error) {
    if (codeOf(error) === 'ENOENT') return null;
    throw error;
  }
  const [first, ...others] = text.split('\n').filter((line) => line.trim());
  return [readKey(first ?? '', file), ...others.map((line) => readKey(line, file))];
}

const textOf = (keys: Keys): string => keys.map(({ bytes }) => `${bytes.toString('base64')}\n`).join('');

/** A new file with the text, on the disk and not only in its cache. */
function writeWhole(file: string, text: string): void {
  rmSync(file, { force: true });
  const open = openSync(file, 'wx', 0o600);
  try {
    writeFileSync(open, text);
    fsyncSync(open);
  } finally {
    closeSync(open);
  }
}

const isRunning = (pid: number): boolean => {
  try {
    return pid !== process.pid && process.kill(pid, 0);
  } catch (error) {
    return codeOf(error) === 'EPERM';
  }
};

/** Removes what a process that was killed while it wrote the file left beside it. */
export function dropUnfinished(file: string): void {
  const begin = `${basename(file)}.`;
  for (const name of readdirSync(dirname(file))) {
    const pid = name.startsWith(begin) ? name.slice(begin.length) : '';
    if (/^\d+$/.test(pid) && !isRunning(Number(pid))) rmSync(join(dirname(file), name), { force: true });
  }
}

/** Replaces the file in one step: at every moment it is either the old one or the new one, whole. */
export function writeKeyFile(file: string, keys: Keys): void {
  const making = `${file}.${process.pid}`;
  writeWhole(making, textOf(keys));
  renameSync(making, file);
  syncToDisk(dirname(file));
}

/** Makes a key and its file. Where another process was quicker, its keys. */
export function makeKeyFile(file: string): Keys {
  const making = `${file}.${process.pid}`;
  const keys: Keys = [newKey()];
  writeWhole(making, textOf(keys));
  try {
    // Unlike a rename, it fails where the file is there already.
    linkSync(making, file);
    syncToDisk(dirname(file));
    return keys;
  } catch (error) {
    const found = codeOf(error) === 'EEXIST' ? readKeyFile(file) : null;
    if (found) return found;
    throw error;
  } finally {
    rmSync(making, { force: true });
  }
}
