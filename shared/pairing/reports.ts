/** What members saw after a swap, beside what the pack says: counted together, and never averaged away. */
import type { Knowledge } from '../../knowledge/load.ts';
import { type Family, type Pairing, type PairingEffect, pairingEffects } from '../../knowledge/schema.ts';
import type { SwapRecord } from '../store/swaps.ts';
import { pairingOf } from './pairing.ts';

export interface Counted {
  effect: PairingEffect;
  /** The pack's statement; null when it has none of this effect here. */
  statement: Pairing | null;
  /** Swaps with the component of another phone that showed the effect, of all that were reported. */
  seen: number;
  tried: number;
  /**
   * Chance of the effect: Beta(likely x strength + seen, (1 - likely) x strength + tried - seen), its mean (the standard
   * conjugate result). Without a statement the prior is Beta(1/2, 1/2), the usual reference prior.
   */
  chance: number;
  /** Pack and reports do not agree: each would be surprising under the other. */
  conflict: boolean;
}

/** Reports fewer than this are no conflict: one may be a bad part. Chosen. */
const FEWEST = 2;
/** A share of reports this far from the pack's chance is a conflict. Chosen. */
const APART = 0.4;

/** Those of the swaps that speak of a family: of the very family, or of one that the same statement holds for. */
export const speaksOf = (
  swap: SwapRecord,
  family: Family,
  when: readonly string[],
  knowledge: Pick<Knowledge, 'families'>,
) =>
  swap.family === family.id ||
  (when.length > 0 &&
    when.every((feature) => knowledge.families.get(swap.family)?.features.includes(feature)));

/** Every effect that the pack or a member names for a component of a family, likeliest first. */
export function countReports(
  knowledge: Pick<Knowledge, 'pairing' | 'families'>,
  family: Family,
  component: string,
  swaps: readonly SwapRecord[],
): Counted[] {
  // A component that went back on its own board says nothing of pairing.
  const foreign = swaps.filter((swap) => swap.aside === null && swap.board === 'another');
  const { statements } = pairingOf(knowledge, family, component);
  return pairingEffects
    .flatMap((effect): Counted[] => {
      const statement = statements.find((one) => one.effect === effect) ?? null;
      const own = foreign.filter((swap) => speaksOf(swap, family, statement?.when ?? [], knowledge));
      const seen = own.filter((swap) => swap.effect === effect).length;
      if (!statement && !seen) return [];
      const tried = own.length;
      const [a, b] = statement
        ? [statement.likely * statement.strength, (1 - statement.likely) * statement.strength]
        : [0.5, 0.5];
      return [
        {
          effect,
          statement,
          seen,
          tried,
          chance: (a + seen) / (a + b + tried),
          conflict:
            tried >= FEWEST &&
            Math.abs(seen / tried - (statement?.likely ?? 0)) >= APART &&
            statements.length > 0,
        },
      ];
    })
    .sort((a, b) => b.chance - a.chance);
}
