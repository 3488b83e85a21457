import stdlibCdf from '@stdlib/stats-base-dists-t-cdf';
import stdlibPdf from '@stdlib/stats-base-dists-t-pdf';
import stdlibQuantile from '@stdlib/stats-base-dists-t-quantile';
import fc from 'fast-check';
import jStat from 'jstat';
import {
  linearRegression,
  medianAbsoluteDeviation,
  probit,
  median as referenceMedian,
  sampleStandardDeviation,
  sampleVariance,
} from 'simple-statistics';
import { expect } from 'vitest';
import {
  betaUpdate,
  dirichletMean,
  learnSuccess,
  logGamma,
  logMarginal,
} from '../../shared/diagnosis/bayes.ts';
import type { MarketSettings } from '../../shared/market/market-settings.ts';
import { predictMarket } from '../../shared/market/predict.ts';
import { predictAt, type RegressionPosterior, regress, residuals } from '../../shared/market/regression.ts';
import { MAD_TO_SD, mad, median, studentWeights } from '../../shared/market/robust.ts';
import { tCdf, tDensity, tQuantile } from '../../shared/market/student-t.ts';
import { expectedMin, type LogStudentT, valueCdf, valueQuantile } from '../../shared/market/value.ts';
import { flatPrior } from '../oracles/flat-prior.ts';
import { outside } from './check.ts';
import { height, mass, mavro, michelson, norrisX, norrisY } from './nist-data.ts';

const regression = 'shared/market/regression.ts';
const robust = 'shared/market/robust.ts';
const student = 'shared/market/student-t.ts';
const no = (at: number): string => String(at).padStart(2, '0');

/** Digits to which a result agrees with a certified value: -log10 of the relative error, as NIST reckons it. */
const digits = (got: number | undefined, certified: number): number =>
  -Math.log10(Math.max(Math.abs((got ?? Number.NaN) / certified - 1), 1e-16));
const variance = (fit: RegressionPosterior) => fit.rate / fit.shape;
/** Standard deviation of a coefficient, which with a flat prior is that of least squares. */
const sd = (fit: RegressionPosterior, unit: number[]) => Math.sqrt(variance(fit) * fit.leverage(unit));

// Least squares as the posterior under a flat prior; digits measured, and stated as what must at least be kept.
const rows = norrisX.map((x) => [1, x]);
const norris = () => regress(rows, norrisY, flatPrior(2));
const total = () => sampleVariance(norrisY) * (norrisY.length - 1);
const left = (fit: RegressionPosterior) => 2 * fit.rate;
(
  [
    ['intercept', -0.262323073774029, 11, (fit) => fit.mean[0]],
    ['slope', 1.00211681802045, 13, (fit) => fit.mean[1]],
    ['standard deviation of the intercept', 0.232818234301152, 11, (fit) => sd(fit, [1, 0])],
    ['standard deviation of the slope', 0.429796848199937e-3, 11, (fit) => sd(fit, [0, 1])],
    ['residual standard deviation', 0.884796396144373, 11, (fit) => Math.sqrt(variance(fit))],
    ['R squared', 0.999993745883712, 14, (fit) => 1 - left(fit) / total()],
    ['sum of squares of the regression', 4255954.13232369, 13, (fit) => total() - left(fit)],
    ['sum of squares of the residuals', 26.6173985294224, 11, (fit) => left(fit)],
    ['mean square of the residuals', 0.782864662630069, 11, (fit) => variance(fit)],
    ['F', 5436385.54079785, 11, (fit) => (total() - left(fit)) / variance(fit)],
  ] as const satisfies readonly (readonly [
    string,
    number,
    number,
    (fit: RegressionPosterior) => number | undefined,
  ])[]
).forEach(([what, certified, kept, of], at) => {
  outside(
    {
      id: `stat-${no(at + 1)}`,
      what: `Norris, ${what}: certified, kept to ${kept} digits`,
      value: String(certified),
      source: 'nist-strd',
      where: regression,
    },
    () => {
      expect(digits(of(norris()), certified)).toBeGreaterThanOrEqual(kept);
    },
  );
});

outside(
  {
    id: 'stat-11',
    what: 'Norris, degrees of freedom; the residuals give the sum of squares themselves',
    value: '34',
    source: 'nist-strd',
    where: regression,
  },
  () => {
    const fit = norris();
    expect(2 * fit.shape).toBe(34);
    const sum = residuals(rows, norrisY, fit.mean).reduce((all, e) => all + e * e, 0);
    expect(digits(sum, 26.6173985294224)).toBeGreaterThanOrEqual(11);
  },
);

