/**
 * What is erased when its time is over, once a day: notes of jobs that were closed long ago, copies from before an upgrade, and
 * which messages showed what.
 */
import { eraseOldNotes } from '../../shared/notes/kept.ts';
import { COPY_KEPT_DAYS, type Database, DOUBT_DAYS } from '../../shared/store/index.ts';
import type { Log } from '../environment/log.ts';

/** Erases what is to be erased that day; the second time on one day does nothing. After a start it is done once more. */
export function retentionOf(database: Database, log: Log): (now: Date) => void {
  let cleared = '';
  /** The leap that was told of. */
  let told = '';

  const isTrusted = (now: Date): boolean => {
    if (database.transaction(() => database.clock.trusts(now))) return true;
    const leap = database.clock.leap();
    if (leap && leap.to.toISOString() !== told) {
      told = leap.to.toISOString();
      log(
        'clock',
        `the time went from ${leap.from.toISOString()} to ${told}: no note, and nothing else, is erased for ${DOUBT_DAYS} days. If that is wrong, set the clock of this machine right.`,
      );
    }
    return false;
  };

  return (now) => {
    const day = now.toISOString().slice(0, 10);
    if (cleared === day) return;
    if (isTrusted(now)) {
      eraseOldNotes(database, now);
      database.removals.forgetOld(now);
      for (const { file } of database.eraseOldCopies(now))
        log('copy', `${file}, from before an update, is more than ${COPY_KEPT_DAYS} days old, and erased.`);
    }
    cleared = day;
  };
}
