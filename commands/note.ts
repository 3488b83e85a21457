/** Private notes. Whatever goes wrong, a reply never repeats what was written: `private.ts` says what else keeps to that. */
import { z } from 'zod';
import { counted, say, translated } from '../shared/language/say.ts';
import { goesAt, keptFrom } from '../shared/notes/kept.ts';
import { findSecret, secretWords } from '../shared/notes/secrets.ts';
import { isoDateIn } from '../shared/pairing/law.ts';
import type { NoteRecord } from '../shared/store/index.ts';
import { defineAction, defineCommand } from './command.ts';
import type { Context } from './context.ts';
import { integerOption, type Option, optional, textOption } from './option.ts';
import { withoutEcho } from './private.ts';
import { Refusal } from './refusal.ts';
import { type Block, type Reply, reply, text } from './reply.ts';

const SHOWN = 10;
const MOST_CHARACTERS = 2000;
const CLOSED = 'sealed under a key that is not here';

const noteData = z.object({
  number: z.number().int(),
  job: z.number().int().nullable(),
  at: z.iso.datetime(),
  edited: z.iso.datetime().nullable(),
  /** Null when it was sealed under a key that is not here. */
  text: z.string().nullable(),
  /** The day on which it is erased; null while its job is open, and without a job. */
  goes: z.iso.date().nullable(),
});
export const noteListData = z.object({ total: z.number().int(), notes: z.array(noteData) });
export const noteSavedData = z.object({ saved: noteData });
export const noteErasedData = z.object({ erased: z.number().int() });

