import {
  type Belief,
  type MarketInput,
  type MarketSettings,
  settingInputs,
  withDefaults,
} from './market-settings.ts';
import { predictAt, type RegressionPrior, regress, residuals } from './regression.ts';
import { MAD_TO_SD, mad, median, studentWeights } from './robust.ts';
import { type LogStudentT, valueQuantile } from './value.ts';

/** A moment: a Date or milliseconds since 1970. */
type Moment = Date | number;

export interface PhoneSighting {
  at: Moment;
  /** Major units of the collective's currency, above 0. */
  price: number;
  /** -2 (poor) to 2 (as new). */
  grade: number;
  /** log2 of the storage in GB, if known. */
  storageLog2?: number;
  /** An asked price; false for a price it was sold at. */
  asked: boolean;
  /** Who told it, by their key: prices of one person count for less together. Absent: somebody of their own. */
  by?: string;
}

export interface MarketQuestion {
  sightings: readonly PhoneSighting[];
  now: Moment;
  model: { launched?: Moment; newPrice?: number };
  /** What the phone will be when it is sold. `asked`: what it is asked for instead. */
  query: { grade: number; storageLog2?: number; asked?: boolean };
  settings?: Partial<MarketSettings>;
}

export interface MarketPrediction extends LogStudentT {
  /** Price (major units) of a sale today: 50 %, 10 % and 90 % quantiles. */
  median: number;
  low: number;
  high: number;
  /** Number of sightings. */
  n: number;
  /** 0 to 1: precision of the expected log price before the sightings over that after them. 1 with no sightings. */
  priorShare: number;
  /** Weight of each sighting, about 1; below 0.3 it is an outlier. */
  weights: number[];
  /** Indices of outliers. */
  outliers: number[];
  /** Too few sightings or too wide a range to lean on. */
  rough: boolean;
  inputs: MarketInput[];
}

/** Age of a phone whose launch is not known, in years, and how far it may be off. */
const UNKNOWN_AGE = { mean: 3, sd: 2 };
/** ln(price) may be anything within e^10 of the level of the sightings. */
const WIDE_SD = 10;
const OUTLIER_WEIGHT = 0.3;
/** What one person told is far off when it lies this many spreads from what the others say. Chosen. */
const FAR = 4;
/** Rough: fewer effective sightings than this, or a top of the 80 % range more than this many times its bottom. */
const ROUGH_SIGHTINGS = 3;
const ROUGH_RATIO = 2;
const MS_AN_HOUR = 3600 * 1000;
const MS_A_WEEK = 7 * 24 * MS_AN_HOUR;
const MS_A_YEAR = 365.25 * 24 * MS_AN_HOUR;
/** The level of prices drifts in straight lines between now and these many weeks ago; what is older has one level. */
const DRIFT_WEEKS = [2, 5, 13];

/**
 * What a phone sells for today: ln price = b0 + b1 age + b2 grade + b3 storage + b4 asked + drift + e, with age in years
 * since launch (or before now, if the launch is not known), Normal-Inverse-Gamma prior, and Student-t weights against
 * outliers. A sold price speaks for itself; an asked one passes through the discount b4, whose prior is a setting. The
 * drift is a random walk backwards from today (a local level: Harvey, Forecasting, Structural Time Series Models and the
 * Kalman Filter, 1989, ch. 2), so that recent sightings outweigh older ones where the two differ.
 *
 * The range is that of a Student-t with the fewer of 2 a_n degrees and those of the errors. The weights are maximum
 * likelihood under Student-t errors (Lange, Little & Taylor 1989), so the scale that they leave, sqrt(b_n/a_n), is that of
 * a Student-t with as many degrees: under 2 a_n degrees, of which there are ever more, an "80 %" range would hold 70 %
 * of normal sales (derived; measured in tests/market/coverage.ts). Without a sighting there are no weights, and the
 * degrees are those of the prior.
 *
 * With neither a sighting nor a price when new there is nothing to go by: null. Throws RangeError for a price that is not
 * above 0, or for numbers that are not finite.
 */
