import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type MarketQuestion, type PhoneSighting, predictMarket } from '../../shared/market/predict.ts';

const DAY = 24 * 3600 * 1000;
const now = Date.UTC(2026, 2, 2);
const launched = now - 900 * DAY;

const sold = (daysAgo: number, price: number, more: Partial<PhoneSighting> = {}): PhoneSighting => ({
  at: now - daysAgo * DAY,
  price,
  grade: 0,
  asked: false,
  ...more,
});

function predict(sightings: PhoneSighting[], more: Partial<MarketQuestion> = {}) {
  const result = predictMarket({
    sightings,
    now,
    model: { launched, newPrice: 600 },
    query: { grade: 0 },
    ...more,
  });
  if (result === null) throw new Error('no prediction');
  return result;
}

const anySightings = fc.array(
  fc.record({
    at: fc.integer({ min: 0, max: 900 }).map((days) => now - days * DAY),
    price: fc.double({ min: 100, max: 500, noNaN: true }),
    grade: fc.integer({ min: -2, max: 2 }),
    asked: fc.boolean(),
    storageLog2: fc.integer({ min: 4, max: 10 }),
  }),
  { maxLength: 12 },
);

test('with neither a sighting nor a price when new there is no answer', () => {
  expect(predictMarket({ sightings: [], now, model: { launched }, query: { grade: 0 } })).toBeNull();
});

describe('prior and sightings', () => {
  test('each sighting takes from the share of the prior', () => {
    const shares = [0, 1, 2, 4, 8].map(
      (n) => predict(Array.from({ length: n }, (_, i) => sold(i, 250))).priorShare,
    );
    expect(shares[0]).toBe(1);
    expect(shares).toEqual([...shares].sort((a, b) => b - a));
    expect(new Set(shares).size).toBe(5);
  });

  test('many like sales carry the answer and are not rough', () => {
    const value = predict(Array.from({ length: 20 }, (_, i) => sold(i, 300 + (i % 5))));
    expect(value.median).toBeGreaterThan(290);
    expect(value.median).toBeLessThan(310);
    expect(value.rough).toBe(false);
    expect(value.high / value.low).toBeLessThan(1.3);
  });

  test('works without a price when new, and without a launch', () => {
    const value = predict([sold(0, 250), sold(10, 260), sold(30, 255)], { model: {} });
    expect(value.median).toBeGreaterThan(240);
    expect(value.median).toBeLessThan(270);
    expect(value.priorShare).toBeLessThan(0.05);
    const unknownAge = predict([], { model: { newPrice: 600 } });
    const knownAge = predict([], { model: { newPrice: 600, launched: now - 3 * 365.25 * DAY } });
    expect(unknownAge.median).toBeCloseTo(knownAge.median, 6);
    expect(unknownAge.high / unknownAge.low).toBeGreaterThan(knownAge.high / knownAge.low);
    expect(unknownAge.rough).toBe(true);
  });

  test('dates may be given as Date or as milliseconds', () => {
    const dates = predict([sold(0, 250, { at: new Date(now) })], {
      now: new Date(now),
      model: { launched: new Date(launched), newPrice: 600 },
    });
    expect(dates.median).toBe(predict([sold(0, 250)]).median);
  });
});

describe('what moves the answer', () => {
  test('an asked price counts for less than the same price sold', () => {
    const prices = [250, 255, 260];
    const asked = predict(prices.map((price, i) => sold(i, price, { asked: true })));
    const dealt = predict(prices.map((price, i) => sold(i, price)));
    expect(asked.median).toBeLessThan(dealt.median);
    expect(asked.high / asked.low).toBeGreaterThan(dealt.high / dealt.low);
    const free = predict(
      prices.map((price, i) => sold(i, price, { asked: true })),
      {
        settings: { askedDiscount: { mean: 0, sd: 0.001 } },
      },
    );
    expect(free.median).toBeCloseTo(dealt.median, 1);
  });

  test('a better grade and more storage are worth more', () => {
    const seen = [sold(0, 250, { storageLog2: 6 }), sold(20, 240, { storageLog2: 6 })];
    const at = (grade: number, storageLog2: number) =>
      predict(seen, { query: { grade, storageLog2 } }).median;
    expect(at(1, 6)).toBeGreaterThan(at(0, 6));
    expect(at(-1, 6)).toBeLessThan(at(0, 6));
    expect(at(0, 8)).toBeGreaterThan(at(0, 6));
  });

  test('waiting a year lowers the price', () => {
    const later = predict([sold(0, 250)], { now: now + 365 * DAY });
    expect(later.median).toBeLessThan(predict([sold(0, 250)]).median * 0.85);
  });

  test('a far outlier is named and hardly counts', () => {
    const clean = [sold(1, 250), sold(5, 255), sold(9, 245), sold(20, 260), sold(30, 250)];
    for (const odd of [25, 2500]) {
      const value = predict([...clean, sold(3, odd)]);
      expect(value.outliers).toEqual([5]);
      expect(Math.abs(value.median / predict(clean).median - 1)).toBeLessThan(0.03);
    }
  });
});

test('quantiles are in order, shares between 0 and 1, and the same input gives the same answer', () => {
  fc.assert(
    fc.property(anySightings, fc.integer({ min: -2, max: 2 }), (sightings, grade) => {
      const value = predict(sightings, { query: { grade } });
      expect(value.low).toBeLessThan(value.median);
      expect(value.median).toBeLessThan(value.high);
      expect(value.priorShare).toBeGreaterThan(0);
      expect(value.priorShare).toBeLessThanOrEqual(1 + 1e-9);
      expect(predict(sightings, { query: { grade } })).toEqual(value);
    }),
  );
});

test('currency units do not matter: prices times 100 give the answer times 100', () => {
  fc.assert(
    fc.property(anySightings, (sightings) => {
      const scaled = sightings.map((one) => ({ ...one, price: one.price * 100 }));
      const once = predict(sightings);
      const times = predict(scaled, { model: { launched, newPrice: 60_000 } });
      expect(times.median / once.median).toBeCloseTo(100, 4);
      expect(times.high / once.high).toBeCloseTo(100, 4);
    }),
  );
});

describe('grounds', () => {
  const ground = (value: ReturnType<typeof predict>, name: string) =>
    value.inputs.find((input) => input.name === name)?.ground;

  test('published, assumed, given and own numbers are told apart', () => {
    const value = predict([sold(0, 250)], { settings: { spread: 0.2 } });
    expect(ground(value, 'depreciation')?.kind).toBe('published');
    expect(ground(value, 'depreciationSd')?.kind).toBe('assumed');
    expect(ground(value, 'askedDiscount')?.kind).toBe('assumed');
    expect(ground(value, 'spread')).toEqual({ kind: 'collective' });
    expect(ground(value, 'newPrice')).toEqual({ kind: 'given' });
    expect(value.inputs.find((input) => input.name === 'spread')?.value).toBe(0.2);
  });

  test('an age that was not known is named as an assumption', () => {
    expect(ground(predict([], { model: { newPrice: 600 } }), 'ageYears')?.kind).toBe('assumed');
    expect(ground(predict([]), 'ageYears')).toBeUndefined();
  });
});

test('refuses prices and dates that are no numbers', () => {
  for (const price of [0, -5, Number.NaN, Infinity]) {
    expect(() => predict([sold(0, price)])).toThrow(RangeError);
    expect(() => predict([], { model: { newPrice: price } })).toThrow(RangeError);
  }
  expect(() => predict([sold(Number.NaN, 5)])).toThrow(RangeError);
});
