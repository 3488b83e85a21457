import { z } from 'zod';
import { pairingEffects, partGrades } from '../../knowledge/schema.ts';
import type { SwapCount } from '../pairing/reports.ts';
import type { Actor } from '../people/actor.ts';
import { type Sql, timeColumn } from './sql.ts';

/** What a member saw at the bench after a component was swapped. */
export interface SwapRecord {
  /** Counted from 1 in each collective. */
  number: number;
  family: string;
  model: number | null;
  component: string;
  grade: (typeof partGrades)[number];
  /** Whether the component stayed with the board it came with. */
  board: 'same' | 'another';
  effect: (typeof pairingEffects)[number];
  /** What was noticed, and what put it right; empty when not said. */
  saw: string;
  mended: string;
  job: number | null;
  by: Actor;
  at: Date;
  /** Set aside by a steward: shown, but not counted. */
  aside: { by: Actor; at: Date; why: string } | null;
}

const columns = `number, family, model, component, grade, board, effect, saw, mended, job, by, by_key, at,
  aside_by, aside_key, aside_at, aside_why`;
const swapRow = z
  .object({
    number: z.number().int(),
    family: z.string(),
    model: z.number().int().nullable(),
    component: z.string(),
    grade: z.enum(partGrades),
    board: z.enum(['same', 'another']),
    effect: z.enum(pairingEffects),
    saw: z.string(),
    mended: z.string(),
    job: z.number().int().nullable(),
    by: z.string(),
    by_key: z.string(),
    at: timeColumn,
    aside_by: z.string().nullable(),
    aside_key: z.string().nullable(),
    aside_at: timeColumn.nullable(),
    aside_why: z.string().nullable(),
  })
  .transform(
    ({ by: name, by_key: key, aside_by, aside_key, aside_at, aside_why, ...rest }): SwapRecord => ({
      ...rest,
      by: { key, name },
      aside:
        aside_by !== null && aside_at && aside_why !== null
          ? { by: { key: aside_key, name: aside_by }, at: aside_at, why: aside_why }
          : null,
    }),
  );

const countRow = z.object({ family: z.string(), effect: z.enum(pairingEffects), n: z.number().int() });

type NewSwap = Omit<SwapRecord, 'number' | 'aside'>;

export interface Swaps {
  add(swap: NewSwap): SwapRecord;
  get(number: number): SwapRecord | null;
  /** Newest first. */
  list(filter?: { component?: string; family?: string; limit?: number }): SwapRecord[];
  /** Reports that count, by family and effect: of the component of another phone, and not set aside. */
  countsOf(component: string): SwapCount[];
  /** Those made from `from` (included) to `to` (not included), in their order; none that is set aside. */
  madeBetween(from: Date, to: Date): SwapRecord[];
  setAside(number: number, aside: { by: Actor; at: Date; why: string }): void;
  /** Leaves nothing in the file of these words of a report. */
  wipe(number: number, fields: readonly SwapWords[]): void;
}
/** The fields of a report that hold somebody's own words. */
type SwapWords = 'saw' | 'mended' | 'aside_why';

function insertSwap(sql: Sql, collective: number, number: number, swap: NewSwap): void {
  sql.run(
    `INSERT INTO swaps (collective, number, family, model, component, grade, board, effect, saw, mended, job,
           by, by_key, at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    collective,
    number,
    swap.family,
    swap.model,
    swap.component,
    swap.grade,
    swap.board,
    swap.effect,
    swap.saw,
    swap.mended,
    swap.job,
    swap.by.name,
    swap.by.key,
    swap.at.toISOString(),
  );
}

export function swapsOf(sql: Sql, collective: number): Swaps {
  const select = (rest: string, ...values: (string | number)[]): SwapRecord[] =>
    sql.all(swapRow, `SELECT ${columns} FROM swaps WHERE collective = ? ${rest}`, collective, ...values);
  const get = (number: number) => select('AND number = ?', number)[0] ?? null;
  const count = ({ board, component, family, effect }: NewSwap, by: 1 | -1): void => {
    // A component that went back on its own board says nothing of pairing.
    if (board === 'same') return;
    sql.run(
      `INSERT INTO swap_counts (collective, component, family, effect, n) VALUES (?, ?, ?, ?, ?)
       ON CONFLICT DO UPDATE SET n = n + excluded.n`,
      collective,
      component,
      family,
      effect,
      by,
    );
  };
  return {
    add: (swap) => {
      const number = sql.nextNumber(collective, 'swap');
      insertSwap(sql, collective, number, swap);
      count(swap, 1);
      return { ...swap, number, aside: null };
    },
    get,
    list: ({ component, family, limit = 25 } = {}) =>
      select(
        `${component === undefined ? '' : 'AND component = ?'} ${family === undefined ? '' : 'AND family = ?'}
         ORDER BY number DESC LIMIT ?`,
        ...(component === undefined ? [] : [component]),
        ...(family === undefined ? [] : [family]),
        limit,
      ),
    countsOf: (component) =>
      sql.all(
        countRow,
        'SELECT family, effect, n FROM swap_counts WHERE collective = ? AND component = ? AND n > 0',
        collective,
        component,
      ),
    madeBetween: (from, to) =>
      select(
        'AND at >= ? AND at < ? AND aside_at IS NULL ORDER BY number',
        from.toISOString(),
        to.toISOString(),
      ),
    setAside: (number, { by, at, why }) => {
      const before = get(number);
      if (before && !before.aside) count(before, -1);
      sql.run(
        'UPDATE swaps SET aside_by = ?, aside_key = ?, aside_at = ?, aside_why = ? WHERE collective = ? AND number = ?',
        by.name,
        by.key,
        at.toISOString(),
        why,
        collective,
        number,
      );
    },
    wipe: (number, fields) => {
      for (const field of fields)
        sql.secureErase(
          `UPDATE swaps SET ${field} = '' WHERE collective = ? AND number = ? AND ${field} IS NOT NULL`,
          collective,
          number,
        );
    },
  };
}
