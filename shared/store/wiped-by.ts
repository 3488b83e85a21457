/** Who removed words from a record: `trace:3`, `report:2`, `part:7`, `danger:job:4`. The words themselves are kept nowhere. */
import { z } from 'zod';
import type { Hand } from './job-entries.ts';
import { type Sql, timeColumn } from './sql.ts';

const wipedRow = z
  .object({ by: z.string(), by_key: z.string().nullable(), at: timeColumn })
  .transform(({ by: name, by_key: key, at }): Hand => ({ by: { key, name }, at }));

export interface WipedBy {
  note(record: string, hand: Hand): void;
  /** Oldest first. */
  of(record: string): Hand[];
}

export const wipedByOf = (sql: Sql, collective: number): WipedBy => ({
  note: (record, { by, at }) => {
    sql.run(
      `INSERT INTO words_wiped (collective, record, seq, by, by_key, at)
       SELECT ?, ?, 1 + coalesce(max(seq), 0), ?, ?, ? FROM words_wiped WHERE collective = ? AND record = ?`,
      collective,
      record,
      by.name,
      by.key,
      at.toISOString(),
      collective,
      record,
    );
  },
  of: (record) =>
    sql.all(
      wipedRow,
      'SELECT by, by_key, at FROM words_wiped WHERE collective = ? AND record = ? ORDER BY seq',
      collective,
      record,
    ),
});
