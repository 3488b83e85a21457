/** Texts kept between starts to save time. A cache that is absent, damaged or read-only costs time and nothing else. */
import { createHash } from 'node:crypto';
import { mkdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';

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

const parsedSchema = z.object({ key: z.string(), raw: z.record(z.string(), z.unknown()) });

/** What was parsed from the contents of this key before; undefined where nothing is kept of them. */
export function readParsed(
  folder: string | null,
  name: string,
  key: string,
): Readonly<Record<string, unknown>> | undefined {
  const cached = readCached(folder, name);
  if (cached === undefined) return undefined;
  try {
    const read = parsedSchema.parse(JSON.parse(cached));
    return read.key === key ? read.raw : undefined;
  } catch {
    return undefined;
  }
}

/** Keeps what was parsed from the contents of this key. */
export const writeParsed = (
  folder: string | null,
  name: string,
  key: string,
  raw: Readonly<Record<string, unknown>>,
): void => writeCached(folder, name, JSON.stringify({ key, raw }));