const throughOrigin = (x: readonly number[], y: readonly number[]) =>
  regress(
    x.map((value) => [value]),
    y,
    flatPrior(1),
  );
const noInt1 = () => {
  const x = Array.from({ length: 11 }, (_, i) => 60 + i);
  return throughOrigin(
    x,
    x.map((value) => value + 70),
  );
};
const noInt2 = () => throughOrigin([4, 5, 6], [3, 4, 4]);
(
  [
    ['NoInt1, slope', 2.07438016528926, 14, () => noInt1().mean[0]],
    ['NoInt1, its standard deviation', 0.0165289256198347, 13, () => sd(noInt1(), [1])],
    ['NoInt1, sum of squares of the residuals', 127.272727272727, 14, () => left(noInt1())],
    ['NoInt2, slope', 0.727272727272727, 15, () => noInt2().mean[0]],
    ['NoInt2, its standard deviation', 0.0420827318078432, 14, () => sd(noInt2(), [1])],
    ['NoInt2, sum of squares of the residuals', 0.272727272727273, 14, () => left(noInt2())],
  ] as const
).forEach(([what, certified, kept, of], at) => {
  outside(
    {
      id: `stat-${no(at + 12)}`,
      what: `${what}: certified, kept to ${kept} digits`,
      value: String(certified),
      source: 'nist-strd',
      where: regression,
    },
    () => {
      expect(digits(of(), certified)).toBeGreaterThanOrEqual(kept);
    },
  );
});

// A column of ones alone: the mean and the standard deviation.
(
  [
    ['Mavro', mavro, 2.001856, 0.000429123454003053, 12],
    ['Michelson', michelson, 299.8524, 0.0790105478190518, 13],
    ['NumAcc1', [10000001, 10000003, 10000002], 10000002, 1, 8],
  ] as const
).forEach(([name, values, mean, deviation, kept], at) => {
  const fitted = () =>
    regress(
      values.map(() => [1]),
      values,
      flatPrior(1),
    );
  outside(
    {
      id: `stat-${no(18 + 2 * at)}`,
      what: `${name}, mean: certified, kept to 15 digits`,
      value: String(mean),
      source: 'nist-strd',
      where: regression,
    },
    () => {
      expect(digits(fitted().mean[0], mean)).toBeGreaterThanOrEqual(15);
    },
  );
  outside(
    {
      id: `stat-${no(19 + 2 * at)}`,
      what: `${name}, standard deviation: certified, kept to ${kept} digits`,
      value: String(deviation),
      source: 'nist-strd',
      where: regression,
    },
    () => {
      expect(digits(Math.sqrt(variance(fitted())), deviation)).toBeGreaterThanOrEqual(kept);
      expect(
        digits(Math.sqrt(variance(fitted())), sampleStandardDeviation([...values])),
      ).toBeGreaterThanOrEqual(8);
    },
  );
});

const heights = () =>
  regress(
    height.map((h) => [1, h]),
    mass,
    flatPrior(2),
  );
(
  [
    ['slope', 61.272, 3],
    ['intercept', -39.062, 3],
    ['residual standard deviation', 0.759, 3],
    ['95 % interval of the slope, low', 57.4, 1],
    ['95 % interval of the slope, high', 65.1, 1],
    ['95 % interval of the intercept, low', -45.4, 1],
    ['95 % interval of the intercept, high', -32.7, 1],
  ] as const
).forEach(([what, printed, decimals], at) => {
  outside(
    {
      id: `stat-${no(24 + at)}`,
      what: `Height and mass, ${what}`,
      value: String(printed),
      source: 'regression-example',
      known: 'memory',
      where: regression,
    },
    () => {
      const fit = heights();
      const t = tQuantile(0.975, 2 * fit.shape);
      expect(t).toBeCloseTo(2.1604, 4);
      const [intercept = Number.NaN, slope = Number.NaN] = fit.mean;
      const got = [
        slope,
        intercept,
        Math.sqrt(variance(fit)),
        slope - t * sd(fit, [0, 1]),
        slope + t * sd(fit, [0, 1]),
        intercept - t * sd(fit, [1, 0]),
        intercept + t * sd(fit, [1, 0]),
      ][at];
      expect(got).toBeCloseTo(printed, decimals);
    },
  );
});

