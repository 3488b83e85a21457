/** Copies of the store: how one is written, and what is in one. Nothing here makes a store, or brings one up to date. */
import { chmodSync, closeSync, existsSync, fsyncSync, openSync, renameSync, rmSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import Sqlite from 'better-sqlite3';
import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import { ForeignFile, readVersion } from './file-version.ts';
import { migrations } from './migrations.ts';
import { type SealedCount, sealedCounts } from './sealed-texts.ts';
import { numberRow, sqlOn } from './sql.ts';

/** There is no store at this path; nothing was made there. */
export class NoStore extends Error {
  constructor(path: string) {
    super(`There is no store at ${path}. Nothing was made there.`);
    this.name = 'NoStore';
  }
}

/** A file's content, or a folder's names, are on the disk only after this. */
export function syncToDisk(path: string): void {
  if (process.platform === 'win32') return;
  const open = openSync(path, 'r');
  try {
    fsyncSync(open);
  } finally {
    closeSync(open);
  }
}

/**
 * Writes the whole store, what is in its journal included, to one file without a journal of its own. `target` is replaced in one
 * step, when the copy is complete and on the disk. Other processes may write meanwhile: the copy has what was saved when it began.
 */
export function writeCopy(file: Sqlite.Database, target: string, mode = 0o600): void {
  const partial = `${target}.partial`;
  rmSync(partial, { force: true });
  try {
    // Made here first, so that at no moment others can read it.
    closeSync(openSync(partial, 'wx', 0o600));
    file.prepare('VACUUM INTO ?').run(partial);
    chmodSync(partial, mode);
    syncToDisk(partial);
    renameSync(partial, target);
  } catch (error) {
    rmSync(partial, { force: true });
    throw error;
  }
  syncToDisk(dirname(target));
}

/** What is in a store, without any of it. */
export interface StoreContents {
  /** The number of schema steps it has seen. */
  schema: number;
  bytes: number;
  collectives: string[];
  jobs: number;
  prices: number;
  notes: number;
  /** When its newest entry was made; null where there is none. */
  newest: Date | null;
  /** The same of what nobody can remove. */
  newestLasting: Date | null;
  /** The last number given in each kind of numbered record: none is ever given twice, whatever is erased. */
  counters: ReadonlyMap<string, number>;
}

const nameRow = z.object({ name: z.string() });
const newestRow = z.object({ at: z.string().nullable() });
const counterRow = z.object({ kind: z.string(), last: z.number() });
/** What is only ever added to. */
const lasting = ['jobs', 'job_entries', 'traces', 'trace_steps', 'phone_events', 'swaps'];
const dated = [...lasting, 'sightings'];

function contentsOf(file: Sqlite.Database, path: string, schema: number): StoreContents {
  const sql = sqlOn(file, () => undefined);
  const there = new Set(
    sql.all(nameRow, "SELECT name FROM sqlite_schema WHERE type = 'table'").map(({ name }) => name),
  );
  const count = (table: string): number =>
    there.has(table) ? (sql.one(numberRow, `SELECT count(*) AS n FROM ${table}`)?.n ?? 0) : 0;
  const newestIn = (tables: readonly string[]): Date | null => {
    const newest = tables
      .filter((table) => there.has(table))
      .map((table) => sql.one(newestRow, `SELECT max(at) AS at FROM ${table}`)?.at ?? '')
      .sort()
      .at(-1);
    return newest ? new Date(newest) : null;
  };
  const counters = sql.all(
    counterRow,
    // The counter of a person's notes goes when the person is erased.
    `SELECT collective || ' ' || kind AS kind, last FROM counters WHERE kind NOT LIKE 'note:%'`,
  );
  return {
    schema,
    bytes: statSync(path).size,
    collectives: sql.all(nameRow, 'SELECT name FROM collectives ORDER BY id').map(({ name }) => name),
    jobs: count('jobs'),
    prices: count('sightings'),
    notes: count('notes'),
    newest: newestIn(dated),
    newestLasting: newestIn(lasting),
    counters: new Map(counters.map(({ kind, last }) => [kind, last])),
  };
}

/** True when `one` has something that `other` never had: other collectives, numbers given later, a newer entry. */
export function isAhead(one: StoreContents, other: StoreContents): boolean {
  return (
    one.collectives.some((name) => !other.collectives.includes(name)) ||
    [...one.counters].some(([kind, last]) => last > (other.counters.get(kind) ?? 0)) ||
    (one.newestLasting?.getTime() ?? 0) > (other.newestLasting?.getTime() ?? 0)
  );
}

/** Runs `work` on the store at a path, as it is. Throws NoStore, ForeignFile, NewerFile, and SqliteError for a torn one. */
function onStore<T>(path: string, work: (file: Sqlite.Database, schema: number) => T): T {
  if (!existsSync(path) || !statSync(path).isFile() || statSync(path).size === 0) throw new NoStore(path);
  const file = new Sqlite(path, { fileMustExist: true, timeout: 5000 });
  try {
    const { schema, empty } = readVersion(file, path, migrations.length);
    if (empty) throw new NoStore(path);
    return work(file, schema);
  } catch (error) {
    if (error instanceof Sqlite.SqliteError && error.code === 'SQLITE_NOTADB') throw new ForeignFile(path);
    throw error;
  } finally {
    file.close();
  }
}

/** What is in the store at a path; a bot may have it open. Throws as `copyStore` does. */
export const readContents = (path: string): StoreContents =>
  onStore(path, (file, schema) => contentsOf(file, path, schema));

/**
 * Copies the store at `path`, which a bot may have open, to `target`, and gives what was in it.
 * Throws NoStore, ForeignFile, NewerFile, and SqliteError for a torn file or a full disk.
 */
export const copyStore = (path: string, target: string): StoreContents =>
  onStore(path, (file, schema) => {
    writeCopy(file, target);
    return contentsOf(file, path, schema);
  });

export interface Verified extends StoreContents {
  /** What is wrong with the file; empty when it is sound. */
  problems: string[];
  /** What is sealed in it, and how much of that does not open; null for a file of an older version. */
  sealed: SealedCount[] | null;
}

/** Reads the whole file: its pages, its references, and with `sealer` whatever is sealed in it. Throws as `copyStore` does. */
export const verifyStore = (path: string, sealer: Sealer): Verified =>
  onStore(path, (file, schema) => ({
    ...contentsOf(file, path, schema),
    problems: problemsOf(file),
    sealed:
      schema === migrations.length
        ? sealedCounts(
            sqlOn(file, () => undefined),
            sealer,
          )
        : null,
  }));

const integrityRow = z.object({ integrity_check: z.string() });
const danglingRow = z.object({ table: z.string(), rowid: z.number().nullable(), parent: z.string() });

/** Rows that point to no row. */
export const danglingRows = (file: Sqlite.Database): string[] =>
  z
    .array(danglingRow)
    .parse(file.pragma('foreign_key_check'))
    .map(({ table, rowid, parent }) => `row ${rowid ?? '?'} of ${table} points to no row of ${parent}`);

/** What is wrong with a file; empty when it is sound. */
export const problemsOf = (file: Sqlite.Database): string[] => [
  ...z
    .array(integrityRow)
    .parse(file.pragma('integrity_check'))
    .map((row) => row.integrity_check)
    .filter((line) => line !== 'ok'),
  ...danglingRows(file),
];

/**
 * Moves what is in a file's journal into the file, so that the file alone is the whole store. Throws SQLITE_BUSY where
 * another process has it open; a torn file is left as it is.
 */
export function emptyJournalAlone(path: string): void {
  const file = new Sqlite(path, { fileMustExist: true, timeout: 250 });
  try {
    // In WAL mode every open connection holds a shared lock on the file, so an exclusive one tells that there is no other.
    file.pragma('locking_mode = EXCLUSIVE');
    file.exec('BEGIN IMMEDIATE; COMMIT');
    file.pragma('wal_checkpoint(TRUNCATE)');
  } catch (error) {
    if (error instanceof Sqlite.SqliteError && /^SQLITE_(NOTADB|CORRUPT)/.test(error.code)) return;
    throw error;
  } finally {
    file.close();
  }
}
