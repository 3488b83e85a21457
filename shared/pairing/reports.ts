/** What members saw after a swap, beside what the pack says: counted together, and never averaged away. */
import type { Knowledge } from '../../knowledge/load.ts';
import { type Family, type Pairing, type PairingEffect, pairingEffects } from '../../knowledge/schema.ts';
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

/** Reports of one family speak of another when the same statement holds for both. */
export const speaksOf = (
  reported: string,
  family: Family,
  when: readonly string[],
  { families }: Pick<Knowledge, 'families'>,
): boolean =>
  reported === family.id ||
  (when.length > 0 && when.every((feature) => families.get(reported)?.features.includes(feature)));

/** Every effect that the pack or a member names for a component of a family, likeliest first. */
export function countReports(
  knowledge: Pick<Knowledge, 'pairing' | 'families'>,
  family: Family,
  component: string,
  reports: readonly SwapCount[],
): Counted[] {
  const { statements } = pairingOf(knowledge, family, component);
  return pairingEffects
    .flatMap((effect): Counted[] => {
      const statement = statements.find((one) => one.effect === effect) ?? null;
      const own = reports.filter((one) => speaksOf(one.family, family, statement?.when ?? [], knowledge));
      const tried = own.reduce((sum, { n }) => sum + n, 0);
      const seen = own.reduce((sum, one) => (one.effect === effect ? sum + one.n : sum), 0);
      if (!statement && !seen) return [];
      // That all stayed well is the rest of the other effects' counts, and said by them.
      if (!statement && effect === 'free' && statements.length > 0) return [];
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

export interface SwapCount {
  family: string;
  effect: PairingEffect;
  n: number;
}
