import { z } from 'zod';
import { partGrades } from '../../knowledge/schema.ts';
import {
  type LoggedMove,
  moveStates,
  type ShelfMove,
  type ShelfPart,
  type ShelfState,
  shelfMoveSchema,
  shelfStates,
} from '../shelf/part.ts';
import type { Hand } from './job-entries.ts';
import { jsonColumn, moneyOf, type Sql, timeColumn } from './sql.ts';

const columns = `number, component, family, model, grade, tested, price, currency, supplier, donor, paired, place, due,
  state, job, by, by_key, at`;
const flag = z.number().transform((value) => value === 1);
const partRow = z
  .object({
    number: z.number().int(),
    component: z.string(),
    family: z.string(),
    model: z.number().int().nullable(),
    grade: z.enum(partGrades),
    tested: flag,
    price: z.number().int().nullable(),
    currency: z.string(),
    supplier: z.string(),
    donor: z.number().int().nullable(),
    paired: flag,
    place: z.string(),
    due: z.string().nullable(),
    state: z.enum(shelfStates),
    job: z.number().int().nullable(),
    by: z.string(),
    by_key: z.string(),
    at: timeColumn,
  })
  .transform(
    ({ price, currency, by: name, by_key: key, ...rest }): ShelfPart => ({
      ...rest,
      price: price === null ? null : moneyOf(price, currency),
      by: { key, name },
    }),
  );
const moveRow = z
  .object({
    seq: z.number().int(),
    move: jsonColumn(shelfMoveSchema),
    by: z.string(),
    by_key: z.string(),
    at: timeColumn,
  })
  .transform(({ by: name, by_key: key, ...rest }): LoggedMove => ({ ...rest, by: { key, name } }));

type NewPart = Omit<ShelfPart, 'number' | 'state' | 'job' | 'by' | 'at'> & { currency: string };

interface ShelfFilter {
  component?: string;
  family?: string;
  model?: number;
  job?: number;
  donor?: number;
}

/** The parts of a collective, and every move of each. */
export interface Shelf {
  /** On order, or put on the shelf at once. */
  add(part: NewPart, first: 'ordered' | 'added', hand: Hand): ShelfPart;
  get(number: number): ShelfPart | null;
  /** Those of each state, oldest first (what lies longest is used first); `limit` of a state at most. */
  list(filter?: ShelfFilter & { states?: readonly ShelfState[]; limit?: number }): ShelfPart[];
  moves(number: number): LoggedMove[];
  /** Throws where the part is not in a state that the move starts from: somebody else was first. */
  move(number: number, move: ShelfMove, hand: Hand): ShelfPart;
  /** Leaves nothing in the file of these words of a part: of its own fields, and of moves by their number. */
  wipe(number: number, words: { fields: readonly ('supplier' | 'place')[]; moves: readonly number[] }): void;
  /** How many of a component are wanted on the shelf, for a family or one of its models. None takes it back. */
  want(wanted: Wanted): void;
  wanted(): Wanted[];
}

export interface Wanted {
  component: string;
  family: string;
  model: number | null;
  least: number;
}
const wantedRow = z.object({
  component: z.string(),
  family: z.string(),
  model: z.number().int().nullable(),
  least: z.number().int(),
});

function logMove(sql: Sql, collective: number, number: number, move: ShelfMove, { by, at }: Hand): void {
  sql.run(
    `INSERT INTO shelf_moves (collective, part, seq, move, by, by_key, at)
       SELECT ?, ?, 1 + coalesce(max(seq), 0), ?, ?, ?, ? FROM shelf_moves WHERE collective = ? AND part = ?`,
    collective,
    number,
    JSON.stringify(shelfMoveSchema.parse(move)),
    by.name,
    by.key,
    at.toISOString(),
    collective,
    number,
  );
}

function insertPart(
  sql: Sql,
  collective: number,
  number: number,
  part: NewPart,
  state: ShelfState,
  hand: Hand,
): void {
  sql.run(
    `INSERT INTO shelf (collective, ${columns})
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, NULL, ?, ?, ?)`,
    collective,
    number,
    part.component,
    part.family,
    part.model,
    part.grade,
    Number(part.tested),
    part.price?.minor ?? null,
    part.currency,
    part.supplier,
    part.donor,
    Number(part.paired),
    part.place,
    part.due,
    state,
    hand.by.name,
    hand.by.key,
    hand.at.toISOString(),
  );
}

