/** What a surface must remember over a restart: the rows of one table, by key. */
import { z } from 'zod';
import type { Sql } from './sql.ts';

const stateRow = z.object({ value: z.string() });

/** What a surface must remember over a restart, as text under its own keys. */
export interface SurfaceState {
  get(surface: string, key: string): string | null;
  set(surface: string, key: string, value: string, at: Date): void;
  delete(surface: string, key: string): void;
  /** Drops what was set before an instant, for keys that begin with `prefix`; the number dropped. None while `now` may be wrong. */
  dropBefore(surface: string, prefix: string, at: Date, now: Date): number;
}

export const surfaceStateOf = (sql: Sql): SurfaceState => ({
  get: (surface, key) =>
    sql.one(stateRow, 'SELECT value FROM surface_state WHERE surface = ? AND key = ?', surface, key)?.value ??
    null,
  set: (surface, key, value, at) => {
    sql.run(
      `INSERT INTO surface_state (surface, key, value, at) VALUES (?, ?, ?, ?)
       ON CONFLICT DO UPDATE SET value = excluded.value, at = excluded.at`,
      surface,
      key,
      value,
      at.toISOString(),
    );
  },
  delete: (surface, key) => {
    sql.run('DELETE FROM surface_state WHERE surface = ? AND key = ?', surface, key);
  },
  dropBefore: (surface, prefix, at, now) =>
    sql.eraseAged(
      now,
      'DELETE FROM surface_state WHERE surface = ? AND substr(key, 1, length(?)) = ? AND at < ?',
      [surface, prefix, prefix, at.toISOString()],
      false,
    ),
});
