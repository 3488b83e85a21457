/** What a part costs by grade: as seen, else scaled from the grades that were seen, else by the pack's share of the phone. */
import type { PartGrade } from '../../knowledge/schema.ts';
import { median } from '../market/robust.ts';

/** A price seen for one component, in major units. */
export interface PartSeen {
  grade: PartGrade;
  price: number;
  /** Who told it, by their key; absent: somebody of their own. */
  by?: string;
}

export interface PartRange {
  low: number;
  price: number;
  high: number;
}
export interface PartEstimate extends PartRange {
  /** How many prices of just this grade were seen. */
  seen: number;
  from: 'seen' | 'other-grades' | 'share';
}

/** Price of a part by grade, next to an original one. Common practice, no source. */
export const gradeFactor: Readonly<Record<PartGrade, number>> = {
  original: 1,
  refurbished: 0.7,
  used: 0.55,
  copy: 0.45,
};
/** What one person alone tells is believed up to this many times beyond the expected range. Chosen. */
const ALONE = 3;
/** Of two people who differ, the one nearer to what is expected: it has half a vote. Chosen. */
const EXPECTED_VOTE = 0.5;

/**
 * @param original what an original one is expected to cost by the pack's share alone.
 * @param seen prices seen for the component, of any grade. Those of the grade itself stand as seen. Without any, the others
 * scale the estimate by how far they lie from theirs, and its order is kept: it is never below what was seen for a
 * lesser grade, nor above what was seen for a better one (the former, where the two contradict each other).
 */
export function partEstimate(grade: PartGrade, seen: readonly PartSeen[], original: PartRange): PartEstimate {
  const expected = (of: PartGrade): PartRange => times(original, gradeFactor[of]);
  const grades = [...new Set(seen.map((one) => one.grade))].map((of) => {
    const told = seen.filter((one) => one.grade === of);
    return { grade: of, told, price: middle(told, expected(of)) };
  });
  const own = grades.find((one) => one.grade === grade);
  if (own) {
    const prices = own.told.map(({ price }) => price);
    return {
      low: Math.min(own.price, ...prices),
      price: own.price,
      high: Math.max(own.price, ...prices),
      seen: prices.length,
      from: 'seen',
    };
  }
  if (grades.length === 0) return { ...expected(grade), seen: 0, from: 'share' };
  const people = grades.reduce((sum, one) => sum + peopleIn(one.told), 0);
  const ratio = Math.exp(
    grades.reduce(
      (sum, one) => sum + (peopleIn(one.told) / people) * Math.log(one.price / expected(one.grade).price),
      0,
    ),
  );
  const scaled = times(expected(grade), ratio);
  const factor = gradeFactor[grade];
  const better = grades.filter((one) => gradeFactor[one.grade] > factor).map((one) => one.price);
  const lesser = grades.filter((one) => gradeFactor[one.grade] < factor).map((one) => one.price);
  const price = Math.max(Math.min(scaled.price, ...better), ...lesser);
  return {
    low: Math.min(price, Math.max(scaled.low, ...lesser)),
    price,
    high: Math.max(price, scaled.high),
    seen: 0,
    from: 'other-grades',
  };
}

const times = ({ low, price, high }: PartRange, factor: number): PartRange => ({
  low: low * factor,
  price: price * factor,
  high: high * factor,
});

const peopleIn = (told: readonly PartSeen[]): number => new Set(told.map(({ by }, i) => by ?? i)).size;

/** The median, one vote a person; the expected price breaks a tie, and bounds what one person alone tells. */
function middle(told: readonly PartSeen[], expected: PartRange): number {
  const count = new Map<string, number>();
  for (const { by } of told) if (by !== undefined) count.set(by, (count.get(by) ?? 0) + 1);
  const votes = told.map(({ by }) => (by === undefined ? 1 : 1 / (count.get(by) ?? 1)));
  const prices = told.map(({ price }) => price);
  if (peopleIn(told) > 1) return median([...prices, expected.price], [...votes, EXPECTED_VOTE]);
  return Math.min(ALONE * expected.high, Math.max(expected.low / ALONE, median(prices)));
}
