/** Swap reports as data. */
import { z } from 'zod';
import { pairingEffects, partGrades } from '../../knowledge/schema.ts';
import type { SwapRecord } from '../../shared/store/index.ts';
import type { Context } from '../framework/context.ts';

export const swapData = z.object({
  swaps: z.array(
    z.object({
      number: z.number(),
      family: z.string(),
      model: z.string().nullable(),
      component: z.string(),
      grade: z.enum(partGrades),
      board: z.enum(['same', 'another']),
      effect: z.enum(pairingEffects),
      saw: z.string(),
      mended: z.string(),
      by: z.string(),
      at: z.string(),
      aside: z.string().nullable(),
    }),
  ),
});

export const swapDataOf = (context: Context, swaps: readonly SwapRecord[]): z.infer<typeof swapData> => ({
  swaps: swaps.map((swap) => ({
    number: swap.number,
    family: swap.family,
    model: swap.model === null ? null : (context.store.models.get(swap.model)?.name ?? null),
    component: swap.component,
    grade: swap.grade,
    board: swap.board,
    effect: swap.effect,
    saw: swap.saw,
    mended: swap.mended,
    by: swap.by.name,
    at: swap.at.toISOString(),
    aside: swap.aside?.why ?? null,
  })),
});
