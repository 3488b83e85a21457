import { linearRegression, sampleStandardDeviation, sampleVariance } from 'simple-statistics';
import { describe, expect, test } from 'vitest';
import {
  flatPrior,
  predictAt,
  type RegressionPosterior,
  regress,
  residuals,
} from '../../shared/market/regression.ts';
import { tQuantile } from '../../shared/market/student-t.ts';
import { height, mass, mavro, michelson, norrisX, norrisY } from './nist-data.ts';

/** |got/want - 1| */
const off = (got: number | undefined, want: number) => Math.abs((got ?? Number.NaN) / want - 1);
const variance = (fit: RegressionPosterior) => fit.rate / fit.shape;
/** Standard deviation of coefficient j, which with a flat prior is that of least squares. */
const sd = (fit: RegressionPosterior, unit: number[]) => Math.sqrt(variance(fit) * fit.leverage(unit));

describe('least squares as the flat-prior posterior', () => {
  test('NIST StRD Norris: certified values', () => {
    const rows = norrisX.map((x) => [1, x]);
    const fit = regress(rows, norrisY, flatPrior(2));
    expect(off(fit.mean[0], -0.262323073774029)).toBeLessThan(1e-10);
    expect(off(fit.mean[1], 1.00211681802045)).toBeLessThan(1e-12);
    expect(off(sd(fit, [1, 0]), 0.232818234301152)).toBeLessThan(1e-10);
    expect(off(sd(fit, [0, 1]), 0.429796848199937e-3)).toBeLessThan(1e-10);
    expect(off(Math.sqrt(variance(fit)), 0.884796396144373)).toBeLessThan(1e-10);
    expect(2 * fit.shape).toBe(34);
    expect(off(2 * fit.rate, 26.6173985294224)).toBeLessThan(1e-10);
    const total = sampleVariance(norrisY) * (norrisY.length - 1);
    expect(off(1 - (2 * fit.rate) / total, 0.999993745883712)).toBeLessThan(1e-12);
    expect(off(total - 2 * fit.rate, 4255954.13232369)).toBeLessThan(1e-10);
    expect(off((total - 2 * fit.rate) / variance(fit), 5436385.54079785)).toBeLessThan(1e-9);
    // sqrt of the certified R squared
    expect(off(Math.sqrt(1 - (2 * fit.rate) / total), 0.999996872936967)).toBeLessThan(1e-12);
    const left = residuals(rows, norrisY, fit.mean);
    expect(
      off(
        left.reduce((sum, e) => sum + e * e, 0),
        26.6173985294224,
      ),
    ).toBeLessThan(1e-10);
  });

  test('NIST StRD NoInt1: certified values', () => {
    const x = Array.from({ length: 11 }, (_, i) => 60 + i);
    const fit = regress(
      x.map((value) => [value]),
      x.map((value) => value + 70),
      flatPrior(1),
    );
    expect(off(fit.mean[0], 2.07438016528926)).toBeLessThan(1e-13);
    expect(off(sd(fit, [1]), 0.0165289256198347)).toBeLessThan(1e-12);
    expect(off(2 * fit.rate, 127.272727272727)).toBeLessThan(1e-12);
  });

  test('NIST StRD NoInt2: certified values', () => {
    const fit = regress([[4], [5], [6]], [3, 4, 4], flatPrior(1));
    expect(off(fit.mean[0], 0.727272727272727)).toBeLessThan(1e-13);
    expect(off(sd(fit, [1]), 0.0420827318078432)).toBeLessThan(1e-13);
    expect(off(2 * fit.rate, 0.272727272727273)).toBeLessThan(1e-12);
  });

  // A column of ones alone: the mean and the standard deviation.
  test.each([
    ['Mavro', mavro, 2.001856, 0.000429123454003053, 1e-11],
    ['Michelson', michelson, 299.8524, 0.0790105478190518, 1e-11],
    ['NumAcc1', [10000001, 10000003, 10000002], 10000002, 1, 1e-8],
  ])('NIST StRD %s: certified mean and standard deviation', (_, values, mean, deviation, tolerance) => {
    const fit = regress(
      values.map(() => [1]),
      values,
      flatPrior(1),
    );
    expect(off(fit.mean[0], mean)).toBeLessThan(1e-14);
    expect(off(Math.sqrt(variance(fit)), deviation)).toBeLessThan(tolerance);
    expect(off(Math.sqrt(variance(fit)), sampleStandardDeviation(values))).toBeLessThan(1e-8);
  });

  test('height and mass, the usual worked example: coefficients and their 95 % intervals', () => {
    const fit = regress(
      height.map((h) => [1, h]),
      mass,
      flatPrior(2),
    );
    const t = tQuantile(0.975, 2 * fit.shape);
    expect(t).toBeCloseTo(2.1604, 4);
    const [intercept = Number.NaN, slope = Number.NaN] = fit.mean;
    expect(slope).toBeCloseTo(61.272, 3);
    expect(intercept).toBeCloseTo(-39.062, 3);
    expect(Math.sqrt(variance(fit))).toBeCloseTo(0.759, 3);
    expect(slope - t * sd(fit, [0, 1])).toBeCloseTo(57.4, 1);
    expect(slope + t * sd(fit, [0, 1])).toBeCloseTo(65.1, 1);
    expect(intercept - t * sd(fit, [1, 0])).toBeCloseTo(-45.4, 1);
    expect(intercept + t * sd(fit, [1, 0])).toBeCloseTo(-32.7, 1);
    const reference = linearRegression(height.map((h, i) => [h, mass[i] ?? Number.NaN]));
    expect(off(slope, reference.m)).toBeLessThan(1e-10);
    expect(off(intercept, reference.b)).toBeLessThan(1e-10);
  });
});

