/** What the options of notes have in common, and what a note may be and be about. */

import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { say } from '../../shared/language/say.ts';
import { keptFrom } from '../../shared/notes/kept.ts';
import type { NoteRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';
import { integerOption, type Option, optional } from '../framework/option.ts';
import { withoutEcho } from '../framework/private.ts';
import { Refusal } from '../framework/refusal.ts';

const MOST_CHARACTERS = 2000;

/** A number as the bot writes it, with # or without; a refusal does not repeat it, since it may be the text of a note. */
export const noteNumberOption = (
  base: { summary: Message; example: string },
  expected: Message,
): Option<number, true> => {
  const option = integerOption({ ...base, min: 1, max: 1_000_000_000 });
  return withoutEcho({
    ...option,
    expected,
    schema: (context) =>
      z
        .string()
        .transform((typed) => typed.trim().replace(/^#/, ''))
        .pipe(option.schema(context)),
  });
};
export const noteJobOption = optional(
  noteNumberOption(
    { summary: say`The job that it is about`, example: '12' },
    say`the number of a job, such as 12`,
  ),
);
export const noteOption = noteNumberOption(
  { summary: say`Its number in the list`, example: '3' },
  say`the number of a note, such as 3`,
);
export const noteText = { max: MOST_CHARACTERS, example: 'back glass order placed' };

/** Notes that have been kept long enough go whenever notes are used; there need be no clock. */
export function eraseOwnOld({ store, person, collective, now }: Context): void {
  store.notes.eraseOfJobsEndedBefore(keptFrom(collective.settings, now), now, person.key);
}

/** A job that a note can be about. */
export function checkJob(number: number, { store, collective, now }: Context): void {
  const job = store.jobs.get(number);
  if (!job) {
    throw new Refusal({
      code: 'not-found',
      option: 'job',
      problem: say`There is no job #${number} here.`,
      expected: say`a number from /job list, or a note without job:`,
    });
  }
  if (job.ended && job.ended.at < keptFrom(collective.settings, now)) {
    throw new Refusal({
      code: 'wrong-state',
      option: 'job',
      problem: say`Job #${number} was closed more than ${collective.settings.notesKeptDays} days ago, and notes on it are erased.`,
      expected: say`a note without job:`,
    });
  }
}

export function ownNote(number: number, { store, person }: Context): NoteRecord {
  const found = store.notes.get(person.key, number);
  if (found) return found;
  throw new Refusal({
    code: 'not-found',
    option: 'number',
    problem: say`You have no note ${number}.`,
    expected: say`a number from /note list`,
    example: '/note list',
  });
}