function partsInState(
  sql: Sql,
  collective: number,
  state: ShelfState,
  { component, family, model, job, donor }: ShelfFilter,
  limit: number,
): ShelfPart[] {
  const wanted: readonly (readonly [condition: string, value: string | number | undefined])[] = [
    ['component = ?', component],
    ['family = ?', family],
    ['(model IS NULL OR model = ?)', model],
    ['job = ?', job],
    ['donor = ?', donor],
  ];
  const given = wanted.flatMap(([condition, value]) => (value === undefined ? [] : [{ condition, value }]));
  return sql.all(
    partRow,
    `SELECT ${columns} FROM shelf WHERE ${['collective = ?', 'state = ?', ...given.map(({ condition }) => condition)].join(' AND ')}
       ORDER BY number LIMIT ?`,
    collective,
    state,
    ...given.map(({ value }) => value),
    limit,
  );
}

function wantedOf(sql: Sql, collective: number): Pick<Shelf, 'want' | 'wanted'> {
  return {
    want: ({ component, family, model, least }) => {
      sql.run(
        'DELETE FROM shelf_wanted WHERE collective = ? AND component = ? AND family = ? AND model IS ?',
        collective,
        component,
        family,
        model,
      );
      if (least > 0)
        sql.run(
          'INSERT INTO shelf_wanted (collective, component, family, model, least) VALUES (?, ?, ?, ?, ?)',
          collective,
          component,
          family,
          model,
          least,
        );
    },
    wanted: () =>
      sql.all(
        wantedRow,
        'SELECT component, family, model, least FROM shelf_wanted WHERE collective = ? ORDER BY family, component',
        collective,
      ),
  };
}

export function shelfOf(sql: Sql, collective: number): Shelf {
  const get = (number: number): ShelfPart | null =>
    sql.one(partRow, `SELECT ${columns} FROM shelf WHERE collective = ? AND number = ?`, collective, number);
  const must = (number: number): ShelfPart => {
    const part = get(number);
    if (!part) throw new Error(`there is no part ${number}`);
    return part;
  };
  return {
    add: (part, first, hand) => {
      const number = sql.nextNumber(collective, 'shelf');
      insertPart(sql, collective, number, part, moveStates[first].to, hand);
      logMove(sql, collective, number, { kind: first }, hand);
      return must(number);
    },
    get,
    list: ({ states = shelfStates, limit = 200, ...filter } = {}) =>
      states.flatMap((state) => partsInState(sql, collective, state, filter, limit)),
    moves: (number) =>
      sql.all(
        moveRow,
        'SELECT seq, move, by, by_key, at FROM shelf_moves WHERE collective = ? AND part = ? ORDER BY seq',
        collective,
        number,
      ),
    move: (number, move, hand) => {
      const { from, to } = moveStates[move.kind];
      const changed = sql.run(
        `UPDATE shelf SET state = ?, job = ?, place = coalesce(?, place)
         WHERE collective = ? AND number = ? AND state IN (${from.map(() => '?').join(', ')})`,
        to,
        move.kind === 'taken' ? move.job : null,
        'place' in move && move.place ? move.place : null,
        collective,
        number,
        ...from,
      );
      if (!changed) throw new Error(`part ${number} cannot be ${move.kind}: it is not ${from.join(' or ')}`);
      logMove(sql, collective, number, move, hand);
      return must(number);
    },
    wipe: (number, { fields, moves }) => {
      for (const field of fields)
        sql.secureErase(
          `UPDATE shelf SET ${field} = '' WHERE collective = ? AND number = ?`,
          collective,
          number,
        );
      for (const seq of moves)
        sql.secureErase(
          `UPDATE shelf_moves SET move = json_replace(move, '$.place', '', '$.why', '')
           WHERE collective = ? AND part = ? AND seq = ?`,
          collective,
          number,
          seq,
        );
    },
    ...wantedOf(sql, collective),
  };
}
