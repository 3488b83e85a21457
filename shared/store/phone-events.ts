import { z } from 'zod';
import { type LoggedPhoneEvent, type PhoneEvent, phoneEventSchema } from '../phone/event.ts';
import type { Hand } from './job-entries.ts';
import { jsonColumn, type Sql, timeColumn } from './sql.ts';

/** What a phone's state belongs to: its job, or a trace that has no job. */
export interface PhoneSubject {
  kind: 'job' | 'trace';
  number: number;
}

const columns = 'seq, event, by, by_key, at, withdrawn_by, withdrawn_key, withdrawn_at, withdrawn_why';
const eventRow = z
  .object({
    seq: z.number().int(),
    event: jsonColumn(phoneEventSchema),
    by: z.string(),
    by_key: z.string(),
    at: timeColumn,
    withdrawn_by: z.string().nullable(),
    withdrawn_key: z.string().nullable(),
    withdrawn_at: timeColumn.nullable(),
    withdrawn_why: z.string().nullable(),
  })
  .transform(
    ({
      by: name,
      by_key: key,
      withdrawn_by,
      withdrawn_key,
      withdrawn_at,
      withdrawn_why,
      ...rest
    }): LoggedPhoneEvent => ({
      ...rest,
      by: { key, name },
      withdrawn:
        withdrawn_by !== null && withdrawn_at && withdrawn_why !== null
          ? { by: { key: withdrawn_key, name: withdrawn_by }, at: withdrawn_at, why: withdrawn_why }
          : null,
    }),
  );

/** The events of phones. Each change adds one to the revision of its job or trace, so that older choices are refused. */
export interface PhoneEvents {
  /** Oldest first. */
  list(subject: PhoneSubject): LoggedPhoneEvent[];
  add(subject: PhoneSubject, events: readonly PhoneEvent[], hand: Hand): void;
  /** Throws when there is no such event, or it is withdrawn already. */
  withdraw(subject: PhoneSubject, seq: number, hand: Hand, why: string): void;
  /** Leaves nothing in the file of who did these steps, as it was typed, and of why these events were withdrawn. */
  wipe(subject: PhoneSubject, words: { who: readonly number[]; why: readonly number[] }): void;
}

export function phoneEventsOf(sql: Sql, collective: number): PhoneEvents {
  const touch = ({ kind, number }: PhoneSubject): void => {
    const changed = sql.run(
      kind === 'job'
        ? 'UPDATE jobs SET revision = revision + 1 WHERE collective = ? AND number = ?'
        : 'UPDATE traces SET revision = revision + 1 WHERE collective = ? AND number = ?',
      collective,
      number,
    );
    if (!changed) throw new Error(`there is no ${kind} ${number}`);
  };
  return {
    list: ({ kind, number }) =>
      sql.all(
        eventRow,
        `SELECT ${columns} FROM phone_events WHERE collective = ? AND subject = ? AND number = ? ORDER BY seq`,
        collective,
        kind,
        number,
      ),
    add: (subject, events, { by, at }) => {
      if (!events.length) return;
      touch(subject);
      for (const event of events) {
        sql.run(
          `INSERT INTO phone_events (collective, subject, number, seq, event, by, by_key, at)
           SELECT ?, ?, ?, 1 + coalesce(max(seq), 0), ?, ?, ?, ?
           FROM phone_events WHERE collective = ? AND subject = ? AND number = ?`,
          collective,
          subject.kind,
          subject.number,
          JSON.stringify(phoneEventSchema.parse(event)),
          by.name,
          by.key,
          at.toISOString(),
          collective,
          subject.kind,
          subject.number,
        );
      }
    },
    withdraw: (subject, seq, { by, at }, why) => {
      touch(subject);
      const changed = sql.run(
        `UPDATE phone_events SET withdrawn_by = ?, withdrawn_key = ?, withdrawn_at = ?, withdrawn_why = ?
         WHERE collective = ? AND subject = ? AND number = ? AND seq = ? AND withdrawn_by IS NULL`,
        by.name,
        by.key,
        at.toISOString(),
        why,
        collective,
        subject.kind,
        subject.number,
        seq,
      );
      if (!changed) throw new Error(`${subject.kind} ${subject.number} has no event ${seq} to withdraw`);
    },
    wipe: (subject, { who, why }) => {
      touch(subject);
      const erase = (change: string, seqs: readonly number[]) => {
        for (const seq of seqs)
          sql.secureErase(
            `UPDATE phone_events SET ${change} WHERE collective = ? AND subject = ? AND number = ? AND seq = ?`,
            collective,
            subject.kind,
            subject.number,
            seq,
          );
      };
      erase("event = json_replace(event, '$.who', '')", who);
      erase("withdrawn_why = ''", why);
    },
  };
}
