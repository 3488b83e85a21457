/** A part of the collective's own: on order, on the shelf, in a phone, or gone. Every move is kept. Pure. */
import { z } from 'zod';
import type { PartGrade } from '../../knowledge/schema.ts';
import type { Obstacle } from '../jobs/rules.ts';
import { say } from '../language/say.ts';
import type { Money } from '../money/money.ts';
import type { Actor } from '../people/actor.ts';

/** `ordered`: paid for or asked for, and not here yet. `fitted`: in the phone of a job. `gone`: sold, broken, thrown away. */
export const shelfStates = ['ordered', 'here', 'fitted', 'gone'] as const;
export type ShelfState = (typeof shelfStates)[number];

export const shelfMoveSchema = z.discriminatedUnion('kind', [
  z.object({ kind: z.literal('ordered') }),
  /** Put on the shelf: bought, found, or out of a donor phone. */
  z.object({ kind: z.literal('added') }),
  z.object({ kind: z.literal('arrived'), place: z.string() }),
  z.object({ kind: z.literal('taken'), job: z.number().int() }),
  /** Out of the phone of a job again. */
  z.object({ kind: z.literal('back'), job: z.number().int(), place: z.string() }),
  z.object({ kind: z.literal('gone'), why: z.string() }),
]);
export type ShelfMove = z.infer<typeof shelfMoveSchema>;

export interface LoggedMove {
  /** From 1 within its part. */
  seq: number;
  move: ShelfMove;
  by: Actor;
  at: Date;
}

export interface ShelfPart {
  /** Counted from 1 in each collective. */
  number: number;
  component: string;
  /** Of which phones: a family, and where it is known a model. */
  family: string;
  model: number | null;
  grade: PartGrade;
  /** Somebody has seen it work. */
  tested: boolean;
  /** What was paid for it; null for one out of a donor phone, whose price is the donor's. */
  price: Money | null;
  /** Who sold it; empty where that is not said. */
  supplier: string;
  /** The job whose phone it came out of. */
  donor: number | null;
  /** Tied to the board that it came from, as the pack says. */
  paired: boolean;
  /** Where it lies; empty where that is not said. */
  place: string;
  /** ISO date on which it is due, for one on order. */
  due: string | null;
  state: ShelfState;
  /** The job in whose phone it is. */
  job: number | null;
  by: Actor;
  at: Date;
}

/** From which state a move starts, and to which it leads. The first move of a part makes it. */
export const moveStates: Readonly<
  Record<ShelfMove['kind'], { from: readonly ShelfState[]; to: ShelfState }>
> = {
  ordered: { from: [], to: 'ordered' },
  added: { from: [], to: 'here' },
  arrived: { from: ['ordered'], to: 'here' },
  taken: { from: ['here'], to: 'fitted' },
  back: { from: ['fitted'], to: 'here' },
  gone: { from: ['ordered', 'here'], to: 'gone' },
};

const isWords = {
  ordered: say`still on order`,
  here: say`on the shelf`,
  fitted: say`in a phone`,
  gone: say`gone`,
} as const;
const wantedWords = {
  ordered: say`a part on order`,
  here: say`a part on the shelf`,
  fitted: say`a part that is in a phone`,
  gone: say`a part that is not gone`,
} as const;

/** Why a move cannot be made; null when it can. */
export function whyNotMove(
  { number, state, job }: Pick<ShelfPart, 'number' | 'state' | 'job'>,
  kind: ShelfMove['kind'],
): Obstacle | null {
  const { from } = moveStates[kind];
  if (from.includes(state)) return null;
  return {
    problem:
      state === 'fitted' && job !== null
        ? say`Part ${number} is in the phone of job ${job}`
        : say`Part ${number} is ${isWords[state]}`,
    expected: wantedWords[from.includes('here') ? 'here' : (from[0] ?? 'here')],
  };
}

/** Due before today, and not here. Both are ISO dates. */
export const isLate = ({ state, due }: Pick<ShelfPart, 'state' | 'due'>, today: string): boolean =>
  state === 'ordered' && due !== null && due < today;

/** Whether it belongs in such a phone: of the same model where both are known, else of the same family. */
export const belongsIn = (
  part: Pick<ShelfPart, 'family' | 'model'>,
  phone: { family: string; model: number | null },
): boolean =>
  part.family === phone.family && (part.model === null || phone.model === null || part.model === phone.model);