outside(
  {
    id: 'stat-31',
    what: 'The same by an independent library',
    value: 'slope and intercept to 10 digits',
    source: 'simple-statistics',
    where: regression,
  },
  () => {
    const fit = heights();
    const reference = linearRegression(height.map((h, i) => [h, mass[i] ?? Number.NaN]));
    expect(digits(fit.mean[1], reference.m)).toBeGreaterThanOrEqual(10);
    expect(digits(fit.mean[0], reference.b)).toBeGreaterThanOrEqual(10);
  },
);

// Conjugate updates.
const bayesRules = () =>
  // Known sigma 0.5: coefficient variances are in its unit, so the prior precision is (0.5/0.4)^2.
  regress(new Array(25).fill([1]), new Array(25).fill(5.735), {
    mean: [6.5],
    precision: [(0.5 / 0.4) ** 2],
    shape: 1,
    rate: 0.25,
  });
(
  [
    ['posterior mean', 5.78, 12, () => bayesRules().mean[0]],
    ['posterior variance', 0.009411765, 9, () => 0.25 * bayesRules().leverage([1])],
    ['posterior standard deviation', 0.09701425, 8, () => Math.sqrt(0.25 * bayesRules().leverage([1]))],
    ['precision, 6.25 + 100', 106.25, 10, () => 1 / (0.25 * bayesRules().leverage([1]))],
  ] as const
).forEach(([what, printed, decimals, of], at) => {
  outside(
    {
      id: `stat-${no(32 + at)}`,
      what: `Prior N(6.5, 0.4²), 25 readings of mean 5.735 with sigma 0.5: ${what}`,
      value: String(printed),
      source: 'bayes-rules',
      where: regression,
    },
    () => {
      expect(of()).toBeCloseTo(printed, decimals);
    },
  );
});

outside(
  {
    id: 'stat-36',
    what: 'Readings of no weight leave the prior; a whole weight is that many readings',
    value: 'the prior',
    source: ['bayes-rules', 'conjugate'],
    known: 'computed',
    where: regression,
  },
  () => {
    const prior = { mean: [2, -1], precision: [4, 9], shape: 3, rate: 0.1 };
    const nothing = regress(
      [
        [1, 5],
        [1, 7],
      ],
      [100, -40],
      prior,
      [1e-14, 1e-14],
    );
    expect(nothing.mean[0]).toBeCloseTo(2, 9);
    expect(nothing.mean[1]).toBeCloseTo(-1, 9);
    expect(nothing.leverage([1, 0])).toBeCloseTo(1 / 4, 9);
    const x = [0, 1, 2].map((value) => [1, value]);
    const once = regress(x, [1, 2, 4], flatPrior(2), [1, 3, 1]);
    const thrice = regress([...x, [1, 1], [1, 1]], [1, 2, 4, 2, 2], flatPrior(2));
    expect(once.mean[1]).toBeCloseTo(thrice.mean[1] ?? Number.NaN, 12);
    expect(once.rate).toBeCloseTo(thrice.rate, 12);
  },
);

outside(
  {
    id: 'stat-37',
    what: 'Dirichlet (4, 3, 2, 1) with counts (1, 5, 0, 0)',
    value: '.3125 .5 .125 .0625',
    source: 'conjugate',
    where: 'shared/diagnosis/bayes.ts',
  },
  () => {
    const mean = dirichletMean([0.4, 0.3, 0.2, 0.1], 10, [1, 5, 0, 0]);
    expect(mean).toHaveLength(4);
    [0.3125, 0.5, 0.125, 0.0625].forEach((m, i) => {
      expect(mean[i]).toBeCloseTo(m, 12);
    });
  },
);

outside(
  {
    id: 'stat-38',
    what: 'Beta (8, 2) after 3 of 4: mean',
    value: '11/14',
    source: 'conjugate',
    where: 'shared/diagnosis/bayes.ts',
  },
  () => {
    expect(betaUpdate({ a: 8, b: 2 }, 3, 4)).toEqual({ a: 11, b: 3, mean: 11 / 14 });
    expect(learnSuccess(0.8, 10, 3, 4)).toBeCloseTo(11 / 14, 12);
  },
);

