import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { PartGrade } from '../../knowledge/schema.ts';
import { gradeFactor, type PartSeen, partEstimate } from '../../shared/worth/part-price.ts';

const original = { low: 20, price: 40, high: 80 };
const grades: PartGrade[] = ['original', 'refurbished', 'used', 'copy'];

describe('by hand', () => {
  it('nothing seen: the share, by grade', () => {
    expect(partEstimate('copy', [], original)).toEqual({
      low: 9,
      price: 18,
      high: 36,
      seen: 0,
      from: 'share',
    });
  });
  it('seen in that grade: as seen', () => {
    const seen: PartSeen[] = [30, 36, 33].map((price) => ({ grade: 'copy', price }));
    expect(partEstimate('copy', seen, original)).toEqual({
      low: 30,
      price: 33,
      high: 36,
      seen: 3,
      from: 'seen',
    });
  });
  it('seen in another: scaled by how far that lies from its own estimate', () => {
    // A copy is expected at 18 and seen at 27: half as much again.
    const seen: PartSeen[] = [{ grade: 'copy', price: 27 }];
    expect(partEstimate('original', seen, original)).toEqual({
      low: expect.closeTo(30, 9),
      price: expect.closeTo(60, 9),
      high: expect.closeTo(120, 9),
      seen: 0,
      from: 'other-grades',
    });
    expect(partEstimate('used', seen, original).price).toBeCloseTo(33, 9);
  });
  it('an estimate keeps to the order of the grades seen', () => {
    // Copies at 10 and originals at 12: scaled, a used one would be far from between.
    const seen: PartSeen[] = [
      { grade: 'original', price: 12 },
      { grade: 'copy', price: 10 },
    ];
    const { price } = partEstimate('used', seen, original);
    expect(price).toBeGreaterThanOrEqual(10);
    expect(price).toBeLessThanOrEqual(12);
  });
  it('four absurd prices of one person: bounded alone, outvoted beside another', () => {
    const odd = [900, 950, 900, 990].map((price): PartSeen => ({ grade: 'copy', price, by: 'odd' }));
    expect(partEstimate('copy', odd, original).price).toBeCloseTo(3 * 36, 9);
    const honest: PartSeen = { grade: 'copy', price: 20, by: 'a' };
    const { price } = partEstimate('copy', [...odd, honest], original);
    expect(price).toBeLessThanOrEqual(20);
    expect(price).toBeGreaterThanOrEqual(18);
  });
});

const anySeen = fc.array(
  fc.record({
    grade: fc.constantFrom(...grades),
    price: fc.double({ min: 1, max: 400, noNaN: true }),
    by: fc.constantFrom('a', 'b', 'c', 'd'),
  }),
  { maxLength: 8 },
);

it('an estimated better grade is never below what was seen of a lesser one', () => {
  fc.assert(
    fc.property(anySeen, (seen) => {
      for (const better of grades)
        for (const lesser of grades) {
          if (gradeFactor[better] <= gradeFactor[lesser]) continue;
          const [above, below] = [partEstimate(better, seen, original), partEstimate(lesser, seen, original)];
          if (above.from === 'other-grades' && below.from === 'seen')
            expect(above.price).toBeGreaterThanOrEqual(below.price - 1e-9);
        }
    }),
  );
});

it('the range holds the price, and dearer sightings never make a part cheaper', () => {
  fc.assert(
    fc.property(
      anySeen,
      fc.constantFrom(...grades),
      fc.double({ min: 1, max: 3, noNaN: true }),
      (seen, grade, times) => {
        const { low, price, high } = partEstimate(grade, seen, original);
        expect(low).toBeLessThanOrEqual(price);
        expect(high).toBeGreaterThanOrEqual(price);
        expect(low).toBeGreaterThan(0);
        const dearer = seen.map((one) => ({ ...one, price: one.price * times }));
        expect(partEstimate(grade, dearer, original).price).toBeGreaterThanOrEqual(price - 1e-9);
      },
    ),
  );
});
