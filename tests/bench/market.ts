import { coverage } from '../market/coverage.ts';

const SEED = 20_260_307;

/**
 * How often the stated 80 % range holds the next sale, on invented markets: 3, 30 and 120 prices from the model's own
 * prior, and 30 of which the last came after a fall of 10 to 30 % within three months, with the share that fell below the
 * range there. The other worlds under their names.
 */
export function marketFigures(): Record<string, number> {
  const figures: Record<string, number> = {};
  const inside = (name: string, value: number) => {
    figures[`market.cover80.${name}`] = Math.round(value * 1000) / 1000;
  };
  for (const [n, markets] of [
    [3, 4000],
    [30, 3000],
    [120, 1500],
  ] as const) {
    inside(`n${n}`, coverage('own', n, markets, SEED).inside);
    for (const world of ['steady', 'heavy', 'outliers', 'drop'] as const)
      inside(`${world}.n${n}`, coverage(world, n, markets, SEED).inside);
  }
  const drop = coverage('drop', 30, 3000, SEED);
  inside('drop', drop.inside);
  figures['market.below10.drop'] = Math.round(drop.below * 1000) / 1000;
  return figures;
}
