import { describe, expect, it } from 'vitest';
import { loadKnowledge } from '../../knowledge/load.ts';
import { defaultSettings } from '../../shared/collective/collective-settings.ts';
import { type Economics, type EconomicsQuestion, economicsOf } from '../../shared/economics/economics.ts';
import { expectedMin } from '../../shared/market/value.ts';

const knowledge = loadKnowledge();
const family = knowledge.families.get('glued-front-home-sensor');
if (!family) throw new Error('no family');
const now = new Date('2026-03-02T09:00:00Z');
const asked = (more: Partial<EconomicsQuestion> = {}): Economics =>
  economicsOf({
    knowledge,
    family,
    settings: defaultSettings,
    sightings: [],
    parts: [],
    grade: 0,
    now,
    ...more,
  });
const input = ({ inputs }: Economics, name: string) => inputs.find((one) => one.name === name);
const orrin = { name: 'Orrin K3', launched: new Date('2023-09-01T00:00:00Z'), newPrice: 749 };
const seen = (price: number, day: string, more: object = {}) => ({
  at: new Date(`${day}T12:00:00Z`),
  price,
  grade: 0,
  asked: false,
  ...more,
});

describe('the hour', () => {
  it('is that of the currency until it is set, and a given hour counts a fiftieth', () => {
    // 60 Australian dollars an hour is a dollar a minute.
    expect(asked({ value: 200 }).minute).toBe(1);
    expect(input(asked({ value: 200 }), 'hourly rate')).toEqual({
      name: 'hourly rate',
      value: 60,
      ground: 'assumed',
      note: 'default of the currency; /setup rate:',
    });
    const at = (hourlyRate: number) => asked({ value: 200, settings: { ...defaultSettings, hourlyRate } });
    expect(at(30).minute).toBe(0.5);
    expect(input(at(30), 'hourly rate')).toEqual({
      name: 'hourly rate',
      value: 30,
      ground: 'collective',
      note: '/setup rate:',
    });
    expect(at(0).minute).toBeCloseTo((60 * 0.02) / 60, 12);
    expect(input(at(0), 'hourly rate')?.value).toBe(0);
  });
});

describe('what it sells for', () => {
  it('is what the asker gives, with a spread of a tenth', () => {
    const given = asked({ value: 200 });
    expect(given).toMatchObject({
      currency: 'AUD',
      market: null,
      standIn: false,
      sellingCost: 0.05,
      value: { location: Math.log(200), scale: 0.1, degrees: 6 },
    });
    expect(input(given, 'value when working (median)')).toEqual({
      name: 'value when working (median)',
      value: 200,
      ground: 'given',
    });
    expect(given.takings).toBeCloseTo(0.95 * expectedMin(given.value, given.cap), 9);
  });

  it('is a stand-in of four hours where nothing is known, and says so', () => {
    const none = asked();
    expect(none).toMatchObject({ standIn: true, value: { location: Math.log(240), scale: 0.5, degrees: 6 } });
    expect(input(none, 'value when working (median)')).toMatchObject({
      value: 240,
      ground: 'assumed',
      note: expect.stringContaining('no price is known'),
    });
  });

  it('comes from the market where there are prices, each of its beliefs with its ground', () => {
    const found = asked({ model: orrin, sightings: [seen(300, '2026-02-01'), seen(310, '2026-02-10')] });
    expect(found.standIn).toBe(false);
    expect(found.market?.n).toBe(2);
    expect(found.value.location).toBe(found.market?.location);
    expect(input(found, 'value when working (median)')).toMatchObject({
      value: Math.round((found.market?.median ?? 0) * 100) / 100,
      ground: 'computed',
      note: `2 sightings; ${Math.round((found.market?.priorShare ?? 0) * 100)} % of it is the prior`,
    });
    expect(input(found, 'market: depreciation')).toMatchObject({
      value: -0.35,
      ground: 'published',
      note: expect.stringContaining('as reported'),
    });
    expect(input(found, 'market: askedDiscount')).toMatchObject({
      ground: 'assumed',
      note: expect.stringMatching(/\w/),
    });
    expect(input(found, 'market: sightings')).toEqual({
      name: 'market: sightings',
      value: 2,
      ground: 'given',
    });
    // A given value goes before the market.
    expect(asked({ model: orrin, sightings: [seen(300, '2026-02-01')], value: 200 }).market).toBeNull();
  });

  it('asks the market about launch, grade and storage', () => {
    const sightings = [
      seen(300, '2026-02-01', { storageLog2: 6 }),
      seen(360, '2026-02-10', { storageLog2: 8 }),
      seen(250, '2025-02-10', { grade: -1, storageLog2: 6 }),
    ];
    const median = (more: Partial<EconomicsQuestion>) =>
      asked({ model: orrin, sightings, ...more }).market?.median ?? 0;
    expect(median({ grade: 1 })).toBeGreaterThan(median({ grade: 0 }));
    expect(median({ storageGb: 256 })).toBeGreaterThan(median({ storageGb: 64 }));
    const { launched: _, ...unknown } = orrin;
    expect(median({ model: unknown })).not.toBeCloseTo(median({}), 3);
    expect(median({ model: { ...orrin, newPrice: 1_200 } })).toBeGreaterThan(median({}));
  });
});

