import { closeSync, openSync, statSync } from 'node:fs';
import Sqlite from 'better-sqlite3';
import type { Collective } from '../collective/collective-settings.ts';
import type { Sealer } from '../sealing/sealer.ts';
import { type ChannelBindings, channelBindingsOf } from './channel-bindings.ts';
import { type ClockGuard, clockGuardOf } from './clock-guard.ts';
import { type Collectives, collectivesOf } from './collectives.ts';
import { type Commits, commitsOn } from './commits.ts';
import { danglingRows, problemsOf, writeCopy } from './copy.ts';
import {
  APPLICATION_ID,
  ForeignFile,
  NewerFile,
  readVersion,
  upgradeCopy,
  versionOf,
} from './file-version.ts';
import { findLink, type Linked } from './link-words.ts';
import { migrations } from './migrations.ts';
import { type SealedRecords, sealedRecordsOf } from './sealed-records.ts';
import { type Resealed, reseal, type SealedCount, sealedCounts, sealedElsewhere } from './sealed-texts.ts';
import { SHORT_WAIT_MS, secureEraseOf, WAIT_MS } from './secure-erase.ts';
import { type Removals, removalsOf } from './shown-messages.ts';
import { numberRow, sqlOn } from './sql.ts';
import { type Store, storeOf } from './store.ts';
import { type SurfaceState, surfaceStateOf } from './surface-state.ts';
import { COPY_KEPT_DAYS, eraseUpgradeCopies, type UpgradeCopy, upgradeCopiesOf } from './upgrade-copies.ts';

export interface Database extends Commits {
  collectives: Collectives;
  channelBindings: ChannelBindings;
  surfaceState: SurfaceState;
  sealedRecords: SealedRecords;
  /** Messages in chat that are to be put right, since words were removed. */
  removals: Removals;
  of(collective: Collective): Store;
  /** The collective that gave a word to link a place with; null when there is no such word, or it has run out. */
  linkedBy(word: string, at: Date): Linked | null;
  /** Rows written since the store was opened; also those that were undone again. */
  written(): number;
  /**
   * Leaves nothing of what was wiped: writes the file anew, about 15 ms a megabyte, and empties the journal. False when
   * another process is in the way just now, or the disk is full; it is tried again after the next transaction, and when
   * the store is opened.
   */
  settle(): boolean;
  /** How many sealed texts there are of each kind, and how many of them do not open with the keys at hand. */
  sealedTexts(): SealedCount[];
  /** How many notes and IMEIs were sealed under a key that is not here. Quick. */
  sealedElsewhere(): number;
  /**
   * Seals anew, in one transaction, all that was sealed under another key than the first of the sealer. Throws
   * SQLITE_BUSY when another process has the file open: it would go on sealing under the key that is to go.
   */
  reseal(): Resealed;
  /** Whether the time may be believed before something is erased because of it. */
  clock: ClockGuard;
  /** The copies beside the store from before an upgrade, the oldest first. */
  upgradeCopies(): UpgradeCopy[];
  /** Erases those that are older than they are kept; nothing while the time may be wrong. Those that are gone. */
  eraseOldCopies(now: Date): UpgradeCopy[];
  /** What is wrong with the file; empty when it is sound. */
  check(): string[];
  /** The file as bytes. */
  bytes(): Buffer;
  close(): void;
}

/**
 * Opens the store, and brings an older file up to date; before it does, the file is copied to `PATH.before-N`, N being
 * the first step that is run. Throws NewerFile or ForeignFile, and SqliteError for a file that cannot be read.
 * A new file can be read by its owner only. `sealer` seals what must not be read from the file. `steps` is for tests.
 */
