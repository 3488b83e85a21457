/** How changes are committed: which wait for the disk, and when. */
import type Sqlite from 'better-sqlite3';
import { versionOf } from './file-version.ts';
import type { secureEraseOf } from './secure-erase.ts';

export interface Commits {
  /**
   * Runs `work` in one transaction: all of it is saved, or nothing when it throws. When something was wiped in it, the
   * store settles after it.
   */
  transaction<T>(work: () => T): T;
  /**
   * The same for work that may have changed nothing of value: the disk is waited for only when it called `markDurable`.
   * Otherwise a power cut may undo it, whole; the end of the process alone never does.
   */
  relaxedTransaction<T>(work: (markDurable: () => void) => T): T;
  /**
   * What is committed within `work` waits for the disk once, at its end: several changes that came at the same moment wait
   * together. Nothing of it may be said to be saved before this returns.
   */
  together(work: () => void): void;
}

export function commitsOn(file: Sqlite.Database, wiping: ReturnType<typeof secureEraseOf>): Commits {
  let isGroup = false;
  let groupIsDurable = false;
  const settleIfDue = (): void => {
    if (!wiping.isSettled() && !file.inTransaction) wiping.settle();
  };
  const transaction = <T>(work: () => T): T => {
    const result = file.transaction(work).immediate();
    settleIfDue();
    return result;
  };
  return {
    transaction,
    relaxedTransaction: (work) => {
      let durable = false;
      const relaxed = () =>
        work(() => {
          durable = true;
        });
      // Within another transaction, that one's end decides.
      if (file.inTransaction) return transaction(relaxed);
      // Not compiled ahead: this pragma takes effect when it is compiled, and not when it is run.
      file.pragma('synchronous = NORMAL');
      try {
        return file.transaction(relaxed).immediate();
      } finally {
        file.pragma('synchronous = FULL');
        if (durable && isGroup) groupIsDurable = true;
        else if (durable) syncLog(file);
        settleIfDue();
      }
    },
    together: (work) => {
      isGroup = true;
      try {
        work();
      } finally {
        isGroup = false;
        if (groupIsDurable) syncLog(file);
        groupIsDurable = false;
      }
    },
  };
}

/**
 * A commit that waits for the disk takes along all that stands in the log before it (sqlite.org, "Write-Ahead Logging"):
 * this one says what the file says already.
 */
function syncLog(file: Sqlite.Database): void {
  try {
    file.transaction(() => file.pragma(`user_version = ${versionOf(file)}`)).immediate();
  } catch {
    // It is saved all the same. Should another process be in the way, that one's commit takes it along, else the next here.
  }
}
