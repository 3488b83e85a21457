/** What phones that stay in use spare, from the published figures of the pack. */
import type { Factor, Ground } from '../../knowledge/schema.ts';

/** Kilograms; of greenhouse gas, kilograms of CO2 equivalent. */
export interface Range {
  low: number;
  high: number;
}

export interface Spared {
  /** What the phones weigh. */
  mass: Range | null;
  /** Raw material and greenhouse gas for each further year of their use in place of a new phone's. */
  material: Range | null;
  gas: Range | null;
}

/** One figure, and how it enters the range: for one phone, or one phone and a year. */
export interface FactorUsed extends Range {
  of: Factor['of'];
  per: 'phone' | 'year';
  says: string;
  ground: Ground;
}

/**
 * A figure for one phone or for one year of one. That of a whole life is spread over its years: it is what a year of the
 * new phone would have come to whose place the old one takes.
 */
export const factorUsed = ({ of, per, years = 1, low, high, says, ground }: Factor): FactorUsed => ({
  of,
  per: per === 'phone' ? 'phone' : 'year',
  low: low / (per === 'life' ? years : 1),
  high: high / (per === 'life' ? years : 1),
  says,
  ground,
});

/**
 * From the lowest published figure to the highest, times the number of phones; null where the pack has none. A figure per
 * phone and one per year are never put together.
 */
export function sparedBy(factors: readonly Factor[], phones: number): Spared {
  const range = (of: Factor['of'], per: FactorUsed['per']): Range | null => {
    const used = factors.map(factorUsed).filter((one) => one.of === of && one.per === per);
    if (!used.length) return null;
    return {
      low: phones * Math.min(...used.map(({ low }) => low)),
      high: phones * Math.max(...used.map(({ high }) => high)),
    };
  };
  return {
    mass: range('mass', 'phone'),
    material: range('raw-material', 'year'),
    gas: range('greenhouse-gas', 'year'),
  };
}