export function predictMarket(question: MarketQuestion): MarketPrediction | null {
  const { sightings, model } = question;
  if (sightings.length === 0 && model.newPrice === undefined) return null;
  check(question);
  const settings = withDefaults(question.settings ?? {});

  const { rows, y, x, drifts } = designOf(question, settings);
  const votes = votesOf(sightings);
  const beliefs = [
    startLevel(question, settings, rows, y, votes),
    settings.depreciation,
    settings.gradeStep,
    settings.storageDoubling,
    settings.askedDiscount,
    ...drifts,
  ];
  const prior = priorOf(beliefs, settings);
  const counts = countsOf(sightings, residuals(rows, y, prior.mean), votes, {
    informed: model.newPrice !== undefined,
    spread: settings.spread,
    levelSd: settings.newPriceSd,
  });
  const { posterior, weights } = robustRegress(rows, y, prior, settings, votes, counts);
  const { degrees, ...predicted } = predictAt(posterior, x);
  const value: LogStudentT = {
    ...predicted,
    degrees: y.length === 0 ? degrees : Math.min(degrees, settings.outlierDegrees),
  };
  const [low, middle, high] = [0.1, 0.5, 0.9].map((p) => valueQuantile(value, p));
  if (low === undefined || middle === undefined || high === undefined) throw new RangeError('no quantiles');

  const effective = weights.reduce((total, weight, i) => total + (counts[i] ?? 0) * Math.min(1, weight), 0);
  return {
    ...value,
    median: middle,
    low,
    high,
    n: sightings.length,
    priorShare: posterior.leverage(x) / regress([], [], prior).leverage(x),
    weights,
    outliers: weights.flatMap((weight, i) => (weight < OUTLIER_WEIGHT ? [i] : [])),
    rough: effective < ROUGH_SIGHTINGS || high > ROUGH_RATIO * low,
    inputs: [...givenInputs(question), ...settingInputs(question.settings ?? {})],
  };
}

/** The regression's columns: of the sightings (`rows`, `y` ln price) and of what is asked (`x`), with a belief for each of drift. */
function designOf(question: MarketQuestion, settings: MarketSettings) {
  const { sightings, model, query } = question;
  const now = hourAfter(question.now);
  const age = (moment: Moment) =>
    model.launched === undefined
      ? (Number(moment) - now) / MS_A_YEAR
      : Math.max(0, Number(moment) - Number(model.launched)) / MS_A_YEAR;
  const storage = storageScale(question);
  const drifts = driftBeliefs(settings);
  const drift = (moment: Moment) => (drifts.length ? driftColumns((now - Number(moment)) / MS_A_WEEK) : []);
  const columns = (at: Moment, { grade, storageLog2, asked }: MarketQuestion['query']) => [
    1,
    age(at),
    grade,
    storage(storageLog2),
    asked ? 1 : 0,
    ...drift(at),
  ];
  return {
    rows: sightings.map((one) => columns(one.at, one)),
    y: sightings.map((one) => Math.log(one.price)),
    x: columns(now, query),
    drifts,
  };
}

const priorOf = (beliefs: readonly Belief[], settings: MarketSettings): RegressionPrior => ({
  mean: beliefs.map((belief) => belief.mean),
  precision: beliefs.map((belief) => (settings.spread / belief.sd) ** 2),
  shape: settings.spreadShape,
  rate: settings.spreadShape * settings.spread ** 2,
});

/** To the hour, upwards, in ms: the same question in the same hour has the same answer, and what was worked out for it holds. */
export const hourAfter = (moment: Moment): number => Math.ceil(Number(moment) / MS_AN_HOUR) * MS_AN_HOUR;

/** How much of each stretch of {@link DRIFT_WEEKS} lies between a sighting and now, negated: 0 now, -1 before it. */
function driftColumns(weeksAgo: number): number[] {
  return DRIFT_WEEKS.map((end, i) => {
    const start = DRIFT_WEEKS[i - 1] ?? 0;
    return weeksAgo <= start ? 0 : -Math.min(1, (weeksAgo - start) / (end - start));
  });
}

