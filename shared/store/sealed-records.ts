/** Records that a surface must keep and nobody may read from the file: opaque bytes, sealed, by shelf and id. */
import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import type { Sql } from './sql.ts';

/** What changed on a shelf since it was last written. */
export interface ShelfChange {
  /** All that was on the shelf goes first. */
  cleared: boolean;
  /** By id: the record's new bytes, or null where it is gone. */
  records: ReadonlyMap<string, Buffer | null>;
}

export interface SealedRecords {
  /** Everything of a space, opened. Throws CannotOpen where a record was sealed under a key that is not here. */
  all(space: string): { shelf: string; id: string; bytes: Buffer }[];
  /** Writes all of it in one transaction, or nothing. */
  write(space: string, changes: ReadonlyMap<string, ShelfChange>): void;
}

/** What binds a record to its place. */
export const recordPlace = (space: string, shelf: string, id: string): string =>
  `record:${space}\0${shelf}\0${id}`;
const recordRow = z.object({ shelf: z.string(), id: z.string(), sealed: z.string() });

export function sealedRecordsOf(
  sql: Sql,
  sealer: Sealer,
  transaction: (work: () => void) => void,
): SealedRecords {
  const writeShelf = (space: string, shelf: string, { cleared, records }: ShelfChange): void => {
    if (cleared) sql.run('DELETE FROM sealed_records WHERE space = ? AND shelf = ?', space, shelf);
    for (const [id, bytes] of records) {
      if (bytes === null) {
        sql.run('DELETE FROM sealed_records WHERE space = ? AND shelf = ? AND id = ?', space, shelf, id);
        continue;
      }
      sql.run(
        `INSERT INTO sealed_records (space, shelf, id, sealed) VALUES (?, ?, ?, ?)
         ON CONFLICT DO UPDATE SET sealed = excluded.sealed`,
        space,
        shelf,
        id,
        sealer.seal(recordPlace(space, shelf, id), bytes.toString('base64')),
      );
    }
  };
  return {
    all: (space) =>
      sql
        .all(recordRow, 'SELECT shelf, id, sealed FROM sealed_records WHERE space = ? ORDER BY rowid', space)
        .map(({ shelf, id, sealed }) => ({
          shelf,
          id,
          bytes: Buffer.from(sealer.open(recordPlace(space, shelf, id), sealed), 'base64'),
        })),
    write: (space, changes) => {
      if (!changes.size) return;
      transaction(() => {
        for (const [shelf, change] of changes) writeShelf(space, shelf, change);
      });
    },
  };
}
