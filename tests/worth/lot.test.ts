/** A lot: by hand, against one phone alone, and against draws of what happens. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bearableOnLot, type LotPhone, lotAdvice } from '../../shared/worth/lot.ts';
import { type Stance, verdict, type WayPlan } from '../../shared/worth/verdict.ts';
import type { PlanNode } from '../../shared/worth/ways.ts';
import { seeded } from '../diagnosis/random-problem.ts';
import { end, step, sure } from './small-plans.ts';

const stance: Stance = {
  rate: 30,
  hour: 40,
  margin: 0.1,
  bearable: 160,
  fee: 0,
  taxFraction: 0,
  cap: 1_000,
  unit: 0.01,
};
const restore = (plan: PlanNode): WayPlan => ({ way: 'restore', plan });
const phone = (name: string, plan: PlanNode, more: Partial<LotPhone> = {}): LotPhone => ({
  name,
  plans: [restore(plan)],
  priced: true,
  ...more,
});
const risky = step(30, 20, [0.8, end({ restored: true, sale: sure(150) })], [0.2, end({ sale: sure(15) })]);

describe('by hand', () => {
  // 150 in 4 of 5, else 15 of parts; 30 of parts and 20 minutes at 30 an hour; a tenth of the sales wanted.
  const each = 0.9 * (0.8 * 150 + 0.2 * 15) - 30 - 10;

  it('what each adds and the whole can cost; one that adds nothing is left alone', () => {
    const found = lotAdvice({
      phones: [
        phone('a', risky),
        phone('b', risky, { count: 3 }),
        phone('c', step(90, 60, [1, end({ sale: sure(80) })])),
      ],
      stance,
      price: 100,
      bearable: 1e6,
    });
    expect(found.rows.map(({ way, adds, count }) => [way, count, Math.round(adds * 100) / 100])).toEqual([
      ['restore', 1, Math.round(each * 100) / 100],
      ['restore', 3, Math.round(each * 100) / 100],
      ['pass', 1, 0],
    ]);
    expect(found.bid).toBeCloseTo(4 * each, 1);
    expect(found.rows.map(({ ofBid }) => ofBid)).toEqual([
      expect.closeTo(each, 1),
      expect.closeTo(each, 1),
      0,
    ]);
    expect(found).toMatchObject({ buy: true, limit: 'margin', unpriced: [] });
    expect(found.mean).toBeCloseTo(4 * (0.8 * 150 + 0.2 * 15 - 40) - 100, 3);
    expect(found.minutes).toBeCloseTo(80, 9);
    expect(found.cash).toBeCloseTo(120, 9);
  });

  it('the worst tenth of four: two or more of them fail, by the binomial', () => {
    const found = lotAdvice({ phones: [phone('a', risky, { count: 4 })], stance, price: 100, bearable: 1e6 });
    const net = (failed: number) => (4 - failed) * 150 + failed * 15 - 4 * 40 - 100;
    const chance = [0, 1, 2, 3, 4].map((k) => ([1, 4, 6, 4, 1][k] ?? 0) * 0.2 ** k * 0.8 ** (4 - k));
    const [three, four] = [chance[3] ?? 0, chance[4] ?? 0];
    const worst = (four * net(4) + three * net(3) + (0.1 - four - three) * net(2)) / 0.1;
    expect(found.atRisk.independent).toBeCloseTo(Math.max(0, -worst), 0);
    // All at once: each loses its share of the price, and the parts that fetch 15.
    expect(found.atRisk.together).toBeCloseTo(4 * (40 + 25 - 15), 3);
    expect(found.loss).toBeCloseTo(four + three, 6);
  });

  it('what is not priced is named and not counted', () => {
    const found = lotAdvice({
      phones: [phone('a', risky), phone('b', risky, { priced: false })],
      stance,
      price: 0,
    });
    expect(found.unpriced).toEqual(['b']);
    expect(found.rows).toHaveLength(1);
    expect(lotAdvice({ phones: [phone('b', risky, { priced: false })], stance, price: 20 })).toMatchObject({
      buy: false,
      bid: null,
      limit: null,
      mean: -20,
      atRisk: { independent: 20, together: 20 },
    });
  });

  it('a count that is none is refused', () => {
    for (const count of [0, 1.5, -1])
      expect(() => lotAdvice({ phones: [phone('a', risky, { count })], stance, price: 0 })).toThrow('count');
  });
});

const money = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const anyPlan = fc
  .record({
    cash: money(0, 60),
    minutes: money(0, 60),
    chance: money(0.1, 0.95),
    median: money(20, 300),
    scale: money(0.05, 0.4),
  })
  .map(({ cash, minutes, chance, median, scale }) =>
    step(
      cash,
      minutes,
      [chance, end({ restored: true, sale: { location: Math.log(median), scale, degrees: 5 } })],
      [1 - chance, end()],
    ),
  );
const anyPhones = fc
  .array(fc.record({ plan: anyPlan, count: fc.integer({ min: 1, max: 4 }) }), { minLength: 1, maxLength: 5 })
  .map((list) => list.map(({ plan, count }, at) => phone(`p${at}`, plan, { count })));
const anyStance = fc
  .record({ taxFraction: fc.constantFrom(0, 1 / 6), fee: fc.constantFrom(0, 0.1), bearable: money(20, 300) })
  .map((some): Stance => ({ ...stance, ...some }));
const runs = { numRuns: 25 };
/** A machine that does other things as well takes its time. */
const LONG = { timeout: 600_000 };

