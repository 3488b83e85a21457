import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import { unseal } from './sealed.ts';
import { numberRow, type Sql, timeColumn } from './sql.ts';

/** A private note: its writer alone reads it. */
export interface NoteRecord {
  /** Counted from 1 for each person. */
  number: number;
  /** The job it is about. */
  job: number | null;
  /** When that job was closed; null while it is open, and without a job. */
  jobEnded: Date | null;
  /** Null when it was sealed under a key that is not here. */
  text: string | null;
  at: Date;
  edited: Date | null;
}

export interface Notes {
  /** Throws when there is no such job. */
  add(person: string, note: { text: string; job: number | null }, at: Date): NoteRecord;
  get(person: string, number: number): NoteRecord | null;
  /** Newest first. `before` leaves out that number and those above it. */
  list(person: string, filter?: { job?: number; before?: number; limit?: number }): NoteRecord[];
  count(person: string, filter?: { job?: number }): number;
  /** What is left out stays as it is. Throws when there is no such note. */
  edit(person: string, number: number, change: { text?: string; job?: number }, at: Date): NoteRecord;
  /** These leave nothing of the text in file or journal; each says how many notes went. */
  erase(person: string, number: number): number;
  eraseOfPerson(person: string): number;
  /** Notes on jobs that were closed before `before`; those of one person, or everybody's. */
  eraseOfJobsEndedBefore(before: Date, now: Date, person?: string): number;
}

/** What binds the sealed text of a note to its place. */
export const notePlace = (collective: number, person: string, number: number): string =>
  `note:${collective}:${person}:${number}`;

/** The kind under which a person's notes are counted. */
export const noteCounter = (person: string): string => `note:${person}`;

const noteRow = z.object({
  number: z.number().int(),
  job: z.number().int().nullable(),
  job_ended: timeColumn.nullable(),
  sealed: z.string(),
  at: timeColumn,
  edited: timeColumn.nullable(),
});
const selectNotes = `SELECT n.number, n.job, j.ended_at AS job_ended, n.sealed, n.at, n.edited FROM notes n
  LEFT JOIN jobs j ON j.collective = n.collective AND j.number = n.job
  WHERE n.collective = ? AND n.person = ?`;

type FoundNotes = Pick<Notes, 'get' | 'list' | 'count'>;

function findingNotes(sql: Sql, sealer: Sealer, collective: number): FoundNotes {
  const select = (person: string, rest: string, ...values: number[]): NoteRecord[] =>
    sql
      .all(noteRow, `${selectNotes} ${rest}`, collective, person, ...values)
      .map(({ job_ended: jobEnded, sealed: body, ...note }) => ({
        ...note,
        jobEnded,
        text: unseal(sealer, notePlace(collective, person, note.number), body),
      }));
  return {
    get: (person, number) => select(person, 'AND n.number = ?', number)[0] ?? null,
    list: (person, { job, before, limit } = {}) =>
      select(
        person,
        `${job === undefined ? '' : 'AND n.job = ?'} ${before === undefined ? '' : 'AND n.number < ?'}
         ORDER BY n.number DESC LIMIT ?`,
        ...(job === undefined ? [] : [job]),
        ...(before === undefined ? [] : [before]),
        limit ?? -1,
      ),
    count: (person, { job } = {}) =>
      sql.one(
        numberRow,
        `SELECT count(*) AS n FROM notes WHERE collective = ? AND person = ? ${job === undefined ? '' : 'AND job = ?'}`,
        collective,
        person,
        ...(job === undefined ? [] : [job]),
      )?.n ?? 0,
  };
}

export function notesOf(sql: Sql, sealer: Sealer, collective: number): Notes {
  const sealed = (person: string, number: number, text: string): string =>
    sealer.seal(notePlace(collective, person, number), text);
  const found = findingNotes(sql, sealer, collective);
  const must = (person: string, number: number): NoteRecord => {
    const note = found.get(person, number);
    if (!note) throw new Error(`there is no note ${number}`);
    return note;
  };
  return {
    ...found,
    add: (person, { text, job }, at) => {
      const number = sql.nextNumber(collective, noteCounter(person));
      sql.run(
        'INSERT INTO notes (collective, person, number, job, sealed, at) VALUES (?, ?, ?, ?, ?, ?)',
        collective,
        person,
        number,
        job,
        sealed(person, number, text),
        at.toISOString(),
      );
      return must(person, number);
    },
    edit: (person, number, { text, job }, at) => {
      const before = must(person, number);
      const where = 'WHERE collective = ? AND person = ? AND number = ?';
      if (text !== undefined) {
        sql.secureErase(
          `UPDATE notes SET sealed = ? ${where}`,
          sealed(person, number, text),
          collective,
          person,
          number,
        );
      }
      sql.run(
        `UPDATE notes SET job = ?, edited = ? ${where}`,
        job ?? before.job,
        at.toISOString(),
        collective,
        person,
        number,
      );
      return must(person, number);
    },
    erase: (person, number) =>
      sql.secureErase(
        'DELETE FROM notes WHERE collective = ? AND person = ? AND number = ?',
        collective,
        person,
        number,
      ),
    eraseOfPerson: (person) =>
      sql.secureErase('DELETE FROM notes WHERE collective = ? AND person = ?', collective, person),
    eraseOfJobsEndedBefore: (before, now, person) =>
      sql.eraseAged(
        now,
        // Asked of each note, of which there are few, and not of all jobs that were ever closed.
        `DELETE FROM notes WHERE collective = ? ${person === undefined ? '' : 'AND person = ?'} AND EXISTS
           (SELECT 1 FROM jobs WHERE jobs.collective = notes.collective AND jobs.number = notes.job AND ended_at < ?)`,
        [collective, ...(person === undefined ? [] : [person]), before.toISOString()],
      ),
  };
}
