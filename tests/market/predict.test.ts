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
  expect(() => predict([sold(0, 250), sold(1, 0), sold(2, 260)])).toThrow('above 0');
  for (const wrong of [{ at: Number.NaN }, { grade: Number.NaN }, { storageLog2: Infinity }])
    expect(() => predict([sold(0, 250), sold(1, 250, wrong)])).toThrow('finite numbers');
  expect(() => predict([], { query: { grade: Number.NaN } })).toThrow('finite numbers');
  expect(() => predict([], { now: Number.NaN })).toThrow('finite numbers');
});

describe('what is rough', () => {
  const like = (n: number) => Array.from({ length: n }, (_, i) => sold(i, 250));
  test('fewer than three sightings, though their range is narrow', () => {
    const two = predict(like(2), { settings: { spread: 0.03 } });
    expect(two.high / two.low).toBeLessThan(2);
    expect(two.rough).toBe(true);
    expect(predict(like(3), { settings: { spread: 0.03 } }).rough).toBe(false);
  });
  test('a top of more than twice the bottom, though there are many', () => {
    const wide = predict(like(12), { settings: { spread: 0.9, spreadShape: 40 } });
    expect(wide.high / wide.low).toBeGreaterThan(2);
    expect(wide.rough).toBe(true);
  });
  test('outliers hardly count as sightings', () => {
    // Four of which two are far off: about two that count.
    const mixed = predict([...like(2), sold(3, 2500), sold(4, 25)], { settings: { spread: 0.03 } });
    expect(mixed.outliers).toEqual([2, 3]);
    expect(mixed.rough).toBe(true);
  });
});

test('by hand: a price when new and no launch, three years give or take two', () => {
  // Level: ln 600 - .35 * 3, spread sqrt(.25^2 + (.35 * 2)^2 + (.1 * 3)^2); a single sale adds .15^2.
  const value = predict([], { model: { newPrice: 600 } });
  expect(value.location).toBeCloseTo(Math.log(600) - 1.05, 9);
  expect(value.scale).toBeCloseTo(Math.sqrt(0.15 ** 2 + 0.25 ** 2 + 0.7 ** 2 + 0.3 ** 2), 9);
  expect(value.degrees).toBe(6);
});

test('storage counts from that of the phone asked about, else from the middle of the sightings', () => {
  const seen = [sold(0, 250, { storageLog2: 6 }), sold(20, 270, { storageLog2: 8 }), sold(40, 255)];
  const asked = (storageLog2?: number) =>
    predict(seen, { query: { grade: 0, ...(storageLog2 === undefined ? {} : { storageLog2 }) } }).median;
  expect(asked()).toBeCloseTo(asked(7), 9);
  expect(asked(8)).toBeGreaterThan(asked(7));
  // A phone of the same storage as every sighting is priced as if storage did not matter.
  const same = [250, 255, 260].map((price, i) => sold(i, price, { storageLog2: 7 }));
  const plain = [250, 255, 260].map((price, i) => sold(i, price));
  expect(predict(same, { query: { grade: 0, storageLog2: 7 } }).median).toBeCloseTo(predict(plain).median, 9);
});

test('names what it was given, and what it took for a launch that is not known', () => {
  const named = (value: ReturnType<typeof predict>) =>
    value.inputs.filter(({ name }) => /^(sightings|newPrice|ageYears(Sd)?)$/.test(name));
  expect(named(predict([sold(0, 250)]))).toEqual([
    { name: 'sightings', value: 1, ground: { kind: 'given' } },
    { name: 'newPrice', value: 600, ground: { kind: 'given' } },
  ]);
  expect(named(predict([sold(0, 250)], { model: {} }))).toEqual([
    { name: 'sightings', value: 1, ground: { kind: 'given' } },
  ]);
  const assumed = { kind: 'assumed', why: expect.stringContaining('launch is not known') };
  expect(named(predict([], { model: { newPrice: 600 } })).slice(2)).toEqual([
    { name: 'ageYears', value: 3, ground: assumed },
    { name: 'ageYearsSd', value: 2, ground: assumed },
  ]);
});

