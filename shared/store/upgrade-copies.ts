/** Copies that were made before an upgrade: what people erase since stands in them still, so they do not stay for ever. */
import { closeSync, fsyncSync, openSync, readdirSync, statSync, unlinkSync, writeSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';

export interface UpgradeCopy {
  file: string;
  made: Date;
}

/** How long one is kept, in days: long enough to notice that an update was none, and go back. */
export const COPY_KEPT_DAYS = 30;

/** The copies beside a store, the oldest first. A store in memory has none. */
export function upgradeCopiesOf(path: string): UpgradeCopy[] {
  if (path === ':memory:') return [];
  const begin = `${basename(path)}.before-`;
  return readdirSync(dirname(path))
    .filter((name) => name.startsWith(begin) && /^\d+$/.test(name.slice(begin.length)))
    .map((name) => join(dirname(path), name))
    .map((file) => ({ file, made: statSync(file).mtime }))
    .sort((a, b) => a.made.getTime() - b.made.getTime());
}

const BLOCK = Buffer.alloc(1 << 16);

/** Overwrites a file and removes it. What a disk keeps of blocks that it had before is out of reach. */
function shred(file: string): void {
  const { size } = statSync(file);
  const handle = openSync(file, 'r+');
  try {
    for (let at = 0; at < size; at += BLOCK.length)
      writeSync(handle, BLOCK, 0, Math.min(BLOCK.length, size - at), at);
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
  unlinkSync(file);
}

/** Erases the copies that were made before an instant; those that are gone. */
export function eraseUpgradeCopies(path: string, before: Date): UpgradeCopy[] {
  const old = upgradeCopiesOf(path).filter(({ made }) => made < before);
  for (const { file } of old) shred(file);
  return old;
}
