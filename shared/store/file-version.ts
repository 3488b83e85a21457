/** Whose file it is, and of which version. */
import { existsSync, readdirSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import type Sqlite from 'better-sqlite3';
import { z } from 'zod';
import { numberRow } from './sql.ts';

/** "THND" in ASCII: marks the file as ours (SQLite's application_id). */
export const APPLICATION_ID = 0x54484e44;

/** Where the copy lies that is made before the schema step `step` is run. */
export const upgradeCopy = (path: string, step: number): string => `${path}.before-${step}`;

/** The newest copy from before an upgrade that a program of `known` schema steps can read; null where there is none. */
function copyToGoBackTo(path: string, known: number): string | null {
  const folder = dirname(path);
  const begin = `${basename(path)}.before-`;
  const steps = (existsSync(folder) ? readdirSync(folder) : [])
    .filter((name) => name.startsWith(begin) && /^\d+$/.test(name.slice(begin.length)))
    .map((name) => Number(name.slice(begin.length)))
    .filter((step) => step <= known + 1);
  return steps.length ? join(folder, basename(upgradeCopy(path, Math.max(...steps)))) : null;
}

/** The file was written by a newer version of the bot; this one must not touch it. */
export class NewerFile extends Error {
  constructor(path: string, found: number, known: number) {
    const copy = copyToGoBackTo(path, known);
    super(
      `${path} is from a newer version (schema ${found}; this version knows ${known}). Update the bot.${
        copy === null
          ? ''
          : ` Or go back to the copy from before the update, without what was said since: --restore ${copy}`
      }`,
    );
    this.name = 'NewerFile';
  }
}

/** The file is not a store of this bot. */
export class ForeignFile extends Error {
  constructor(path: string) {
    super(`${path} is not a data file of this bot.`);
    this.name = 'ForeignFile';
  }
}

export const versionOf = (file: Sqlite.Database): number =>
  z
    .number()
    .int()
    .parse(file.pragma('user_version', { simple: true }));

/** The schema steps that a file has seen, and whether it is still empty. Throws ForeignFile and NewerFile. */
export function readVersion(
  file: Sqlite.Database,
  path: string,
  known: number,
): { schema: number; empty: boolean } {
  const schema = versionOf(file);
  const tables = numberRow.parse(file.prepare('SELECT count(*) AS n FROM sqlite_schema').get()).n;
  if (tables > 0 && file.pragma('application_id', { simple: true }) !== APPLICATION_ID)
    throw new ForeignFile(path);
  if (schema > known) throw new NewerFile(path, schema, known);
  return { schema, empty: tables === 0 };
}