/** The change over all stretches shared out evenly, each independent of the others: their sum is as believed. */
function driftBeliefs({ recentChange: { mean, sd } }: MarketSettings): Belief[] {
  if (sd === 0) return [];
  const stretches = DRIFT_WEEKS.length;
  return DRIFT_WEEKS.map(() => ({ mean: mean / stretches, sd: sd / Math.sqrt(stretches) }));
}

/** What one person told shares one vote: 1 over how many sightings are theirs. Without a name each is somebody's own. */
function votesOf(sightings: readonly PhoneSighting[]): number[] {
  const told = new Map<string, number>();
  for (const { by } of sightings) if (by !== undefined) told.set(by, (told.get(by) ?? 0) + 1);
  return sightings.map(({ by }) => (by === undefined ? 1 : 1 / (told.get(by) ?? 1)));
}

/**
 * As how many sightings each one counts, at most 1. What one person tells comes from one place, habit or slip: their m
 * sightings together count as the square root of m, or as many as all others have told, whichever is more. Where theirs
 * lie far from what all others say, all of them count as one, until somebody else says so too: a far one adds
 * (nu + 1) s^2 to the sum of w e^2 = n s^2, so the scale has no bound once 1 in nu + 1 is far (derived). They are held
 * against the others alone: what is far itself would widen what counts as far. The counts are chosen.
 * @param fromPrior residuals from the prior's line, one a sighting. @param informed the prior knows the level: it has a
 * vote of its own, and the only one, to within `levelSd`, where nobody else told anything.
 */
function countsOf(
  sightings: readonly PhoneSighting[],
  fromPrior: readonly number[],
  votes: readonly number[],
  { informed, spread, levelSd }: { informed: boolean; spread: number; levelSd: number },
): number[] {
  if (votes.every((vote) => vote === 1)) return [...votes];
  const isFar = (by: string | undefined): boolean => {
    const own = median(fromPrior.filter((_, j) => sightings[j]?.by === by));
    const others = sightings.flatMap((one, j) =>
      one.by === by ? [] : [{ said: fromPrior[j] ?? 0, vote: votes[j] ?? 1 }],
    );
    if (others.length === 0) return informed && Math.abs(own) > FAR * levelSd;
    // Of two who differ nobody can say which is far.
    const people = others.reduce((sum, { vote }) => sum + vote, 0) + (informed ? 1 : 0);
    if (people < 1.5) return false;
    if (informed) others.push({ said: 0, vote: 1 });
    const said = others.map((one) => one.said);
    const weights = others.map(({ vote }) => vote);
    const far = FAR * Math.max(spread, MAD_TO_SD * mad(said, weights));
    return Math.abs(own - median(said, weights)) > far;
  };
  const far = new Map<string | undefined, boolean>();
  return sightings.map(({ by }, i) => {
    const m = Math.round(1 / (votes[i] ?? 1));
    if (m === 1) return 1;
    if (!far.has(by)) far.set(by, isFar(by));
    return Math.min(1, (far.get(by) ? 1 : Math.max(Math.sqrt(m), sightings.length - m)) / m);
  });
}

/**
 * Iteratively reweighted regression with Student-t weights. The first scale is the MAD about the prior's line, one vote a
 * person, which a few outliers among few sightings cannot pull; from then on it is the posterior's own sqrt(b_n/a_n), to
 * a fixed point.
 */
