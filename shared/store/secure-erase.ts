/**
 * What people erase is to be gone from the disk, and not only from the tables. SQLite's secure_delete overwrites what a
 * statement deletes, but not the copies of it that are left behind in a page when its rows move to another page; and the
 * journal has the pages as they were. So the file is written anew from what is still there, and the journal emptied.
 * What a disk keeps of blocks that a file once had is out of reach here.
 */
import Sqlite from 'better-sqlite3';
import { z } from 'zod';

/** How long it is waited for another process, in ms: seldom long, since it is tried again. */
export const SHORT_WAIT_MS = 250;
export const WAIT_MS = 5000;

export interface SecureErase {
  /** Something was wiped: saved with the transaction that did it, so that a stop right after it is made up for. */
  mark(): void;
  /** See `Database.settle`. */
  settle(): boolean;
  /** True when nothing is left to do. */
  isSettled(): boolean;
}

// It belongs to no surface and no time.
const MARK = "'store', 'wiped', '', '1970-01-01T00:00:00.000Z'";

export function secureEraseOf(file: Sqlite.Database): SecureErase {
  const mark = file.prepare(`INSERT OR IGNORE INTO surface_state (surface, key, value, at) VALUES (${MARK})`);
  const find = file.prepare("SELECT 1 FROM surface_state WHERE surface = 'store' AND key = 'wiped'");
  const drop = file.prepare("DELETE FROM surface_state WHERE surface = 'store' AND key = 'wiped'");
  let toRewrite = true;
  let toEmpty = true;
  const settle = (): void => {
    // The mark is gone where the transaction was rolled back.
    if (toRewrite && find.get() !== undefined) {
      if (!rewrite(file)) return;
      drop.run();
      toEmpty = true;
    }
    toRewrite = false;
    if (toEmpty) toEmpty = !emptyJournal(file);
  };
  return {
    mark: () => {
      mark.run();
      toRewrite = true;
    },
    settle: () => {
      file.pragma(`busy_timeout = ${SHORT_WAIT_MS}`);
      settle();
      file.pragma(`busy_timeout = ${WAIT_MS}`);
      return !toRewrite && !toEmpty;
    },
    isSettled: () => !toRewrite && !toEmpty,
  };
}

/** False when it cannot be done now: somebody else writes, or the disk is full. */
function rewrite(file: Sqlite.Database): boolean {
  try {
    file.exec('VACUUM');
    return true;
  } catch (error) {
    if (error instanceof Sqlite.SqliteError) return false;
    throw error;
  }
}

/** Moves the journal into the file and cuts it to nothing; false when it is still being read. */
function emptyJournal(file: Sqlite.Database): boolean {
  const [done] = z.array(z.object({ busy: z.number() })).parse(file.pragma('wal_checkpoint(TRUNCATE)'));
  return done?.busy === 0;
}
