import { z } from 'zod';
import { jsonColumn, type Sql } from './sql.ts';

const KEPT_MS = 7 * 24 * 3600 * 1000;
const requestRow = z.object({ reply: jsonColumn(z.unknown()) });

/** Replies already given, by the id the request had on its platform: one that arrives twice gets the same reply. */
export interface Requests {
  /** The reply as it was saved; undefined when the request is new. */
  answered(id: string): unknown;
  /** Saves a reply, and drops those of any collective that are more than 7 days older. */
  save(id: string, reply: unknown, at: Date): void;
}

export const requestsOf = (sql: Sql, collective: number): Requests => ({
  answered: (id) =>
    sql.one(requestRow, 'SELECT reply FROM requests WHERE collective = ? AND id = ?', collective, id)?.reply,
  save: (id, reply, at) => {
    sql.run('DELETE FROM requests WHERE at < ?', new Date(at.getTime() - KEPT_MS).toISOString());
    sql.run(
      'INSERT INTO requests (collective, id, reply, at) VALUES (?, ?, ?, ?)',
      collective,
      id,
      JSON.stringify(reply),
      at.toISOString(),
    );
  },
});
