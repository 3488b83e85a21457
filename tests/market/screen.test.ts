import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type PhoneSighting, predictMarket } from '../../shared/market/predict.ts';
import { type ScreenQuestion, screenPartPrice, screenPrice } from '../../shared/market/screen.ts';
import { seeded } from '../diagnosis/random-problem.ts';
import { drawMarket } from './coverage.ts';

const DAY = 24 * 3600 * 1000;
const now = Date.UTC(2026, 2, 2);
const launched = now - 900 * DAY;
const sold = (daysAgo: number, price: number, by = `p${daysAgo}`): PhoneSighting => ({
  at: now - daysAgo * DAY,
  price,
  grade: 0,
  asked: false,
  by,
});
const seen = [250, 262, 244, 255, 239, 248].map((price, i) => sold(5 * i, price));
const screen = (price: PhoneSighting, more: Partial<ScreenQuestion> = {}) =>
  screenPrice({ price, sightings: seen, model: { launched, newPrice: 600 }, hour: 40, ...more });

describe('a price of a phone', () => {
  it('in line is kept without asking', () => {
    for (const price of [180, 220, 250, 280, 340]) expect(screen(sold(0, price)).doubt).toBeNull();
  });

  it('far out is asked about, with what was expected', () => {
    for (const [price, doubt] of [
      [25, 'far-below'],
      [90, 'far-below'],
      [590, 'far-above'],
      [2_500, 'above-new'],
    ] as const)
      expect(screen(sold(0, price))).toMatchObject({ doubt });
    const { expected, ratio, tail } = screen(sold(0, 25));
    expect(expected?.median).toBeGreaterThan(230);
    expect(expected?.median).toBeLessThan(270);
    expect(ratio).toBeCloseTo(25 / (expected?.median ?? 0), 12);
    expect(tail).toBeLessThan(0.001);
  });

  it('is held against such prices as it is: poor ones, asked ones, those of its day', () => {
    const expected = (more: Partial<PhoneSighting>) =>
      screen({ ...sold(0, 250), ...more }).expected?.median ?? 0;
    expect(expected({ grade: -2 })).toBeLessThan(expected({}));
    expect(expected({ asked: true })).toBeGreaterThan(expected({}));
    expect(expected({ at: now - 400 * DAY })).toBeGreaterThan(1.2 * expected({}));
    const plain = predictMarket({
      sightings: seen,
      now,
      model: { launched, newPrice: 600 },
      query: { grade: 1, storageLog2: 7 },
    });
    expect(expected({ grade: 1, storageLog2: 7 })).toBeCloseTo(plain?.median ?? 0, 9);
  });

  it('with a price when new alone: only what is out of all likelihood', () => {
    const alone = (price: number) => screen(sold(0, price), { sightings: [] }).doubt;
    expect([120, 200, 300, 500].map(alone)).toEqual([null, null, null, null]);
    expect([12, 760].map(alone)).toEqual(['far-below', 'above-new']);
  });

  it('of a model of which nothing is known: by what a bench hour costs', () => {
    const unknown = (price: number) => screen(sold(0, price), { sightings: [], model: {} });
    expect(unknown(60)).toEqual({ doubt: null, expected: null, ratio: null, tail: null });
    expect(unknown(0.5).doubt).toBe('no-phone-so-cheap');
    expect(unknown(6_000).doubt).toBe('no-phone-so-dear');
  });

  it('is not vouched for by what the same person told before', () => {
    const told = [2, 3, 4, 6].map((days) => sold(days, 25, 'odd'));
    const sightings = [...seen.slice(0, 3), ...told];
    expect(screen(sold(0, 25, 'odd'), { sightings }).doubt).toBe('far-below');
    // One other person and no price when new: who is right is open, so the next one is asked about whoever tells it.
    const open = { sightings: [sold(5, 250), ...told], model: {} };
    expect(screen(sold(0, 25, 'new'), open).doubt).toBeNull();
    expect(screen(sold(0, 25, 'odd'), open).doubt).toBe('far-below');
  });

  it('asks about few honest prices: at most 3 in 100, or 5 where no price was seen before', () => {
    const uniform = seeded(20_260_302);
    for (const n of [0, 3, 30]) {
      let asked = 0;
      for (let i = 0; i < 400; i += 1) {
        const { question, sale } = drawMarket('own', n, uniform);
        const price = { at: question.now, price: sale, grade: question.query.grade, asked: false };
        asked += Number(screenPrice({ ...question, price, hour: 40 }).doubt !== null);
      }
      expect(asked / 400).toBeLessThanOrEqual(n === 0 ? 0.05 : 0.03);
      expect(asked).toBeGreaterThan(0);
    }
  });

  it('once asked about, further out is asked about too', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 2_000, noNaN: true }),
        fc.double({ min: 1, max: 4, noNaN: true }),
        (price, factor) => {
          const { doubt, ratio } = screen(sold(0, price));
          if (doubt === null || ratio === null) return;
          const further = ratio < 1 ? price / factor : price * factor;
          expect(screen(sold(0, further)).doubt).not.toBeNull();
        },
      ),
      { numRuns: 200 },
    );
  });
});

it('a price of a part is asked about beyond three times its range', () => {
  const range = { low: 20, high: 45 };
  expect([7, 15, 30, 120, 136].map((price) => screenPartPrice(price, range))).toEqual([
    null,
    null,
    null,
    null,
    'far-above',
  ]);
  expect(screenPartPrice(6.5, range)).toBe('far-below');
});