outside(
  {
    id: 'stat-39',
    what: 'The 80 % interval of that Beta, its quantiles by an independent library',
    value: '.640224 to .912004',
    source: ['conjugate', 'jstat'],
    where: 'shared/diagnosis/bayes.ts',
  },
  () => {
    const { a, b } = betaUpdate({ a: 8, b: 2 }, 3, 4);
    expect(jStat.beta.inv(0.1, a, b)).toBeCloseTo(0.640224, 6);
    expect(jStat.beta.inv(0.9, a, b)).toBeCloseTo(0.912004, 6);
  },
);

outside(
  {
    id: 'stat-40',
    what: 'Counts (2, 1) under Dirichlet (3, 2): 3/5 · 4/6 · 2/7; ln Γ by an independent library',
    value: '4/35',
    source: ['conjugate', 'jstat'],
    where: 'shared/diagnosis/bayes.ts',
  },
  () => {
    expect(Math.exp(logMarginal([3, 2], [2, 1]))).toBeCloseTo(4 / 35, 12);
    for (const x of [0.01, 0.3, 1, 1.5, 2, 7.25, 33, 120.5, 4_000])
      expect(logGamma(x)).toBeCloseTo(jStat.gammaln(x), 8);
  },
);

// Median and MAD.
outside(
  {
    id: 'stat-41',
    what: 'MAD of 3 4 7 8 10 949 951, about the median 8',
    value: '4; scaled 5.9304089',
    source: 'sas-mad',
    where: robust,
  },
  () => {
    const values = [3, 4, 7, 8, 10, 949, 951];
    expect(median(values)).toBe(8);
    expect(mad(values)).toBe(4);
    expect(MAD_TO_SD * mad(values)).toBeCloseTo(5.9304089, 6);
  },
);
for (const [id, last] of [
  ['stat-42', 9],
  ['stat-43', 100],
] as const) {
  outside(
    { id, what: `MAD of 1 to 8 and ${last}`, value: '2; scaled 2.9652', source: 'r-mad', where: robust },
    () => {
      const values = [1, 2, 3, 4, 5, 6, 7, 8, last];
      expect(mad(values)).toBe(2);
      expect(MAD_TO_SD * mad(values)).toBeCloseTo(2.9652, 4);
    },
  );
}
outside(
  {
    id: 'stat-44',
    what: 'Median and MAD of 1 1 2 2 4 6 9',
    value: '2 and 1',
    source: 'mad-example',
    where: robust,
  },
  () => {
    expect([median([1, 1, 2, 2, 4, 6, 9]), mad([1, 1, 2, 2, 4, 6, 9])]).toEqual([2, 1]);
  },
);
outside(
  {
    id: 'stat-45',
    what: 'Median and MAD of the Michelson data',
    value: '299.85 and 0.045',
    source: 'nist-strd',
    known: 'computed',
    where: robust,
  },
  () => {
    expect(median(michelson)).toBeCloseTo(299.85, 12);
    expect(mad(michelson)).toBeCloseTo(0.045, 12);
  },
);
outside(
  {
    id: 'stat-46',
    what: 'Factor from MAD to standard deviation: 1 over the normal .75 quantile',
    value: '1.4826022185',
    source: ['r-mad', 'simple-statistics'],
    known: 'computed',
    where: robust,
  },
  () => {
    expect(MAD_TO_SD).toBeCloseTo(1.4826022185, 10);
    expect(MAD_TO_SD).toBeCloseTo(1 / tQuantile(0.75, 1e6), 5);
    expect(MAD_TO_SD).toBeCloseTo(1 / probit(0.75), 2);
  },
);
outside(
  {
    id: 'stat-47',
    what: 'Median and MAD of any values by an independent library',
    value: 'equal to 6 decimals',
    source: 'simple-statistics',
    where: robust,
  },
  () => {
    const values = fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { minLength: 1 });
    fc.assert(
      fc.property(values, (list) => {
        expect(median(list)).toBeCloseTo(referenceMedian(list), 6);
        expect(mad(list)).toBeCloseTo(medianAbsoluteDeviation(list), 6);
      }),
    );
  },
);
outside(
  {
    id: 'stat-48',
    what: 'Weights under Student-t errors with 4 degrees: (ν + 1)/(ν + e²/s²) for e = 0, 1, 2, 10',
    value: '1.25, 1, 0.625, 5/104',
    source: 'lange-1989',
    known: 'memory',
    where: robust,
  },
  () => {
    expect(studentWeights([0, 1, -1, 2, 10], 1)).toEqual([1.25, 1, 1, 0.625, 5 / 104]);
    expect(studentWeights([0, 2, 20], 2)).toEqual([1.25, 1, 5 / 104]);
    expect(studentWeights([0, 5], 2, Infinity)).toEqual([1, 1]);
  },
);