/** A number as the bot writes it, with # or without; a refusal does not repeat it, since it may be the text of a note. */
const numberOption = (noun: string, base: { summary: string; example: string }): Option<number, true> => {
  const option = integerOption({ ...base, min: 1, max: 1_000_000_000 });
  return withoutEcho({
    ...option,
    expected: say`the number of ${noun}, such as ${base.example}`,
    schema: (context) =>
      z
        .string()
        .transform((typed) => typed.trim().replace(/^#/, ''))
        .pipe(option.schema(context)),
  });
};
const jobOption = optional(numberOption('a job', { summary: 'The job that it is about', example: '12' }));
const noteOption = numberOption('a note', { summary: 'Its number in the list', example: '3' });
const noteText = { max: MOST_CHARACTERS, example: 'back glass order placed' };

const goesOn = (one: NoteRecord, { collective: { settings } }: Context): string | null =>
  one.jobEnded && isoDateIn(settings.zone, goesAt(settings, one.jobEnded));

const dataOf = (one: NoteRecord, context: Context): z.infer<typeof noteData> => ({
  number: one.number,
  job: one.job,
  at: one.at.toISOString(),
  edited: one.edited?.toISOString() ?? null,
  text: one.text,
  goes: goesOn(one, context),
});

/** "Note 3, job #12, 2026-03-02, edited 2026-03-04". */
function headOf(one: NoteRecord, context: Context): string {
  const day = (at: Date) => isoDateIn(context.collective.settings.zone, at);
  const goes = goesOn(one, context);
  return [
    say`Note ${one.number}`,
    ...(one.job === null ? [] : [say`job #${one.job}`]),
    day(one.at),
    ...(one.edited ? [say`edited ${day(one.edited)}`] : []),
    ...(goes ? [say`erased on ${goes}, since the job is closed`] : []),
  ].join(', ');
}
const blockOf = (one: NoteRecord, context: Context): Block => ({
  kind: 'quote',
  heading: headOf(one, context),
  text: one.text ?? `(${translated(CLOSED)})`,
});

/** Notes that have been kept long enough go whenever notes are used; there need be no clock. */
function eraseOwnOld({ store, person, collective, now }: Context): void {
  store.notes.eraseOfJobsEndedBefore(keptFrom(collective.settings, now), person.key);
}

function checkText(body: string): void {
  const kind = findSecret(body);
  if (kind === null) return;
  throw new Refusal({
    option: 'text',
    problem: say`That looks as if it had ${translated(secretWords[kind])} in it. Those are never kept, sealed or not.`,
    expected: say`the note without it: ${
      kind === 'card'
        ? say`a payment is kept in your books, by the last four digits`
        : say`the owner unlocks the phone, or takes the lock off`
    }. If it is something else, say it in other words`,
    example:
      kind === 'card'
        ? '/note add "owner pays on Friday" job:12'
        : '/note add "owner comes by on Friday to unlock it" job:12',
  });
}

/** A job that a note can be about. */
function checkJob(number: number, { store, collective, now }: Context): void {
  const job = store.jobs.get(number);
  if (!job) {
    throw new Refusal({
      option: 'job',
      problem: say`There is no job #${number} here.`,
      expected: say`a number from /job list, or a note without job:`,
    });
  }
  if (job.ended && job.ended.at < keptFrom(collective.settings, now)) {
    throw new Refusal({
      option: 'job',
      problem: say`Job #${number} was closed more than ${collective.settings.notesKeptDays} days ago, and notes on it are erased.`,
      expected: say`a note without job:`,
    });
  }
}

function ownNote(number: number, { store, person }: Context): NoteRecord {
  const found = store.notes.get(person.key, number);
  if (found) return found;
  throw new Refusal({
    option: 'number',
    problem: say`You have no note ${number}.`,
    expected: say`a number from /note list`,
    example: '/note list',
  });
}

const staysWords = (one: NoteRecord, { collective: { settings } }: Context): string =>
  one.job === null
    ? say`It stays until you erase it.`
    : say`It is erased ${settings.notesKeptDays} days after job #${one.job} is closed.`;

const add = defineAction({
  summary: 'Keep a note that only you can read',
  where: 'direct',
  who: 'member',
  options: {
    text: textOption({
      ...noteText,
      summary: 'The note; passcodes, passwords and card numbers are refused',
    }),
    job: jobOption,
  },
  examples: ['/note add "back glass order placed" job:12', '/note add "ask Moss about the long screws"'],
  run: ({ text: body, job }, context) => {
    const { store, person, now } = context;
    eraseOwnOld(context);
    checkText(body);
    if (job !== undefined) checkJob(job, context);
    const saved = store.notes.add(person.key, { text: body, job: job ?? null }, now);
    return reply({
      audience: 'asker',
      title: say`Note ${saved.number} is kept${saved.job === null ? '' : say`, on job #${saved.job}`}`,
      tone: 'good',
      blocks: [text(say`Only you can read it, in a direct message. ${staysWords(saved, context)}`)],
      data: { saved: dataOf(saved, context) } satisfies z.infer<typeof noteSavedData>,
    });
  },
});

const list = defineAction({
  summary: 'Show your notes, newest first',
  where: 'direct',
  who: 'member',
  options: {
    job: jobOption,
    before: optional(numberOption('a note', { summary: 'Only notes older than this one', example: '25' })),
  },
  examples: ['/note list', '/note list job:12'],
  run: ({ job, before }, context): Reply => {
    const { store, person } = context;
    eraseOwnOld(context);
    const filter = { ...(job === undefined ? {} : { job }), ...(before === undefined ? {} : { before }) };
    const found = store.notes.list(person.key, { ...filter, limit: SHOWN + 1 });
    const shown = found.slice(0, SHOWN);
    const last = shown.at(-1);
    const total = store.notes.count(person.key, job === undefined ? {} : { job });
    const about = job === undefined ? '' : say` on job #${job}`;
    return reply({
      audience: 'asker',
      title: total ? `${counted(total, '{0} note', '{0} notes')}${about}` : say`No note${about} yet`,
      blocks: [
        ...shown.map((one) => blockOf(one, context)),
        ...(total ? [] : [text(say`Keep one: /note add "back glass order placed" job:12`)]),
      ],
      choices:
        found.length > SHOWN && last
          ? [
              {
                label: say`Older notes`,
                invoke: {
                  command: 'note',
                  action: 'list',
                  options: {
                    before: String(last.number),
                    ...(job === undefined ? {} : { job: String(job) }),
                  },
                },
              },
            ]
          : [],
      data: { total, notes: shown.map((one) => dataOf(one, context)) } satisfies z.infer<typeof noteListData>,
    });
  },
});

/** Without case and accents. */
const folded = (words: string): string => words.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();

const search = defineAction({
  summary: 'Find your notes by words in them',
  where: 'direct',
  who: 'member',
  options: {
    words: textOption({ max: 200, summary: 'Words that are all in the note', example: 'back glass' }),
    job: jobOption,
  },
  examples: ['/note search "back glass"'],
  run: ({ words, job }, context) => {
    const { store, person } = context;
    eraseOwnOld(context);
    const wanted = folded(words).split(/\s+/).filter(Boolean);
    const own = store.notes.list(person.key, job === undefined ? {} : { job });
    const closed = own.filter((one) => one.text === null).length;
    const found = own.filter((one) => {
      const body = one.text === null ? null : folded(one.text);
      return body !== null && wanted.every((word) => body.includes(word));
    });
    const shown = found.slice(0, SHOWN);
    return reply({
      audience: 'asker',
      title: found.length
        ? counted(found.length, '{0} note with those words', '{0} notes with those words')
        : say`No note with those words`,
      blocks: [
        ...shown.map((one) => blockOf(one, context)),
        ...(found.length > shown.length
          ? [text(say`The newest ${shown.length}. More words narrow it.`)]
          : []),
        ...(closed
          ? [
              text(
                counted(
                  closed,
                  '{0} note could not be searched: {1}.',
                  '{0} notes could not be searched: {1}.',
                  translated(CLOSED),
                ),
              ),
            ]
          : []),
      ],
      data: {
        total: found.length,
        notes: shown.map((one) => dataOf(one, context)),
      } satisfies z.infer<typeof noteListData>,
    });
  },
});

const edit = defineAction({
  summary: 'Change the text of a note, or the job that it is about',
  where: 'direct',
  who: 'member',
  options: {
    number: noteOption,
    text: optional(textOption({ ...noteText, summary: 'The new text; the old one is gone' })),
    job: jobOption,
  },
  examples: ['/note edit 3 text:"back glass came, wrong colour"', '/note edit 3 job:12'],
  run: ({ number, text: body, job }, context) => {
    const { store, person, now } = context;
    eraseOwnOld(context);
    ownNote(number, context);
    if (body === undefined && job === undefined) {
      throw new Refusal({ problem: say`Nothing to change was given.`, expected: say`text: or job:` });
    }
    if (body !== undefined) checkText(body);
    if (job !== undefined) checkJob(job, context);
    const saved = store.notes.edit(
      person.key,
      number,
      { ...(body === undefined ? {} : { text: body }), ...(job === undefined ? {} : { job }) },
      now,
    );
    return reply({
      audience: 'asker',
      title: say`Note ${number} is changed`,
      tone: 'good',
      blocks: [
        ...(body === undefined ? [] : [text(say`The old text is erased.`)]),
        text(staysWords(saved, context)),
      ],
      data: { saved: dataOf(saved, context) } satisfies z.infer<typeof noteSavedData>,
    });
  },
});

const erase = defineAction({
  summary: 'Erase a note',
  where: 'direct',
  who: 'member',
  options: { number: noteOption },
  examples: ['/note erase 3'],
  run: ({ number }, context) => {
    const { store, person } = context;
    eraseOwnOld(context);
    ownNote(number, context);
    store.notes.erase(person.key, number);
    return reply({
      audience: 'asker',
      title: say`Note ${number} is erased`,
      blocks: [
        text(
          say`It is gone from the store. Copies of the store that were made before still have it, sealed.`,
        ),
      ],
      data: { erased: number } satisfies z.infer<typeof noteErasedData>,
    });
  },
});

export const note = defineCommand({
  name: 'note',
  summary: 'Private notes, in a direct message: only you can read yours',
  main: 'list',
  actions: { add, list, search, edit, erase },
});