export function openDatabase(path: string, sealer: Sealer, steps: readonly string[] = migrations): Database {
  const inMemory = path === ':memory:';
  if (!inMemory) closeSync(openSync(path, 'a', 0o600));
  const file = new Sqlite(path, { timeout: WAIT_MS });
  try {
    prepare(file, path, steps);
  } catch (error) {
    file.close();
    if (error instanceof Sqlite.SqliteError && error.code === 'SQLITE_NOTADB') throw new ForeignFile(path);
    throw error;
  }
  const wiping = secureEraseOf(file);
  const clock = clockGuardOf(file);
  const sql = sqlOn(file, wiping.mark, clock.trusts);
  const collectives = collectivesOf(sql);
  // A stop between a commit and what is to follow it is made up for here.
  wiping.settle();
  const { transaction, relaxedTransaction, together } = commitsOn(file, wiping);
  const countWritten = file.prepare('SELECT total_changes() AS n');
  return {
    collectives,
    channelBindings: channelBindingsOf(sql),
    surfaceState: surfaceStateOf(sql),
    sealedRecords: sealedRecordsOf(sql, sealer, transaction),
    removals: removalsOf(sql),
    of: (collective) => storeOf(sql, sealer, collective, collectives.saveSettings),
    linkedBy: (word, at) => findLink(sql, word, at),
    transaction,
    relaxedTransaction,
    together,
    written: () => numberRow.parse(countWritten.get()).n,
    settle: wiping.settle,
    sealedTexts: () => sealedCounts(sql, sealer),
    sealedElsewhere: () => sealedElsewhere(sql, sealer),
    reseal: () => {
      const done = alone(file, () => reseal(sql, sealer));
      wiping.settle();
      return done;
    },
    clock,
    upgradeCopies: () => upgradeCopiesOf(path),
    eraseOldCopies: (now) =>
      clock.trusts(now)
        ? eraseUpgradeCopies(path, new Date(now.getTime() - COPY_KEPT_DAYS * 24 * 3600_000))
        : [],
    check: () => problemsOf(file),
    bytes: () => file.serialize(),
    close: () => file.close(),
  };
}

function prepare(file: Sqlite.Database, path: string, steps: readonly string[]): void {
  const { schema: found, empty } = readVersion(file, path, steps.length);
  file.pragma('journal_mode = WAL');
  file.pragma('synchronous = FULL');
  file.pragma('secure_delete = ON');
  // What is written anew does not pass through a file elsewhere.
  file.pragma('temp_store = MEMORY');
  if (found < steps.length) {
    if (!empty) keepCopy(file, path, found + 1);
    upgrade(file, path, steps);
  }
  file.pragma('foreign_keys = ON');
}

/** Runs `work` in one transaction while no other process has the file open. */
function alone<T>(file: Sqlite.Database, work: () => T): T {
  file.pragma(`busy_timeout = ${SHORT_WAIT_MS}`);
  // In WAL mode every open connection holds a shared lock on the file, so an exclusive one tells that there is no other.
  file.pragma('locking_mode = EXCLUSIVE');
  try {
    return file.transaction(work).immediate();
  } finally {
    file.pragma('locking_mode = NORMAL');
    // The lock is let go at the next reading.
    versionOf(file);
    file.pragma(`busy_timeout = ${WAIT_MS}`);
  }
}

/** A complete copy, journal included, as readable as the file itself. */
function keepCopy(file: Sqlite.Database, path: string, step: number): void {
  if (path === ':memory:') return;
  writeCopy(file, upgradeCopy(path, step), statSync(path).mode & 0o777);
}

/** All missing steps in one transaction. Foreign keys are off meanwhile, since a step may rebuild a table. */
function upgrade(file: Sqlite.Database, path: string, steps: readonly string[]): void {
  file.pragma('foreign_keys = OFF');
  file
    .transaction(() => {
      // Read again under the lock: another process may have been quicker.
      const from = versionOf(file);
      if (from > steps.length) throw new NewerFile(path, from, steps.length);
      for (const step of steps.slice(from)) file.exec(step);
      const dangling = danglingRows(file);
      if (dangling.length) throw new Error(`the schema steps leave ${dangling.join('; ')}`);
      file.pragma(`application_id = ${APPLICATION_ID}`);
      file.pragma(`user_version = ${steps.length}`);
    })
    .immediate();
}
