/** The verdict: by hand on small phones, and what must hold for any. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { predictMarket } from '../../shared/market/predict.ts';
import { expectedMin, type LogStudentT } from '../../shared/market/value.ts';
import { netMean, type Terms } from '../../shared/worth/net.ts';
import { worstShare } from '../../shared/worth/shortfall.ts';
import {
  type Advice,
  adviceAtPrice,
  bearableByDefault,
  type Stance,
  type VerdictQuestion,
  verdict,
  type Way,
  type WayPlan,
  type WayResult,
} from '../../shared/worth/verdict.ts';
import { type End, outcomesOf, type PlanNode } from '../../shared/worth/ways.ts';
import { end, step, sure } from './small-plans.ts';

const about = (amount: number, scale = 0.2): LogStudentT => ({
  location: Math.log(amount),
  scale,
  degrees: 5,
});
const stance: Stance = {
  rate: 0,
  hour: 40,
  margin: 0,
  bearable: 1e9,
  fee: 0,
  taxFraction: 0,
  cap: 1_000,
  unit: 0.01,
};
const ask = (
  plans: WayPlan[],
  price = 0,
  more: Partial<Stance> = {},
  rest: Partial<VerdictQuestion> = {},
): Advice => {
  const found = verdict({ plans, stance: { ...stance, ...more }, price, value: 'sightings', ...rest });
  if (found.kind !== 'advice') throw new Error('no advice');
  return found;
};
const way = (advice: { ways: WayResult[] }, wanted: Way): WayResult => {
  const found = advice.ways.find((one) => one.way === wanted);
  if (!found) throw new Error(`no way to ${wanted}`);
  return found;
};
const sold = (amount: number, more: Partial<End> = {}) =>
  end({ restored: true, sale: sure(amount), ...more });

describe('by hand', () => {
  // Looked at for a quarter of an hour; boots 3 in 5, then a cell for 28 that works 9 in 10. Sells for 120; parts fetch 10.
  const stop = end({ sale: sure(10) });
  const look: WayPlan = {
    way: 'restore',
    plan: step(0, 15, [0.6, step(28, 10, [0.9, sold(120)], [0.1, stop])], [0.4, stop]),
  };
  const strip: WayPlan = { way: 'strip', plan: end({ sale: sure(18), minutes: 12 }) };

  it('looks first, and each way has its own numbers', () => {
    const advice = ask([look, strip], 20, { rate: 30 });
    expect(advice.way).toBe('look-first');
    const found = way(advice, 'look-first');
    const minutes = 15 + 0.6 * 10;
    expect(found.minutes).toBeCloseTo(minutes, 9);
    expect(found.cash).toBeCloseTo(0.6 * 28, 9);
    expect(found.restored).toBeCloseTo(0.54, 9);
    const net = 0.54 * 120 + 0.46 * 10 - 0.6 * 28 - minutes / 2;
    expect(found.mean).toBeCloseTo(net - 20, 3);
    expect(found.highest).toBeCloseTo(Math.floor(net * 100) / 100, 6);
    expect(found.perHour).toBeCloseTo((net - 20 + minutes / 2) / (minutes / 60), 3);
    expect(found.gates).toMatchObject([
      { cash: expect.closeTo(28, 9), minutesBefore: 15, restored: expect.closeTo(0.9, 9) },
    ]);
    const parts = way(advice, 'strip');
    expect(parts).toMatchObject({ minutes: 12, cash: 0, restored: 0, gates: [] });
    expect(parts.highest).toBeCloseTo(12, 2);
    expect(advice.highest).toBe(found.highest);
  });

  it('one time in ten you are out so much: money and minutes apart', () => {
    // The worst tenth: all of the .06 that had a cell put in for nothing, and .04 of those that stayed dead.
    const { atRisk } = way(ask([look], 0, { rate: 30 }), 'look-first');
    expect(atRisk.parts).toBeCloseTo(0.6 * 28, 6);
    expect(atRisk.minutes).toBeCloseTo(0.6 * 25 + 0.4 * 15, 6);
    expect(atRisk.takings).toBeCloseTo(10, 3);
    expect(atRisk.cash).toBeCloseTo(0.6 * 28 - 10, 3);
    expect(atRisk.total).toBeCloseTo(0.6 * 28 - 10 + 21 / 2, 3);
    const paid = way(ask([look], 26, { rate: 30 }), 'look-first').atRisk;
    expect(paid.cash - atRisk.cash).toBeCloseTo(26, 6);
    expect(paid.takings).toBeCloseTo(10, 3);
  });

  it('a chance of a loss is shown and is no wall', () => {
    // Three minutes that come to nothing 3 times in 5.
    const plan: WayPlan = { way: 'restore', plan: step(0, 3, [0.6, end()], [0.4, sold(40)]) };
    const advice = ask([plan], 0, { rate: 60, bearable: bearableByDefault(40) });
    expect(advice.way).toBe('look-first');
    expect(way(advice, 'look-first').loss).toBeCloseTo(0.6, 9);
    expect(way(advice, 'look-first').atRisk.total).toBeCloseTo(3, 6);
  });

  it('more than can be borne is passed, and the limit says why', () => {
    const dear: WayPlan = { way: 'restore', plan: step(0, 0, [0.8, sold(500)], [0.2, end()]) };
    const at = (bearable: number) => ask([dear], 200, { bearable });
    expect(at(150).way).toBe('pass');
    expect(way(at(150), 'look-first')).toMatchObject({ limit: 'risk' });
    // The worst tenth is wholly the loss of the price: 150 can be borne.
    expect(way(at(150), 'look-first').highest).toBeCloseTo(150, 6);
    expect(at(200).way).toBe('look-first');
    expect(way(at(1e9), 'look-first')).toMatchObject({ limit: 'margin' });
    expect(way(at(1e9), 'look-first').highest).toBeCloseTo(400, 3);
  });

  it('the wanted margin is a share of the sales', () => {
    const plan: WayPlan = { way: 'restore', plan: step(100, 0, [1, sold(200)]) };
    expect(ask([plan], 0, { margin: 0.2 }).highest).toBeCloseTo(60, 3);
    expect(way(ask([plan], 50, { margin: 0.2 }), 'restore')).toMatchObject({
      mean: expect.closeTo(50, 3),
      after: expect.closeTo(10, 3),
    });
  });

  it('tax on the margin: 200 sold, 100 spent, a sixth of the margin', () => {
    const plan: WayPlan = { way: 'restore', plan: step(100, 0, [1, sold(200)]) };
    // 200 - 100 - p - (200 - p)/6 = 0.
    expect(ask([plan], 0, { taxFraction: 1 / 6 }).highest).toBeCloseTo((100 - 200 / 6) / (5 / 6), 2);
  });

  it('kept in use it is worth its value: no cost of selling, no tax, no margin', () => {
    const plan: WayPlan = {
      way: 'restore',
      plan: step(60, 0, [0.9, sold(200)], [0.1, end({ sale: sure(20) })]),
    };
    const more = { fee: 0.1, taxFraction: 1 / 6, margin: 0.3 };
    expect(way(ask([plan], 0, more, { kept: true }), 'restore').mean).toBeCloseTo(
      0.9 * 200 + 0.1 * 18 - 60,
      3,
    );
    expect(way(ask([plan], 0, more), 'restore').mean).toBeLessThan(100);
  });

  it('handed on to someone qualified: the fee is in it', () => {
    const swollen: WayPlan = {
      way: 'hand-on',
      plan: end({ cash: 55, minutes: 10, restored: true, sale: sure(120) }),
    };
    expect(ask([swollen], 80).way).toBe('pass');
    expect(ask([swollen], 80)).toMatchObject({ highest: expect.closeTo(65, 2) });
    expect(ask([swollen], 60).way).toBe('hand-on');
  });

  it('nothing at all is no way: a phone of no worth is passed even as a gift', () => {
    const advice = ask([{ way: 'strip', plan: end() }]);
    expect(advice).toMatchObject({ way: 'pass', highest: null, closest: null });
    expect(way(advice, 'strip')).toMatchObject({ highest: null, limit: 'margin' });
  });
});

describe('given time', () => {
  it('of ways that leave the same the shorter', () => {
    const long: WayPlan = { way: 'restore', plan: step(0, 180, [1, sold(30)]) };
    const short: WayPlan = { way: 'sell-as-is', plan: end({ sale: sure(30), minutes: 5 }) };
    expect(ask([long, short]).way).toBe('sell-as-is');
    expect(ask([short, long]).way).toBe('sell-as-is');
    // Not where the longer one leaves clearly more.
    const better: WayPlan = { way: 'restore', plan: step(0, 180, [1, sold(60)]) };
    expect(ask([short, better]).way).toBe('restore');
  });

  it('many hours for little are told, a good hour and a short one are not', () => {
    const plan = (minutes: number, amount: number): WayPlan => ({
      way: 'restore',
      plan: step(0, minutes, [1, sold(amount)]),
    });
    expect(ask([plan(180, 15)]).littleForHours).toEqual({ minutes: 180, perHour: expect.closeTo(5, 3) });
    expect(ask([plan(180, 90)]).littleForHours).toBeNull();
    expect(ask([plan(30, 2)]).littleForHours).toBeNull();
    // Time that is paid for is in the price already.
    expect(ask([plan(180, 90)], 0, { rate: 28 }).littleForHours).toBeNull();
  });
});

it('four absurd prices of one person do not turn it', () => {
  const DAY = 24 * 3600 * 1000;
  const now = Date.UTC(2026, 2, 2);
  const honest = [250, 262, 244, 255].map((price, i) => ({
    at: now - 9 * i * DAY,
    price,
    grade: 0,
    asked: false,
    by: `p${i % 2}`,
  }));
  const advise = (sightings: typeof honest, price: number) => {
    const value = predictMarket({ sightings, now, model: { newPrice: 600 }, query: { grade: 0 } });
    if (!value) throw new Error('no value');
    const plan = step(60, 45, [0.85, end({ restored: true, sale: value })], [0.15, end({ sale: sure(20) })]);
    return ask([{ way: 'restore', plan }], price, {
      margin: 0.1,
      fee: 0.05,
      rate: 30,
      bearable: bearableByDefault(40),
    });
  };
  const most = advise(honest, 0).highest ?? 0;
  expect(most).toBeGreaterThan(60);
  for (const factor of [0.02, 0.2, 5, 50]) {
    const odd = [1, 2, 3, 4].map((day) => ({
      at: now - day * DAY,
      price: 250 * factor,
      grade: 0,
      asked: false,
      by: 'odd',
    }));
    const told = [...honest, ...odd];
    expect(Math.abs((advise(told, 0).highest ?? 0) / most - 1)).toBeLessThan(0.1);
    for (const price of [0, 0.85 * most, 1.15 * most])
      expect(advise(told, price).way).toBe(advise(honest, price).way);
  }
});

describe('without a price that rests on something', () => {
  it('there is a table and what is needed, and no advice', () => {
    const plan: WayPlan = { way: 'restore', plan: step(10, 20, [1, sold(200)]) };
    const found = verdict({ plans: [plan], stance, price: 0, value: 'stand-in' });
    expect(found).toMatchObject({ kind: 'no-price', needs: ['sighting', 'new-price', 'value'] });
    expect('way' in found).toBe(false);
    expect(found.ways.map((one) => one.way)).toEqual(['restore']);
  });
});

describe('the closest call', () => {
  const restore: WayPlan = { way: 'restore', plan: step(50, 0, [1, sold(200)]) };
  const parts: WayPlan = { way: 'strip', plan: end({ sale: sure(30) }) };
  it('is the price at which the advice changes, from above and from below', () => {
    for (const price of [0, 100, 149.99, 151, 170, 300]) {
      const { closest } = ask([restore, parts], price);
      expect(closest).toEqual({ price: expect.closeTo(150, 1), below: 'restore', above: 'pass' });
    }
  });
  it('with less that can be borne: restoring up to there, then parts, then neither', () => {
    const risky: WayPlan = { way: 'restore', plan: step(50, 0, [0.85, sold(300)], [0.15, end()]) };
    const at = (price: number) => ask([risky, parts], price, { bearable: 60 });
    expect(at(0).closest).toEqual({ price: expect.closeTo(10, 2), below: 'restore', above: 'strip' });
    expect(at(25).way).toBe('strip');
    expect(at(25).closest).toEqual({ price: expect.closeTo(30, 1), below: 'strip', above: 'pass' });
    expect(at(40).closest).toMatchObject({ below: 'strip', above: 'pass' });
  });
});

const money = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const anyEnd = fc
  .record({
    median: money(5, 500),
    scale: money(0.05, 0.5),
    sells: fc.boolean(),
    restored: fc.boolean(),
    minutes: money(0, 30),
  })
  .map(({ median, scale, sells, restored, minutes }) =>
    end({ restored: restored && sells, minutes, sale: sells ? about(median, scale) : null }),
  );
const anyPlan = fc
  .record({
    cash: money(0, 120),
    minutes: money(0, 120),
    look: fc.option(money(1, 30), { nil: undefined }),
    chance: money(0.05, 0.95),
    ends: fc.tuple(anyEnd, anyEnd, anyEnd),
  })
  .map(({ cash, minutes, look, chance, ends: [good, bad, left] }): PlanNode => {
    const work = step(cash, minutes, [chance, good], [1 - chance, bad]);
    return look === undefined ? work : step(0, look, [chance, work], [1 - chance, left]);
  });
const anyPlans = fc.tuple(anyPlan, anyPlan, anyPlan).map(([one, two, three]): WayPlan[] => [
  { way: 'restore', plan: one },
  { way: 'strip', plan: two },
  { way: 'sell-as-is', plan: three },
]);
const anyStance = fc
  .record({
    rate: fc.constantFrom(0, 0, 20, 60),
    margin: fc.constantFrom(0, 0.1, 0.25),
    bearable: money(5, 400),
    fee: fc.constantFrom(0, 0.05, 0.15),
    taxFraction: fc.constantFrom(0, 1 / 6, 0.19 / 1.19),
  })
  .map((some): Stance => ({ ...stance, ...some }));
const rank: Record<Way, number> = {
  restore: 1,
  'look-first': 1,
  strip: 1,
  'sell-as-is': 1,
  'hand-on': 1,
  pass: 0,
};
const runs = { numRuns: 80 };

describe('for any phone', { timeout: 600_000 }, () => {
  it('once passed, always passed: taken at a price, it is taken at every lower one', () => {
    fc.assert(
      fc.property(anyPlans, anyStance, money(0, 500), money(0.01, 200), (plans, own, price, more) => {
        const [low, high] = [price, price + more].map((at) => rank[ask(plans, at, own).way]);
        expect(low).toBeGreaterThanOrEqual(high ?? 0);
      }),
      runs,
    );
  });

  it('the highest price and the advice agree at that price and one unit above', () => {
    fc.assert(
      fc.property(anyPlans, anyStance, (plans, own) => {
        const question: VerdictQuestion = { plans, stance: own, price: 0, value: 'sightings' };
        const prices = ask(plans, 0, own).ways.flatMap(({ highest }) => highest ?? []);
        const most = prices.length ? Math.max(...prices) : null;
        if (most === null) {
          expect(adviceAtPrice(question, 0)).toBe('pass');
          return;
        }
        expect(adviceAtPrice(question, most)).not.toBe('pass');
        expect(adviceAtPrice(question, most + own.unit)).toBe('pass');
        // What passes says up to which price it would not have.
        expect(ask(plans, most + own.unit, own).highest).toBe(most);
      }),
      runs,
    );
  });

  it('each highest price is just where the mean or the worst tenth turns, by the distribution itself', () => {
    fc.assert(
      fc.property(anyPlans, anyStance, (plans, own) => {
        const { ways } = ask(plans, 0, own);
        for (const { way: kind, plan } of plans) {
          const outcomes = outcomesOf(plan);
          const terms: Terms = {
            ...own,
            endings: outcomes.map(({ chance, cash, minutes, sale }) => ({
              chance,
              cost: cash + (minutes * own.rate) / 60,
              sale,
            })),
          };
          const wanted =
            own.margin *
            outcomes.reduce(
              (sum, { chance, sale }) => sum + (sale ? chance * expectedMin(sale, own.cap) : 0),
              0,
            );
          const left = (price: number) =>
            Math.min(netMean(terms, price) - wanted, own.bearable + worstShare(terms, price, 0.1).mean);
          const found = ways.find(
            (one) => one.way === kind || (kind === 'restore' && one.way === 'look-first'),
          );
          if (found?.highest === null) expect(left(0)).toBeLessThan(own.unit);
          else {
            expect(left(found?.highest ?? 0)).toBeGreaterThan(-1e-6);
            expect(left((found?.highest ?? 0) + own.unit)).toBeLessThan(1e-6);
          }
        }
      }),
      { numRuns: 60 },
    );
  });

  it('more money that can be borne never shrinks what is taken', () => {
    fc.assert(
      fc.property(anyPlans, anyStance, money(0, 400), money(1, 300), (plans, own, price, more) => {
        const richer = { ...own, bearable: own.bearable + more };
        const [before, after] = [ask(plans, price, own), ask(plans, price, richer)];
        expect(rank[after.way]).toBeGreaterThanOrEqual(rank[before.way]);
        for (const one of before.ways)
          expect(way(after, one.way).highest ?? -1).toBeGreaterThanOrEqual(one.highest ?? -1);
      }),
      runs,
    );
  });

  it('a higher wanted margin, dearer parts or dearer time never raise a highest price', () => {
    fc.assert(
      fc.property(anyPlans, anyStance, money(1, 60), (plans, own, more) => {
        const dearer = plans.map(
          ({ way: kind, plan }): WayPlan => ({ way: kind, plan: { ...plan, cash: plan.cash + more } }),
        );
        const before = ask(plans, 0, own).ways;
        const top = (list: WayResult[]) => Math.max(-1, ...list.flatMap(({ highest }) => highest ?? []));
        for (const worse of [
          ask(dearer, 0, own),
          ask(plans, 0, { ...own, margin: own.margin + 0.1 }),
          ask(plans, 0, { ...own, rate: own.rate + more }),
        ])
          expect(top(worse.ways)).toBeLessThanOrEqual(top(before) + 1e-6);
      }),
      runs,
    );
  });

  it('a sure gain beside a way never adds risk, and never turns it away', () => {
    fc.assert(
      fc.property(anyPlans, anyStance, money(0, 300), money(0.5, 80), (plans, own, price, gain) => {
        const richer = plans.map(
          ({ way: kind, plan }): WayPlan => ({ way: kind, plan: { ...plan, cash: plan.cash - gain } }),
        );
        const [before, after] = [ask(plans, price, own), ask(richer, price, own)];
        expect(rank[after.way]).toBeGreaterThanOrEqual(rank[before.way]);
        const worst = (list: WayResult[], at: number) =>
          list.filter((one) => one.way !== 'pass')[at]?.atRisk.net;
        const byPlan = (question: WayPlan[], at: number) =>
          worst(ask(question.slice(at, at + 1), price, own).ways, 0) ?? 0;
        for (const at of plans.keys())
          expect(byPlan(richer, at)).toBeGreaterThanOrEqual(byPlan(plans, at) + gain - 1e-6);
      }),
      runs,
    );
  });

  it('the closest call is a price at which the advice does change, and no nearer one does', () => {
    fc.assert(
      fc.property(anyPlans, anyStance, money(0, 400), (plans, own, price) => {
        const question: VerdictQuestion = { plans, stance: own, price, value: 'sightings' };
        const { closest, way: now } = ask(plans, price, own);
        if (!closest) {
          for (const at of [0, 50, 400, 2_000]) expect(adviceAtPrice(question, at)).toBe(now);
          return;
        }
        expect(adviceAtPrice(question, closest.price)).toBe(closest.below);
        expect(adviceAtPrice(question, closest.price + own.unit)).toBe(closest.above);
        const nearer = Math.abs(closest.price - price) - 2 * own.unit;
        for (const share of [-0.99, -0.5, 0.5, 0.99])
          if (price + share * nearer >= 0 && nearer > 0)
            expect(adviceAtPrice(question, price + share * nearer)).toBe(now);
      }),
      runs,
    );
  });

  it('the numbers of a way are of that way alone', () => {
    fc.assert(
      fc.property(anyPlans, anyStance, money(0, 300), (plans, own, price) => {
        const all = ask(plans, price, own).ways;
        for (const at of plans.keys()) {
          const [alone] = ask(plans.slice(at, at + 1), price, own).ways.filter((one) => one.way !== 'pass');
          expect(all).toContainEqual(alone);
        }
      }),
      { numRuns: 60 },
    );
  });

  it('money and time of the worst tenth make up what is lost there', () => {
    fc.assert(
      fc.property(anyPlans, anyStance, money(0, 300), (plans, own, price) => {
        for (const { atRisk, way: kind } of ask(plans, price, own).ways) {
          if (kind === 'pass') continue;
          expect(atRisk.cash + (atRisk.minutes * own.rate) / 60).toBeCloseTo(-atRisk.net, 6);
          expect(price + atRisk.parts - atRisk.takings).toBeCloseTo(atRisk.cash, 6);
          expect(atRisk.takings).toBeGreaterThanOrEqual(-1e-6);
          expect(atRisk.total).toBeCloseTo(Math.max(0, -atRisk.net), 9);
        }
      }),
      runs,
    );
  });
});
