/** Texts kept between starts to save time. A cache that is absent, damaged or read-only costs time and nothing else. */
import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

export const sha256 = (text: string): string => createHash('sha256').update(text).digest('hex');

export function readCached(folder: string | null, name: string): string | undefined {
  if (folder === null) return undefined;
  try {
    return readFileSync(join(folder, name), 'utf8');
  } catch {
    return undefined;
  }
}

/** Written beside and renamed, so that another process never reads half of it. */
export function writeCached(folder: string | null, name: string, text: string): void {
  if (folder === null) return;
  try {
    mkdirSync(folder, { recursive: true });
    writeFileSync(join(folder, `${name}.${process.pid}`), text);
    renameSync(join(folder, `${name}.${process.pid}`), join(folder, name));
  } catch {
    // read-only installation
  }
}
