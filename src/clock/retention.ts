/** What is erased when its time is over, once a day: notes of jobs that were closed long ago. */
import { eraseOldNotes } from '../../shared/notes/kept.ts';
import type { Database } from '../../shared/store/index.ts';
import type { Log } from '../environment/log.ts';

const DAY = 24 * 60 * 60_000;
/** A clock that is so much further than a day ago may be wrong; a bot that stood still for as long may not. */
const LEAP = 30 * DAY;
/** After a leap nothing is erased for so long: somebody may notice, and set the clock right. */
const DOUBT = 7 * DAY;

/** Erases what is to be erased that day; the second time on one day does nothing. After a start it is done once more. */
export function retentionOf(database: Database, log: Log): (now: Date) => void {
  let cleared = '';

  /**
   * False while the time may be wrong: what is erased by a clock that was set years ahead is gone for good. A clock that was
   * set back erases nothing that it should not.
   */
  const isTrusted = (now: Date): boolean => {
    const { surfaceState: state } = database;
    const read = (key: string): number | null => {
      const saved = state.get('clock', key);
      return saved === null ? null : Date.parse(saved);
    };
    const seen = read('seen');
    state.set('clock', 'seen', now.toISOString(), now);
    if (seen !== null && now.getTime() - seen > LEAP) {
      state.set('clock', 'leapt', now.toISOString(), now);
      log(
        'clock',
        `the time went from ${new Date(seen).toISOString()} to ${now.toISOString()}: no note is erased for ${DOUBT / DAY} days. If that is wrong, set the clock of this machine right.`,
      );
    }
    const leapt = read('leapt');
    if (leapt === null) return true;
    const since = now.getTime() - leapt;
    if (since >= 0 && since < DOUBT) return false;
    state.delete('clock', 'leapt');
    return true;
  };

  return (now) => {
    const day = now.toISOString().slice(0, 10);
    if (cleared === day) return;
    if (database.transaction(() => isTrusted(now))) eraseOldNotes(database, now);
    cleared = day;
  };
}
