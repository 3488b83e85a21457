/** What a job waits for, and for how long its timer has run. Pure. */
import type { Actor } from '../people/actor.ts';
import type { Entry, LoggedEntry } from './entry.ts';
import type { JobRecord } from './job.ts';

export interface Waiting {
  for: Extract<Entry, { kind: 'waiting' }>['for'];
  /** ISO date; null where no day is known. */
  until: string | null;
  note: string;
  since: Date;
  by: Actor;
}

/** What it waits for now; null when it can be worked on. The last word counts. */
export function waitingOf({ entries }: Pick<JobRecord, 'entries'>): Waiting | null {
  const last = entries.findLast(
    ({ struck, entry }) => struck === null && (entry.kind === 'waiting' || entry.kind === 'resumed'),
  );
  if (last?.entry.kind !== 'waiting') return null;
  const { for: what, until, note } = last.entry;
  return { for: what, until, note, since: last.at, by: last.by };
}

/** The day has come, or no day was said. Dates are ISO. */
export const isDue = ({ until }: Pick<Waiting, 'until'>, today: string): boolean =>
  until !== null && until <= today;

/** When a person's timer on a job was started; null where it does not run. */
export function timerOf({ entries }: Pick<JobRecord, 'entries'>, person: string): Date | null {
  const own = entries.filter(
    ({ struck, by, entry }: LoggedEntry) =>
      struck === null &&
      by.key === person &&
      (entry.kind === 'timer-started' || entry.kind === 'timer-stopped'),
  );
  const last = own.at(-1);
  return last?.entry.kind === 'timer-started' ? last.at : null;
}
