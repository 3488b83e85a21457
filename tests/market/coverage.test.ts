/** The stated 80 % range holds 80 % of sales, few or many prices, well-behaved or not. tests/bench prints the figures. */
import { describe, expect, it } from 'vitest';
import { coverage } from './coverage.ts';

const SEED = 20_260_302;
/** Fewer markets where there are more sightings, for time: standard errors of .007, .010 and .014. */
const sizes = [
  [3, 3000],
  [30, 1500],
  [120, 800],
] as const;

describe.each(['own', 'steady', 'heavy', 'outliers', 'drop'] as const)('%s', (world) => {
  it.each(sizes)('with %i sightings', { timeout: 600_000 }, (n, markets) => {
    const { inside, below } = coverage(world, n, markets, SEED);
    expect(inside).toBeGreaterThan(0.77);
    expect(inside).toBeLessThan(0.85);
    expect(below).toBeLessThanOrEqual(0.13);
  });
});
