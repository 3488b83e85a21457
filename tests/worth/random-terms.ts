/** A price to be worked out, at random: one repair that works or not, sold with fee and tax. */
import fc from 'fast-check';
import type { Terms } from '../../shared/worth/net.ts';

export const randomTerms = fc
  .record({
    chance: fc.double({ min: 0.05, max: 1, noNaN: true }),
    cost: fc.double({ min: 0, max: 200, noNaN: true }),
    salvage: fc.double({ min: -60, max: 80, noNaN: true }),
    median: fc.double({ min: 20, max: 900, noNaN: true }),
    scale: fc.double({ min: 0.05, max: 0.5, noNaN: true }),
    fee: fc.double({ min: 0, max: 0.3, noNaN: true }),
    tax: fc.constantFrom(0, 1 / 6, 0.19 / 1.19),
  })
  .map(
    ({ chance, cost, salvage, median, scale, fee, tax }): Terms => ({
      endings: [
        { chance, cost, sale: { location: Math.log(median), scale, degrees: 8 } },
        { chance: 1 - chance, cost: cost - salvage, sale: null },
      ],
      fee,
      taxFraction: tax,
      cap: median * 3,
    }),
  );