it('one phone alone is as its own verdict', LONG, () => {
  fc.assert(
    fc.property(anyPlan, anyStance, money(0, 200), (plan, own, price) => {
      const found = lotAdvice({ phones: [phone('a', plan)], stance: own, price });
      const alone = verdict({ plans: [restore(plan)], stance: own, price, value: 'given' });
      if (alone.kind !== 'advice') throw new Error('no advice');
      const [way] = alone.ways.filter((one) => one.way !== 'pass');
      if (found.rows[0]?.way === 'pass') {
        expect(way?.highest).toBeNull();
        return;
      }
      // To a cell of the grid, a few thousandths of the range.
      if (way?.highest === null) expect(found.bid ?? 0).toBeLessThan(0.5);
      else expect(Math.abs((found.bid ?? -9) - (way?.highest ?? 0))).toBeLessThan(0.5);
      expect(found.mean).toBeCloseTo(way?.mean ?? Number.NaN, 6);
      expect(Math.abs(found.atRisk.independent - (way?.atRisk.total ?? 0))).toBeLessThan(0.5);
      expect(found.atRisk.together).toBeCloseTo(way?.atRisk.total ?? Number.NaN, 5);
    }),
    runs,
  );
});

it('is bought up to its bid and not above; the risk is at most that of all phones at once', LONG, () => {
  fc.assert(
    fc.property(anyPhones, anyStance, money(0, 400), (phones, own, price) => {
      const found = lotAdvice({ phones, stance: own, price });
      expect(found.buy).toBe(found.bid !== null && price <= found.bid + 1e-9);
      if (found.bid !== null) {
        const at = lotAdvice({ phones, stance: own, price: found.bid });
        expect(at.buy).toBe(true);
        expect(at.after).toBeGreaterThan(-1e-6);
        expect(at.atRisk.independent).toBeLessThan(at.bearable + 1e-6);
        expect(lotAdvice({ phones, stance: own, price: found.bid + 0.01 }).buy).toBe(false);
        const parts = found.rows.reduce((sum, { ofBid, count }) => sum + ofBid * count, 0);
        expect(parts).toBeCloseTo(found.bid, 6);
      }
      expect(found.atRisk.independent).toBeLessThanOrEqual(found.atRisk.together + 0.5);
      const richer = lotAdvice({ phones, stance: own, price, bearable: found.bearable + 100 });
      expect(richer.bid ?? -1).toBeGreaterThanOrEqual(found.bid ?? -1);
    }),
    runs,
  );
});

it('mean, loss and worst tenth of twelve phones by draws of what happens', () => {
  const uniform = seeded(20_260_306);
  const normal = () => Math.sqrt(-2 * Math.log(uniform() || 1e-300)) * Math.cos(2 * Math.PI * uniform());
  const student = (degrees: number) => {
    let chi = 0;
    for (let k = 0; k < degrees; k += 1) chi += normal() ** 2;
    return normal() / Math.sqrt(chi / degrees);
  };
  const parts = [120, 80, 200, 60].map((median, i) => ({ median, chance: 0.5 + 0.1 * i, cash: 20 + 5 * i }));
  const phones = parts.map(({ median, chance, cash }, at) =>
    phone(
      `p${at}`,
      step(
        cash,
        20,
        [chance, end({ restored: true, sale: { location: Math.log(median), scale: 0.25, degrees: 5 } })],
        [1 - chance, end()],
      ),
      { count: 3 },
    ),
  );
  const price = 300;
  const found = lotAdvice({ phones, stance, price, bearable: 1e6 });
  const nets = Array.from({ length: 40_000 }, () => {
    let net = -price;
    for (const { median, chance, cash } of parts)
      for (let i = 0; i < 3; i += 1) {
        net -= cash + 10;
        if (uniform() < chance) net += Math.min(stance.cap, median * Math.exp(0.25 * student(5)));
      }
    return net;
  }).sort((a, b) => a - b);
  const mean = nets.reduce((sum, one) => sum + one, 0) / nets.length;
  expect(Math.abs(found.mean - mean)).toBeLessThan((4 * 150) / 200);
  const worst = nets.slice(0, 4_000).reduce((sum, one) => sum + one, 0) / 4_000;
  expect(Math.abs(found.atRisk.independent + worst)).toBeLessThan(5);
  expect(Math.abs(found.loss - nets.filter((net) => net < 0).length / nets.length)).toBeLessThan(0.01);
});

it('what can be borne on a lot grows with the root of its size', () => {
  expect([1, 4, 9].map((n) => bearableOnLot(100, n))).toEqual([100, 200, 300]);
});
