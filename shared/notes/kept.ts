/** How long private notes are kept: a set number of days after their job is closed. Notes without a job stay. */
import type { CollectiveSettings } from '../collective/collective-settings.ts';
import type { Database } from '../store/index.ts';

const DAY_MS = 24 * 3600 * 1000;

/** Notes on jobs that were closed before this are erased. */
export const keptFrom = ({ notesKeptDays }: CollectiveSettings, now: Date): Date =>
  new Date(now.getTime() - notesKeptDays * DAY_MS);

/** When a note goes whose job was closed at `jobEnded`. */
export const goesAt = ({ notesKeptDays }: CollectiveSettings, jobEnded: Date): Date =>
  new Date(jobEnded.getTime() + notesKeptDays * DAY_MS);

/** Erases, in every collective, the notes that have been kept long enough; says how many went. For a daily clock. */
export const eraseOldNotes = (database: Database, now: Date): number =>
  database.transaction(() =>
    database.collectives
      .list()
      .reduce(
        (gone, collective) =>
          gone +
          database.of(collective).notes.eraseOfJobsEndedBefore(keptFrom(collective.settings, now), now),
        0,
      ),
  );