// Student's t.
const tails = [0.1, 0.05, 0.025, 0.01, 0.005];
(
  [
    [1, [3.078, 6.314, 12.706, 31.821, 63.657]],
    [2, [1.886, 2.92, 4.303, 6.965, 9.925]],
    [5, [1.476, 2.015, 2.571, 3.365, 4.032]],
    [10, [1.372, 1.812, 2.228, 2.764, 3.169]],
    [20, [1.325, 1.725, 2.086, 2.528, 2.845]],
    [30, [1.31, 1.697, 2.042, 2.457, 2.75]],
    [Number.POSITIVE_INFINITY, [1.282, 1.645, 1.96, 2.326, 2.576]],
  ] as const
).forEach(([degrees, row], line) => {
  tails.forEach((tail, column) => {
    const want = row[column] ?? Number.NaN;
    outside(
      {
        id: `t-${no(line * tails.length + column + 1)}`,
        what: `Student's t, ${Number.isFinite(degrees) ? degrees : 'unlimited'} degrees, upper tail ${tail}`,
        value: want.toFixed(3),
        source: ['nist-handbook', 'soong-a4'],
        where: student,
      },
      () => {
        // The last row of the table is the normal limit.
        const nu = Number.isFinite(degrees) ? degrees : 1e6;
        expect(Math.abs(tQuantile(1 - tail, nu) - want)).toBeLessThanOrEqual(0.0005001);
        expect(Math.abs(tQuantile(tail, nu) + want)).toBeLessThanOrEqual(0.0005001);
        expect(1 - tCdf(want, nu)).toBeCloseTo(tail, 3);
      },
    );
  });
});
outside(
  {
    id: 't-36',
    what: "Student's t, 24 degrees, upper tail .005; one reprint has the misprint 2.979",
    value: '2.797',
    source: 'nist-handbook',
    where: student,
  },
  () => {
    expect(tQuantile(0.995, 24)).toBeCloseTo(2.797, 3);
    expect(Math.abs(tQuantile(0.995, 24) - 2.979)).toBeGreaterThan(0.1);
  },
);
const degreesOf = fc.oneof(fc.integer({ min: 1, max: 1000 }), fc.double({ min: 0.5, max: 200, noNaN: true }));
const anyT = fc.double({ min: -40, max: 40, noNaN: true });
outside(
  {
    id: 't-37',
    what: 'Density, distribution and quantile by an independent library',
    value: '12, 11 and 10 digits',
    source: 'stdlib',
    where: student,
  },
  () => {
    fc.assert(
      fc.property(anyT, degreesOf, (t, degrees) => {
        expect(digits(tDensity(t, degrees), stdlibPdf(t, degrees))).toBeGreaterThan(12);
        // Nearer to 0 that library itself is up to 1e-9 off the arctangent of one degree.
        if (Math.abs(t) > 0.01) expect(digits(tCdf(t, degrees), stdlibCdf(t, degrees))).toBeGreaterThan(11.3);
      }),
      { numRuns: 500 },
    );
    fc.assert(
      fc.property(fc.double({ min: 1e-6, max: 1 - 1e-6, noNaN: true }), degreesOf, (p, degrees) => {
        fc.pre(Math.abs(p - 0.5) > 1e-3);
        expect(digits(tQuantile(p, degrees), stdlibQuantile(p, degrees))).toBeGreaterThan(10);
      }),
      { numRuns: 500 },
    );
  },
);
outside(
  {
    id: 't-38',
    what: 'Distribution by a second library',
    value: '5e-8, which is how well the two agree',
    source: 'jstat',
    where: student,
  },
  () => {
    for (const degrees of [1, 2, 3, 4, 7, 12, 13, 30, 100, 1000])
      for (let t = -12; t <= 12; t += 0.37)
        expect(Math.abs(tCdf(t, degrees) - jStat.studentt.cdf(t, degrees))).toBeLessThan(5e-8);
  },
);
outside(
  {
    id: 't-39',
    what: 'One degree is Cauchy, two have a root form',
    value: '½ + arctan(t)/π; ½ + t/(2√(2 + t²))',
    source: 'abramowitz-stegun',
    at: '26.7.3 and 26.7.4',
    where: student,
  },
  () => {
    fc.assert(
      fc.property(anyT, (t) => {
        expect(tCdf(t, 1)).toBeCloseTo(0.5 + Math.atan(t) / Math.PI, 13);
        expect(tCdf(t, 2)).toBeCloseTo(0.5 + t / (2 * Math.sqrt(2 + t * t)), 13);
      }),
    );
    expect(digits(tQuantile(1e-12, 2), -707106.7811854685)).toBeGreaterThan(9);
  },
);

