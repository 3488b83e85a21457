import { describe, expect, test } from 'vitest';
import { predictMarket } from '../../shared/market/predict.ts';
import type { MarketSettings } from '../../shared/market/settings.ts';
import { valueCdf } from '../../shared/market/value.ts';

// The worked market example: derived from the standard conjugate results by two independent programs.
const MONTH = (365.25 / 12) * 24 * 3600 * 1000;
const seen: [months: number, grade: number, price: number][] = [
  [6, 1, 520],
  [12, 0, 445],
  [14, 1, 410],
  [20, -1, 300],
  [24, 0, 330],
  [30, -1, 225],
];

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
    settings,
  });
  if (result === null) throw new Error('no prediction');
  return result;
}

const alike = { outlierDegrees: Infinity };

describe('worked market example', () => {
  test('all sightings alike: 355.639 [300.741, 420.559], P(<300) .0969536', () => {
    const value = at18Months(seen, alike);
    expect(value.median).toBeCloseTo(355.639, 3);
    expect(value.low).toBeCloseTo(300.741, 3);
    expect(value.high).toBeCloseTo(420.559, 3);
    expect(value.degrees).toBe(12);
    expect(valueCdf(value, 300)).toBeCloseTo(0.0969536, 7);
  });

  test('no sightings: 354.933 [221.379, 569.060]', () => {
    const value = at18Months([]);
    expect(value.median).toBeCloseTo(354.933, 3);
    expect(value.low).toBeCloseTo(221.379, 3);
    expect(value.high).toBeCloseTo(569.06, 3);
    expect(value).toMatchObject({ n: 0, priorShare: 1, rough: true, outliers: [] });
  });

  const withOutlier: typeof seen = [...seen, [24, 0, 90]];

  test('an outlier weighed like the rest: 300.708 [189.222, 477.877]', () => {
    const value = at18Months(withOutlier, alike);
    expect(value.median).toBeCloseTo(300.708, 3);
    expect(value.low).toBeCloseTo(189.222, 3);
    // On the log scale the range is symmetric: 300.7077^2 / 189.2223.
    expect(value.high).toBeCloseTo(477.877, 3);
  });

  test('an outlier under Student-t weights: its weight .0655, 350.934 [286.866, 429.310]', () => {
    const value = at18Months(withOutlier);
    expect(value.weights[6]).toBeCloseTo(0.0655, 4);
    expect(value.median).toBeCloseTo(350.934, 3);
    expect(value.low).toBeCloseTo(286.866, 3);
    expect(value.high).toBeCloseTo(429.31, 3);
    expect(value.outliers).toEqual([6]);
  });
});