test("a belief of the collective's own is its own, spread and all", () => {
  const { inputs } = predict([sold(0, 250)], { settings: { depreciation: { mean: -0.2, sd: 0.05 } } });
  for (const [name, number] of [
    ['depreciation', -0.2],
    ['depreciationSd', 0.05],
  ] as const)
    expect(inputs).toContainEqual({ name, value: number, ground: { kind: 'collective' } });
});

test('every belief of its own has a name and a reason', () => {
  const { inputs } = predict([sold(0, 250)]);
  const why = (name: string) => {
    const ground = inputs.find((one) => one.name === name)?.ground;
    return ground?.kind === 'assumed' ? ground.why : '';
  };
  for (const [name, wanted] of [
    ['gradeStepSd', 'no source'],
    ['gradeStep', 'from memory'],
    ['storageDoubling', 'from memory'],
    ['askedDiscount', 'no source'],
    ['newPriceSd', 'no source'],
    ['spread', 'no source'],
    ['spreadShape', 'six sightings'],
    ['outlierDegrees', 'heavy-tailed'],
  ] as const)
    expect(why(name), name).toContain(wanted);
});

describe('a recent fall', () => {
  const seen = [
    ...[120, 150, 180, 210, 240, 270, 300, 330].map((days) => sold(days, 300)),
    ...[2, 6, 12, 20, 30, 45, 60, 75].map((days) => sold(days, 225)),
  ];
  test('is followed', () => {
    expect(predict(seen).median).toBeGreaterThan(205);
    expect(predict(seen).median).toBeLessThan(235);
  });
  test('an old price says less of today than a new one', () => {
    const at = (days: number) => predict([sold(days, 300)]).priorShare;
    expect(at(0)).toBeLessThan(at(45));
    expect(at(45)).toBeLessThan(at(200));
  });
});

describe('who told it', () => {
  const others = ['a', 'b', 'c'].flatMap((by, i) => [
    sold(i, 250 + i, { by }),
    sold(20 + i, 255 - i, { by }),
  ]);
  test('four absurd prices of one person hardly move it', () => {
    for (const model of [{ launched, newPrice: 600 }, {}])
      for (const count of [3, 4, 6])
        for (const factor of [0.02, 0.2, 0.4, 2.5, 5, 50]) {
          const told = others.slice(0, count);
          const odd = Array.from({ length: 4 }, (_, i) => sold(1 + i, 250 * factor, { by: 'odd' }));
          const [before, after] = [predict(told, { model }), predict([...told, ...odd], { model })];
          expect(Math.abs(Math.log(after.median / before.median))).toBeLessThan(0.05);
          expect(after.high / after.low).toBeLessThan((before.high / before.low) * 1.2);
        }
  });
  test('of two people the one whom the price when new speaks for is believed', () => {
    const one = [sold(1, 250, { by: 'a' }), sold(30, 260, { by: 'a' })];
    for (const factor of [0.1, 8]) {
      const odd = Array.from({ length: 4 }, (_, i) => sold(1 + i, 250 * factor, { by: 'odd' }));
      expect(Math.abs(Math.log(predict([...one, ...odd]).median / predict(one).median))).toBeLessThan(0.1);
    }
  });
  test('many of one person count as their square root, and as many as all others told', () => {
    const many = (by?: string) =>
      Array.from({ length: 25 }, (_, i) => sold(i, 240 + (i % 7), by === undefined ? {} : { by }));
    const share = (by?: string) => predict(many(by)).priorShare;
    expect(share('a')).toBeGreaterThan(share());
    expect(share('a')).toBeLessThan(predict(many().slice(0, 3)).priorShare);
    // Where nobody told more than the others together, all count whole.
    const pairs = others.map(({ by: _, ...one }) => one);
    expect(predict(others).median).toBeCloseTo(predict(pairs).median, 9);
  });
});