// The worked market example, derived from the standard conjugate results by two independent programs.
const MONTH = (365.25 / 12) * 24 * 3600 * 1000;
const seen: readonly (readonly [months: number, grade: number, price: number])[] = [
  [6, 1, 520],
  [12, 0, 445],
  [14, 1, 410],
  [20, -1, 300],
  [24, 0, 330],
  [30, -1, 225],
];
const market = 'shared/market/predict.ts';
function at18Months(sightings: typeof seen, settings: Partial<MarketSettings> = {}) {
  const result = predictMarket({
    sightings: sightings.map(([months, grade, price]) => ({
      at: months * MONTH,
      grade,
      price,
      asked: false,
    })),
    now: 18 * MONTH,
    model: { launched: 0, newPrice: 600 },
    query: { grade: 0 },
    // The example has no drift of prices over the last months.
    settings: { recentChange: { mean: 0, sd: 0 }, ...settings },
  });
  if (result === null) throw new Error('no prediction');
  return result;
}
const alike = { outlierDegrees: Infinity };
const example = () =>
  regress(
    seen.map(([months, grade]) => [1, months / 12, grade]),
    seen.map(([, , price]) => Math.log(price)),
    {
      mean: [Math.log(600), -0.35, 0.12],
      precision: [0.25, 0.1, 0.06].map((spread) => (0.15 / spread) ** 2),
      shape: 3,
      rate: 0.0675,
    },
  );