describe('what follows from it', () => {
  it('a price when new, given or 2.25 times today’s value', () => {
    expect(input(asked({ value: 200, model: orrin }), 'price when new')).toEqual({
      name: 'price when new',
      value: 749,
      ground: 'collective',
      note: '/family name',
    });
    expect(input(asked({ value: 200 }), 'price when new')).toEqual({
      name: 'price when new',
      value: 450,
      ground: 'assumed',
      note: "2.25 times today's value",
    });
  });

  it('the highest sale counted: the price when new, or three times today where that is more', () => {
    expect(asked({ value: 200, model: orrin }).cap).toBeCloseTo(749, 9);
    expect(asked({ value: 200 }).cap).toBeCloseTo(600, 9);
    expect(input(asked({ value: 200 }), 'highest sale counted')).toMatchObject({
      value: 600,
      ground: 'assumed',
      note: expect.stringContaining('heavy-tailed'),
    });
  });

  it('the base of part prices, a geometric mean', () => {
    expect(asked({ value: 200, model: orrin }).partBase).toBeCloseTo(Math.sqrt(749 * 200), 9);
    expect(input(asked({ value: 200 }), 'base of part prices')).toMatchObject({
      value: 300,
      ground: 'assumed',
      note: expect.stringContaining('geometric mean'),
    });
    expect(input(asked({ value: 200 }), 'selling cost')).toEqual({
      name: 'selling cost',
      value: 0.05,
      ground: 'collective',
      note: '/setup selling-cost:',
    });
  });
});

describe('a part', () => {
  it('costs what was seen for it in that grade: least, median, most', () => {
    const { part } = asked({
      value: 200,
      parts: [
        { component: 'battery', grade: 'copy', price: 30 },
        { component: 'battery', grade: 'copy', price: 10 },
        { component: 'battery', grade: 'copy', price: 14 },
        { component: 'battery', grade: 'original', price: 79 },
        { component: 'speaker', grade: 'copy', price: 1 },
      ],
    });
    expect(part('battery', 'copy')).toEqual({ low: 10, price: 14, high: 30, seen: 3, held: false });
    expect(part('battery', 'original')).toEqual({ low: 79, price: 79, high: 79, seen: 1, held: false });
    expect(part('battery', 'used').seen).toBe(0);
  });

  it('costs its share of the base else, less for lesser grades', () => {
    const { part } = asked({ value: 200 });
    const [low = 0, price = 0, high = 0] = knowledge.components.get('battery')?.partShare ?? [];
    for (const [grade, factor] of [
      ['original', 1],
      ['refurbished', 0.7],
      ['used', 0.55],
      ['copy', 0.45],
    ] as const) {
      const found = part('battery', grade);
      expect(found.low).toBeCloseTo(low * 300 * factor, 9);
      expect(found.price).toBeCloseTo(price * 300 * factor, 9);
      expect(found.high).toBeCloseTo(high * 300 * factor, 9);
      expect(found.seen).toBe(0);
    }
    // A component that the pack does not know: a twentieth, a tenth, a fifth.
    const unknown = part('antenna-of-nothing', 'original');
    expect([unknown.low, unknown.price, unknown.high].map((one) => Math.round(one * 1e6) / 1e6)).toEqual([
      15, 30, 60,
    ]);
  });
});
