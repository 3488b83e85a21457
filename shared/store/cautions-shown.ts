import { z } from 'zod';
import type { PhoneSubject } from './phone-events.ts';
import { type Sql, timeColumn } from './sql.ts';

const shownRow = z.object({ caution: z.string(), at: timeColumn });

/** Which cautions a person was shown whole, for which phone, and when last. */
export interface CautionsShown {
  /** When each caution was last shown whole, by id. */
  list(subject: PhoneSubject, person: string): Map<string, Date>;
  save(subject: PhoneSubject, person: string, cautions: readonly string[], at: Date): void;
  /** They are all to be shown whole again: something went wrong, or a new danger was seen. */
  forget(subject: PhoneSubject): void;
}

export const cautionsShownOf = (sql: Sql, collective: number): CautionsShown => ({
  list: ({ kind, number }, person) =>
    new Map(
      sql
        .all(
          shownRow,
          'SELECT caution, at FROM cautions_shown WHERE collective = ? AND subject = ? AND number = ? AND person = ?',
          collective,
          kind,
          number,
          person,
        )
        .map(({ caution, at }) => [caution, at]),
    ),
  save: ({ kind, number }, person, cautions, at) => {
    for (const caution of cautions) {
      sql.run(
        `INSERT INTO cautions_shown (collective, subject, number, person, caution, at) VALUES (?, ?, ?, ?, ?, ?)
         ON CONFLICT DO UPDATE SET at = excluded.at`,
        collective,
        kind,
        number,
        person,
        caution,
        at.toISOString(),
      );
    }
  },
  forget: ({ kind, number }) => {
    sql.run(
      'DELETE FROM cautions_shown WHERE collective = ? AND subject = ? AND number = ?',
      collective,
      kind,
      number,
    );
  },
});