const derived = { source: 'conjugate', at: 'normal-inverse-gamma; the figures are derived' } as const;
(
  [
    ['intercept', 6.3659875, 7, () => example().mean[0]],
    ['change a year', -0.3280472, 7, () => example().mean[1]],
    ['change a grade', 0.1053644, 7, () => example().mean[2]],
    ['a_n', 6, 12, () => example().shape],
    ['b_n', 0.0790762, 7, () => example().rate],
    ['location at 18 months', 5.8739167, 7, () => predictAt(example(), [1, 1.5, 0]).location],
    ['scale at 18 months', 0.1236288, 7, () => predictAt(example(), [1, 1.5, 0]).scale],
    ['degrees', 12, 12, () => predictAt(example(), [1, 1.5, 0]).degrees],
    ['t at .9', 1.3562173, 7, () => tQuantile(0.9, predictAt(example(), [1, 1.5, 0]).degrees)],
  ] as const
).forEach(([what, value, decimals, of], at) => {
  outside(
    {
      id: `market-${no(at + 1)}`,
      what: `Six sightings: ${what}`,
      value: String(value),
      ...derived,
      where: regression,
    },
    () => {
      expect(of()).toBeCloseTo(value, decimals);
    },
  );
});
const ranged = (value: LogStudentT) => ({
  median: valueQuantile(value, 0.5),
  low: valueQuantile(value, 0.1),
  high: valueQuantile(value, 0.9),
});
const withOutlier: typeof seen = [...seen, [24, 0, 90]];
(
  [
    ['all alike', () => at18Months(seen, alike), 355.639, 300.741, 420.559],
    ['no sighting', () => at18Months([]), 354.933, 221.379, 569.06],
    // On the log scale the range is symmetric: the high end is 300.7077²/189.2223.
    ['an outlier weighed like the rest', () => at18Months(withOutlier, alike), 300.708, 189.222, 477.877],
    // The example's range has 2 a_n = 13 degrees; market-22 has that of the answer.
    [
      'an outlier under Student-t weights, at 13 degrees',
      () => ranged({ ...at18Months(withOutlier), degrees: 13 }),
      350.934,
      286.866,
      429.31,
    ],
  ] as const
).forEach(([what, predict, middle, low, high], at) => {
  outside(
    {
      id: `market-${no(at + 10)}`,
      what: `A sale at 18 months, ${what}: median and 80 % range`,
      value: `${middle} [${low}, ${high}]`,
      ...derived,
      where: market,
    },
    () => {
      const value = predict();
      expect(value.median).toBeCloseTo(middle, 3);
      expect(value.low).toBeCloseTo(low, 3);
      expect(value.high).toBeCloseTo(high, 3);
    },
  );
});
outside(
  {
    id: 'market-14',
    what: 'P(price < 300) of that sale',
    value: '.0969536',
    ...derived,
    where: 'shared/market/value.ts',
  },
  () => {
    expect(valueCdf(at18Months(seen, alike), 300)).toBeCloseTo(0.0969536, 7);
  },
);
outside(
  {
    id: 'market-15',
    what: 'Weight of the outlier, and that it is named',
    value: '.0655',
    ...derived,
    where: market,
  },
  () => {
    const value = at18Months(withOutlier);
    expect(value.weights[6]).toBeCloseTo(0.0655, 4);
    expect(value.outliers).toEqual([6]);
    expect(at18Months([])).toMatchObject({ n: 0, priorShare: 1, rough: true, outliers: [] });
  },
);
(
  [
    ['market-16', 'about 29 to 32 % a year in second-hand phone listings', 'nakavachara-2017', 0.29, 0.32],
    ['market-17', '21 to 26 % a year for handheld computers', 'nber-10746', 0.21, 0.26],
  ] as const
).forEach(([id, what, source, low, high]) => {
  outside(
    {
      id,
      what: `Loss of value: ${what}, against the prior`,
      value: `${(100 * low).toFixed(0)} to ${(100 * high).toFixed(0)} % a year`,
      source,
      where: 'shared/market/market-settings.ts',
    },
    () => {
      // The prior's 80 % range of yearly loss, from its mean and spread on the log scale, reaches over the published range.
      const { inputs } = at18Months([]);
      const of = (name: string) => inputs.find((one) => one.name === name);
      const mean = of('depreciation')?.value ?? Number.NaN;
      const spread = (of('depreciationSd')?.value ?? Number.NaN) * tQuantile(0.9, 1e6);
      const range = [1 - Math.exp(mean + spread), 1 - Math.exp(mean - spread)];
      expect(range[0]).toBeLessThanOrEqual(low);
      expect(range[1]).toBeGreaterThanOrEqual(high);
      expect(JSON.stringify(of('depreciation')?.ground)).toContain(
        source === 'nber-10746' ? 'NBER working paper 10746' : 'Nakavachara',
      );
    },
  );
});

outside(
  {
    id: 'market-22',
    what: 'That sale with the outlier, at the 4 degrees of the weights: the range of 13 degrees, times their quantiles at .9',
    value: '[279.133, 441.203]; 350.934 (429.31/286.866)^(±1.5332062/1.3501713/2)',
    source: ['conjugate', 'jstat'],
    at: 'derived from the range at 13 degrees',
    known: 'computed',
    where: market,
  },
  () => {
    const value = at18Months(withOutlier);
    expect(value.degrees).toBe(4);
    const wider = jStat.studentt.inv(0.9, 4) / jStat.studentt.inv(0.9, 13);
    expect(value.low).toBeCloseTo(350.934 * (429.31 / 286.866) ** (-wider / 2), 2);
    expect(value.high).toBeCloseTo(350.934 * (429.31 / 286.866) ** (wider / 2), 2);
  },
);

// Limited expected value of the lognormal, which many degrees come to.
(
  [
    [0.1, 400],
    [0.3, 300],
    [0.3, 1500],
    [1, 360],
  ] as const
).forEach(([scale, cap], at) => {
  outside(
    {
      id: `market-${no(at + 18)}`,
      what: `E[min(V, ${cap})] of a lognormal with median 350 and scale ${scale}`,
      value: 'closed form, to 5 digits',
      source: ['loss-models', 'jstat'],
      known: 'memory',
      where: 'shared/market/value.ts',
    },
    () => {
      const value: LogStudentT = { location: Math.log(350), scale, degrees: 1e6 };
      const normal = (x: number) => jStat.normal.cdf(x, 0, 1);
      const z = (Math.log(cap) - value.location) / scale;
      const want = 350 * Math.exp(scale ** 2 / 2) * normal(z - scale) + cap * (1 - normal(z));
      expect(expectedMin(value, cap) / want).toBeCloseTo(1, 5);
    },
  );
});
