import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import { unseal } from './sealed.ts';
import { jsonColumn, type Sql } from './sql.ts';

const KEPT_MS = 7 * 24 * 3600 * 1000;
const requestRow = z.object({ reply: z.string() });
const replyJson = jsonColumn(z.unknown());

/**
 * Replies already given, by the id the request had on its platform: one that arrives twice gets the same reply. They are
 * sealed, since a reply may hold what its asker alone may see.
 */
export interface Requests {
  /** The reply as it was saved; undefined when the request is new, or its key is gone. */
  answered(id: string): unknown;
  /** Saves a reply, and drops those of any collective that are more than 7 days older. */
  save(id: string, reply: unknown, at: Date): void;
}

export const requestPlace = (collective: number, id: string): string => `request:${collective}:${id}`;

export const requestsOf = (sql: Sql, sealer: Sealer, collective: number): Requests => ({
  answered: (id) => {
    const row = sql.one(
      requestRow,
      'SELECT reply FROM requests WHERE collective = ? AND id = ?',
      collective,
      id,
    );
    const text = row && unseal(sealer, requestPlace(collective, id), row.reply);
    return text === null ? undefined : replyJson.parse(text);
  },
  save: (id, reply, at) => {
    sql.eraseAged(
      at,
      'DELETE FROM requests WHERE at < ?',
      [new Date(at.getTime() - KEPT_MS).toISOString()],
      false,
    );
    sql.run(
      // One whose key is gone is replaced: it was answered anew.
      `INSERT INTO requests (collective, id, reply, at) VALUES (?, ?, ?, ?)
       ON CONFLICT DO UPDATE SET reply = excluded.reply, at = excluded.at`,
      collective,
      id,
      sealer.seal(requestPlace(collective, id), JSON.stringify(reply)),
      at.toISOString(),
    );
  },
});
