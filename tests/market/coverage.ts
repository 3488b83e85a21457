/** Invented markets with known truth, to measure how often a stated 80 % range holds the next sale. */

import { defaultMarketSettings as prior } from '../../shared/market/market-settings.ts';
import { type PhoneSighting, predictMarket } from '../../shared/market/predict.ts';
import { seeded } from '../diagnosis/random-problem.ts';

/**
 * `own`: all from the model's own prior. The others have no drift of their own, and a spread of just the believed size:
 * `steady`: normal errors; `heavy`: Student-t with 3 degrees; `outliers`: 8 % of prices off by a factor of 2 to 5 either
 * way. In the last four a price falls by 10 to 30 % besides its loss with age, errors normal: `fell`: at once, 90 days
 * ago; `falling`: evenly over the last 90 days; `sudden`: at once on any one of the last 90 days; `drop`: one of these
 * three ways.
 */
const worlds = ['own', 'steady', 'heavy', 'outliers', 'fell', 'falling', 'sudden', 'drop'] as const;
export type World = (typeof worlds)[number];

export interface Coverage {
  /** Shares of the next sales that lie in the stated 80 % range, and below it. */
  inside: number;
  below: number;
}

const DAY = 24 * 3600 * 1000;
const NOW = Date.UTC(2026, 2, 2);
const NEW_PRICE = 600;
const DROP_DAYS = 90;
/** Sightings are spread evenly over this time. */
const WINDOW_DAYS = 365;
const YEAR_DAYS = 365.25;

/** `markets` markets of `n` sightings each, drawn from a seed. */
export function coverage(world: World, n: number, markets: number, seed: number): Coverage {
  const uniform = seeded(seed);
  let inside = 0;
  let below = 0;
  for (let market = 0; market < markets; market += 1) {
    const { question, sale } = drawMarket(world, n, uniform);
    const found = predictMarket(question);
    if (!found) throw new Error('no prediction');
    if (sale < found.low) below += 1;
    else if (sale <= found.high) inside += 1;
  }
  return { inside: inside / markets, below: below / markets };
}

/** One market of `n` sightings, and the next sale in it, of `grade`. */
export function drawMarket(world: World, n: number, uniform: () => number) {
  const normal = () => Math.sqrt(-2 * Math.log(uniform() || 1e-300)) * Math.cos(2 * Math.PI * uniform());
  const chi = (degrees: number) =>
    Array.from({ length: degrees }, () => normal() ** 2).reduce((sum, one) => sum + one, 0);
  const own = world === 'own';
  const shape = 2 * prior.spreadShape;
  const spread = own ? prior.spread / Math.sqrt(chi(shape) / shape) : prior.spread;
  // The prior of the coefficients is in units of the spread.
  const drawn = ({ mean, sd }: { mean: number; sd: number }) =>
    mean + ((sd * spread) / prior.spread) * normal();
  const level = drawn({ mean: Math.log(NEW_PRICE), sd: prior.newPriceSd });
  const [slope, step, discount] = [
    drawn(prior.depreciation),
    drawn(prior.gradeStep),
    drawn(prior.askedDiscount),
  ];
  const { mean, sd } = prior.recentChange;
  const stretches = [14, 35, 91].map((end, i, ends) => ({
    from: ends[i - 1] ?? 0,
    end,
    change: drawn({ mean: mean / ends.length, sd: sd / Math.sqrt(ends.length) }),
  }));
  const fall = Math.log(0.9 - 0.2 * uniform());
  const shapes = ['fell', 'falling', 'sudden'] as const;
  const how = world === 'drop' ? shapes[Math.floor(3 * uniform())] : world;
  const since = how === 'fell' ? DROP_DAYS : DROP_DAYS * uniform();
  /** How far the level some days ago lies above today's, besides the loss with age. */
  const above = (daysAgo: number): number => {
    if (how === 'own')
      return -stretches.reduce(
        (sum, { from, end, change }) =>
          sum + change * Math.min(1, Math.max(0, (daysAgo - from) / (end - from))),
        0,
      );
    if (how === 'falling') return -fall * Math.min(1, daysAgo / DROP_DAYS);
    return (how === 'fell' || how === 'sudden') && daysAgo > since ? -fall : 0;
  };
  const error = (): number => {
    if (world === 'heavy') return (spread * normal()) / Math.sqrt(chi(3) / 3);
    const slip =
      world === 'outliers' && uniform() < 0.08 ? (uniform() < 0.5 ? -1 : 1) * Math.log(2 + 3 * uniform()) : 0;
    return spread * normal() + slip;
  };
  const launchedDays = YEAR_DAYS * (1 + 4 * uniform());
  const gradeOf = () => Math.floor(5 * uniform()) - 2;
  const log = (daysAgo: number, grade: number, asked: boolean) =>
    level +
    (slope * (launchedDays - daysAgo)) / YEAR_DAYS +
    step * grade +
    (asked ? discount : 0) +
    above(daysAgo) +
    error();
  const sightings = Array.from({ length: n }, (): PhoneSighting => {
    const daysAgo = Math.min(WINDOW_DAYS, launchedDays) * uniform();
    const grade = gradeOf();
    const asked = uniform() < 0.5;
    return { at: NOW - daysAgo * DAY, price: Math.exp(log(daysAgo, grade, asked)), grade, asked };
  });
  const grade = gradeOf();
  return {
    question: {
      sightings,
      now: NOW,
      model: { launched: NOW - launchedDays * DAY, newPrice: NEW_PRICE },
      query: { grade },
    },
    sale: Math.exp(log(0, grade, false)),
  };
}