describe('priors and weights', () => {
  test('Johnson, Ott & Dogucu, Bayes Rules!, ch. 5: N(6.5, 0.4^2) and 25 readings of mean 5.735 give 5.78', () => {
    // Known sigma 0.5: coefficient variances are in its unit, so the prior precision is (0.5/0.4)^2.
    const prior = { mean: [6.5], precision: [(0.5 / 0.4) ** 2], shape: 1, rate: 0.25 };
    const fit = regress(new Array(25).fill([1]), new Array(25).fill(5.735), prior);
    expect(fit.mean[0]).toBeCloseTo(5.78, 12);
    expect(0.25 * fit.leverage([1])).toBeCloseTo(0.009411765, 9);
    expect(Math.sqrt(0.25 * fit.leverage([1]))).toBeCloseTo(0.09701425, 8);
    // Precisions add: 6.25 + 100
    expect(1 / (0.25 * fit.leverage([1]))).toBeCloseTo(106.25, 10);
  });

  test('readings of no weight leave the prior', () => {
    const prior = { mean: [2, -1], precision: [4, 9], shape: 3, rate: 0.1 };
    const fit = regress(
      [
        [1, 5],
        [1, 7],
      ],
      [100, -40],
      prior,
      [1e-14, 1e-14],
    );
    expect(fit.mean[0]).toBeCloseTo(2, 9);
    expect(fit.mean[1]).toBeCloseTo(-1, 9);
    expect(fit.leverage([1, 0])).toBeCloseTo(1 / 4, 9);
  });

  test('a whole weight is the same as that many readings', () => {
    const once = regress(
      [
        [1, 0],
        [1, 1],
        [1, 2],
      ],
      [1, 2, 4],
      flatPrior(2),
      [1, 3, 1],
    );
    const thrice = regress(
      [
        [1, 0],
        [1, 1],
        [1, 1],
        [1, 1],
        [1, 2],
      ],
      [1, 2, 2, 2, 4],
      flatPrior(2),
    );
    expect(once.mean[1]).toBeCloseTo(thrice.mean[1] ?? Number.NaN, 12);
    expect(once.rate).toBeCloseTo(thrice.rate, 12);
  });

  test('the worked market example (derived): posterior and predictive', () => {
    const seen = [
      [6, 1, 520],
      [12, 0, 445],
      [14, 1, 410],
      [20, -1, 300],
      [24, 0, 330],
      [30, -1, 225],
    ];
    const rows = seen.map(([months = 0, grade = 0]) => [1, months / 12, grade]);
    const y = seen.map(([, , price = 0]) => Math.log(price));
    const prior = {
      mean: [Math.log(600), -0.35, 0.12],
      precision: [0.25, 0.1, 0.06].map((spread) => (0.15 / spread) ** 2),
      shape: 3,
      rate: 0.0675,
    };
    const fit = regress(rows, y, prior);
    [6.3659875, -0.3280472, 0.1053644].forEach((want, j) => {
      expect(fit.mean[j]).toBeCloseTo(want, 7);
    });
    expect(fit.shape).toBe(6);
    expect(fit.rate).toBeCloseTo(0.0790762, 7);
    const value = predictAt(fit, [1, 1.5, 0]);
    expect(value.location).toBeCloseTo(5.8739167, 7);
    expect(value.scale).toBeCloseTo(0.1236288, 7);
    expect(value.degrees).toBe(12);
  });

  test('refuses what cannot be solved', () => {
    expect(() =>
      regress(
        [
          [1, 1],
          [1, 1],
        ],
        [1, 2],
        flatPrior(2),
      ),
    ).toThrow(RangeError);
    expect(() => regress([[1]], [1, 2], flatPrior(1))).toThrow(RangeError);
    expect(() => regress([[1, 2]], [1], flatPrior(1))).toThrow(RangeError);
  });
});
