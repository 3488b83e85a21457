/** All that is sealed in the file, whichever record it belongs to. A new sealed column is added to `columns`. */
import { z } from 'zod';
import type { Sealer } from '../sealing/sealer.ts';
import { choicePlace } from './choices.ts';
import { imeiPlace } from './jobs.ts';
import { notePlace } from './notes.ts';
import { photoPlace } from './photos.ts';
import { requestPlace } from './requests.ts';
import { unseal } from './sealed.ts';
import { recordPlace } from './sealed-records.ts';
import type { Sql } from './sql.ts';

export type SealedKind = 'note' | 'photo' | 'imei' | 'reply' | 'choice' | 'record';

interface Column {
  kind: SealedKind;
  table: string;
  column: string;
  /** What binds the text to its place, from the columns that `placeColumns` names. */
  placeColumns: string;
  place: (row: Row) => string;
}
const sealedRow = z.object({
  id: z.number().int(),
  sealed: z.string(),
  collective: z.number().int(),
  a: z.union([z.string(), z.number()]),
  b: z.union([z.string(), z.number()]).nullable(),
});
type Row = z.infer<typeof sealedRow>;
const shelfColumns = z.tuple([z.string(), z.string()]);

const columns: readonly Column[] = [
  {
    kind: 'note',
    table: 'notes',
    column: 'sealed',
    placeColumns: 'collective, person AS a, number AS b',
    place: ({ collective, a, b }) => notePlace(collective, String(a), Number(b)),
  },
  {
    kind: 'photo',
    table: 'photos',
    column: 'sealed',
    placeColumns: 'collective, job AS a, number AS b',
    place: ({ collective, a, b }) => photoPlace(collective, Number(a), Number(b)),
  },
  {
    kind: 'imei',
    table: 'jobs',
    column: 'imei',
    placeColumns: 'collective, number AS a, NULL AS b',
    place: ({ collective, a }) => imeiPlace(collective, Number(a)),
  },
  {
    kind: 'reply',
    table: 'requests',
    column: 'reply',
    placeColumns: 'collective, id AS a, NULL AS b',
    place: ({ collective, a }) => requestPlace(collective, String(a)),
  },
  {
    kind: 'choice',
    table: 'choices',
    column: 'invoke',
    placeColumns: 'collective, token AS a, NULL AS b',
    place: ({ a }) => choicePlace(String(a)),
  },
  {
    kind: 'record',
    table: 'sealed_records',
    column: 'sealed',
    placeColumns: '0 AS collective, json_array(space, shelf) AS a, id AS b',
    place: ({ a, b }) => {
      const [space, shelf] = shelfColumns.parse(JSON.parse(String(a)));
      return recordPlace(space, shelf, String(b));
    },
  },
];

/** True for the place of a text that need not outlive a run of the bot: a kept reply or a choice. */
export const isPassing = (place: string): boolean => /^(request|choice):/.test(place);

/** Rows are read this many at a time, so that a large store needs little memory. */
const PAGE = 500;

function* rowsOf(sql: Sql, { table, column, placeColumns }: Column): Generator<Row> {
  for (let last = 0; ; ) {
    const rows = sql.all(
      sealedRow,
      `SELECT rowid AS id, ${column} AS sealed, ${placeColumns} FROM ${table}
       WHERE ${column} IS NOT NULL AND rowid > ? ORDER BY rowid LIMIT ${PAGE}`,
      last,
    );
    yield* rows;
    const end = rows.at(-1);
    if (!end) return;
    last = end.id;
  }
}

export interface SealedCount {
  kind: SealedKind;
  all: number;
  /** Those that do not open: their key is not here, or they were altered. */
  closed: number;
}

/** Tries to open everything. */
export const sealedCounts = (sql: Sql, sealer: Sealer): SealedCount[] =>
  columns.map((column) => {
    let all = 0;
    let closed = 0;
    for (const row of rowsOf(sql, column)) {
      all += 1;
      if (unseal(sealer, column.place(row), row.sealed) === null) closed += 1;
    }
    return { kind: column.kind, all, closed };
  });

const groupRow = z.object({ sealed: z.string(), n: z.number().int() });

/** How much of what must last was sealed under a key that is not here; quick, since it opens none. */
export const sealedElsewhere = (sql: Sql, sealer: Sealer): number =>
  columns
    .filter(({ kind }) => kind === 'note' || kind === 'photo' || kind === 'imei' || kind === 'record')
    .flatMap(({ table, column }) =>
      sql.all(
        groupRow,
        `SELECT min(substr(${column}, 1, 12)) AS sealed, count(*) AS n FROM ${table}
         WHERE ${column} IS NOT NULL GROUP BY substr(${column}, 1, 12)`,
      ),
    )
    .reduce((total, { sealed, n }) => total + (sealer.hasKeyOf(sealed) ? 0 : n), 0);

export interface Resealed {
  /** Texts that were sealed anew. */
  done: number;
  /** Texts under an older key at hand that do not open, since they were altered; they stay as they are. */
  left: number;
}

/** Seals anew what was sealed under another key than the sealer's first. For use within a transaction. */
export function reseal(sql: Sql, sealer: Sealer): Resealed {
  let done = 0;
  let left = 0;
  for (const column of columns) {
    for (const row of rowsOf(sql, column)) {
      if (!sealer.isStale(row.sealed)) continue;
      const place = column.place(row);
      const text = unseal(sealer, place, row.sealed);
      if (text === null) {
        if (sealer.hasKeyOf(row.sealed)) left += 1;
        continue;
      }
      sql.secureErase(
        `UPDATE ${column.table} SET ${column.column} = ? WHERE rowid = ?`,
        sealer.seal(place, text),
        row.id,
      );
      done += 1;
    }
  }
  return { done, left };
}