function robustRegress(
  rows: readonly (readonly number[])[],
  y: readonly number[],
  prior: RegressionPrior,
  settings: { spread: number; outlierDegrees: number },
  votes: readonly number[],
  counts: readonly number[],
) {
  const nu = settings.outlierDegrees;
  const count = counts.reduce((total, one) => total + one, 0);
  const regressed = (weights: readonly number[]) =>
    regress(
      rows,
      y,
      prior,
      weights.map((weight, i) => weight * (counts[i] ?? 0)),
      count,
    );
  const fromPrior = residuals(rows, y, prior.mean);
  // Equal prices have no deviation at all; half the believed spread is the least that counts as noise.
  const first = y.length === 0 ? 1 : Math.max(MAD_TO_SD * mad(fromPrior, votes), settings.spread / 2);
  let weights = studentWeights(fromPrior, first, nu);
  let posterior = regressed(weights);
  for (let step = 0; step < 100; step += 1) {
    const scale = Math.sqrt(posterior.rate / posterior.shape);
    const next = studentWeights(residuals(rows, y, posterior.mean), scale, nu);
    const moved = Math.max(0, ...next.map((weight, i) => Math.abs(weight - (weights[i] ?? 0))));
    weights = next;
    posterior = regressed(weights);
    if (moved < 1e-10) break;
  }
  return { posterior, weights };
}

/** What is believed of ln(price) at age 0 (or of today's, if the launch is not known). */
function startLevel(
  { model }: MarketQuestion,
  settings: MarketSettings,
  rows: readonly (readonly number[])[],
  y: readonly number[],
  votes: readonly number[],
): Belief {
  const { mean: slope, sd: slopeSd } = settings.depreciation;
  if (model.newPrice === undefined) {
    // Any level will do; the middle of the sightings keeps the arithmetic near 0.
    const others = [
      0,
      slope,
      settings.gradeStep.mean,
      settings.storageDoubling.mean,
      settings.askedDiscount.mean,
      ...driftBeliefs(settings).map(({ mean }) => mean),
    ];
    return { mean: median(residuals(rows, y, others), votes), sd: WIDE_SD };
  }
  const level = Math.log(model.newPrice);
  if (model.launched !== undefined) return { mean: level, sd: settings.newPriceSd };
  return {
    mean: level + slope * UNKNOWN_AGE.mean,
    sd: Math.hypot(settings.newPriceSd, slope * UNKNOWN_AGE.sd, slopeSd * UNKNOWN_AGE.mean),
  };
}

/** Doublings of storage above that of the phone asked about (or else the middle of the sightings); 0 where unknown. */
function storageScale({ sightings, query }: MarketQuestion): (storageLog2: number | undefined) => number {
  const known = sightings.flatMap((s) => (s.storageLog2 === undefined ? [] : [s.storageLog2]));
  const reference = query.storageLog2 ?? (known.length === 0 ? 0 : median(known));
  return (storageLog2) => (storageLog2 ?? reference) - reference;
}

function givenInputs({ sightings, model }: MarketQuestion): MarketInput[] {
  const given = (name: string, value: number): MarketInput => ({ name, value, ground: { kind: 'given' } });
  const inputs = [given('sightings', sightings.length)];
  if (model.newPrice !== undefined) inputs.push(given('newPrice', model.newPrice));
  if (model.newPrice !== undefined && model.launched === undefined) {
    const why = 'the launch is not known; a phone on the bench is taken to be a few years old';
    inputs.push({ name: 'ageYears', value: UNKNOWN_AGE.mean, ground: { kind: 'assumed', why } });
    inputs.push({ name: 'ageYearsSd', value: UNKNOWN_AGE.sd, ground: { kind: 'assumed', why } });
  }
  return inputs;
}

function check({ sightings, now, model, query }: MarketQuestion): void {
  const prices = [
    ...sightings.map((s) => s.price),
    ...(model.newPrice === undefined ? [] : [model.newPrice]),
  ];
  if (prices.some((price) => !(price > 0 && price < Infinity)))
    throw new RangeError('a price must be above 0');
  const numbers = [
    Number(now),
    query.grade,
    Number(model.launched ?? 0),
    query.storageLog2 ?? 0,
    ...sightings.flatMap((s) => [Number(s.at), s.grade, s.storageLog2 ?? 0]),
  ];
  if (!numbers.every(Number.isFinite))
    throw new RangeError('dates, grades and storage must be finite numbers');
}
