/** A note in words and as data. */

import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { inRow, plain, say, verbatim } from '../../shared/language/say.ts';
import { goesAt } from '../../shared/notes/kept.ts';
import type { NoteRecord } from '../../shared/store/index.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import type { Context } from '../framework/context.ts';
import type { DraftBlock } from '../framework/reply.ts';

export const NOTES_SHOWN = 10;

export const CLOSED = say`sealed under a key that is not here`;

const noteSchema = z.object({
  number: z.number().int(),
  job: z.number().int().nullable(),
  at: z.iso.datetime(),
  edited: z.iso.datetime().nullable(),
  /** Null when it was sealed under a key that is not here. */
  text: z.string().nullable(),
  /** The day on which it is erased; null while its job is open, and without a job. */
  goes: z.iso.date().nullable(),
});
export const noteListData = z.object({ total: z.number().int(), notes: z.array(noteSchema) });
export const noteSavedData = z.object({ saved: noteSchema });

const goesOn = (one: NoteRecord, { collective: { settings } }: Context): string | null =>
  one.jobEnded && isoDateIn(settings.zone, goesAt(settings, one.jobEnded));

export const noteDataOf = (one: NoteRecord, context: Context): z.infer<typeof noteSchema> => ({
  number: one.number,
  job: one.job,
  at: one.at.toISOString(),
  edited: one.edited?.toISOString() ?? null,
  text: one.text,
  goes: goesOn(one, context),
});

/** "Note 3, job #12, 2026-03-02, edited 2026-03-04". */
function noteHeading(one: NoteRecord, context: Context): Message {
  const day = (at: Date) => isoDateIn(context.collective.settings.zone, at);
  const goes = goesOn(one, context);
  return inRow([
    say`Note ${one.number}`,
    ...(one.job === null ? [] : [say`job #${one.job}`]),
    verbatim(day(one.at)),
    ...(one.edited ? [say`edited ${verbatim(day(one.edited))}`] : []),
    ...(goes ? [say`erased on ${verbatim(goes)}, since the job is closed`] : []),
  ]);
}
export const noteBlock = (one: NoteRecord, context: Context): DraftBlock => ({
  kind: 'quote',
  heading: noteHeading(one, context),
  text: one.text === null ? plain`(${CLOSED})` : verbatim(one.text),
});

export const staysWords = (one: NoteRecord, { collective: { settings } }: Context): Message =>
  one.job === null
    ? say`It stays until you erase it.`
    : say`It is erased ${settings.notesKeptDays} days after job #${one.job} is closed.`;
