/** Restore, strip or pass, worked out beside it by hand from the same phone and prices. */
import { describe, expect, it } from 'vitest';
import { fits } from '../../knowledge/features.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import type { Family, Remedy } from '../../knowledge/schema.ts';
import { type CollectiveSettings, defaultSettings } from '../../shared/collective/collective-settings.ts';
import { decisionProblemOf, keepsAfter } from '../../shared/diagnosis/decision-problem.ts';
import { leaves } from '../../shared/diagnosis/leaves.ts';
import { condition } from '../../shared/diagnosis/posterior.ts';
import type { Problem } from '../../shared/diagnosis/problem.ts';
import { repairOrder } from '../../shared/diagnosis/repair-order.ts';
import { economicsOf, type PartSighting } from '../../shared/economics/economics.ts';
import { expectedMin } from '../../shared/market/value.ts';
import { phoneStateOf } from '../../shared/phone/intake.ts';
import { type AppraisalQuestion, appraise, type WayOut } from '../../shared/worth/appraise.ts';

const knowledge = loadKnowledge();
const familyOf = (id: string): Family => {
  const found = knowledge.families.get(id);
  if (!found) throw new Error(`no family ${id}`);
  return found;
};
const family = familyOf('glued-front-home-sensor');
const now = new Date('2026-03-02T09:00:00Z');

interface Asked {
  symptoms?: string[];
  damage?: string[];
  price?: number;
  value?: number;
  settings?: Partial<CollectiveSettings>;
  parts?: PartSighting[];
  mendedBy?: Remedy;
  faulty?: boolean;
}
function ask({ symptoms = [], damage = [], price = 10, value = 200, parts = [], mendedBy, ...more }: Asked) {
  const settings = { ...defaultSettings, hourlyRate: 30, ...more.settings };
  const economics = economicsOf({ knowledge, family, settings, sightings: [], parts, grade: 0, value, now });
  const bench = decisionProblemOf({
    knowledge,
    family,
    symptoms,
    evidence: [],
    state: phoneStateOf(knowledge, symptoms),
    economics,
  });
  if (!bench) throw new Error('no case');
  const question: AppraisalQuestion = {
    knowledge,
    family,
    bench,
    economics,
    settings,
    price,
    damage,
    faulty: more.faulty ?? symptoms.length > 0,
    mendedBy: mendedBy ?? null,
  };
  return { economics, bench, settings, question, result: appraise(question) };
}
const way = (ways: readonly WayOut[], wanted: string): WayOut => {
  const found = ways.find((one) => one.way === wanted);
  if (!found) throw new Error(`no way to ${wanted}`);
  return found;
};
const remedy = (id: string): Remedy => {
  const found = knowledge.remedies.get(id);
  if (!found) throw new Error(`no remedy ${id}`);
  return found;
};

describe('known damage alone', () => {
  const motor: PartSighting = { component: 'vibration-motor', grade: 'original', price: 12 };
  const { id } = remedy('new-motor');

  it('costs its part, its consumables and its time, with opening and closing once', () => {
    const { economics, result } = ask({ damage: ['vibration-motor'], parts: [motor], price: 40 });
    const { known } = result;
    expect(known.remedies.map((one) => one.id)).toEqual([id]);
    expect(known.minutes).toBe(remedy(id).minutes + family.open.minutes + family.close.minutes);
    expect(known.parts).toBeCloseTo(12 + remedy(id).consumables * economics.partBase, 9);
    expect(known.keeps).toBeCloseTo(keepsAfter(knowledge, family, remedy(id)), 12);
    const restore = way(result.ways, 'restore');
    const spent = known.parts + known.minutes * 0.5;
    const sold = { ...economics.value, location: economics.value.location + Math.log(known.keeps) };
    expect(restore.outlay).toBeCloseTo(spent, 9);
    expect(restore.mean).toBeCloseTo(expectedMin(sold, economics.cap) * 0.95 - spent - 40, 9);
    expect(restore).toMatchObject({ minutes: known.minutes, chanceRestored: 1 });
    // Net an hour: the time is counted as cost already, so it is added back.
    expect(restore.perHour).toBeCloseTo((restore.mean + known.minutes * 0.5) / (known.minutes / 60), 9);
    expect(restore.low).toBeLessThan(restore.mean);
    expect(restore.high).toBeGreaterThan(restore.mean);
    expect(result).toMatchObject({ price: 40, nextCheck: null });
  });

  it('of two components opens once, and loses the worth of both', () => {
    const { economics, result } = ask({ damage: ['vibration-motor', 'speaker'] });
    const { remedies, minutes, keeps } = result.known;
    expect(remedies).toHaveLength(2);
    expect(minutes).toBe(
      remedies.reduce((sum, one) => sum + one.minutes, 0) + family.open.minutes + family.close.minutes,
    );
    expect(keeps).toBeCloseTo(
      remedies.reduce((product, one) => product * keepsAfter(knowledge, family, one), 1),
      12,
    );
    const parts = remedies.flatMap((one) =>
      one.parts.map(({ component, grade }) => economics.part(component, grade).price),
    );
    const consumables = remedies.map((one) => one.consumables * economics.partBase);
    expect(result.known.parts).toBeCloseTo(
      [...parts, ...consumables].reduce((sum, one) => sum + one, 0),
      9,
    );
  });

  it('beside a fault has its opening in the trace', () => {
    const alone = ask({ damage: ['vibration-motor'] }).result.known.minutes;
    const beside = ask({ damage: ['vibration-motor'], symptoms: ['dead'] }).result.known.minutes;
    expect(alone - beside).toBe(family.open.minutes + family.close.minutes);
  });

  it('is mended by the remedy that leaves most, by hand over all that mend it', () => {
    for (const parts of [[], [{ component: 'display-assembly', grade: 'copy', price: 5 } as const]]) {
      const { economics, result } = ask({ damage: ['display-assembly'], parts });
      const net = (one: Remedy) =>
        economics.takings * keepsAfter(knowledge, family, one) -
        one.minutes * economics.minute -
        one.parts.reduce((sum, part) => sum + economics.part(part.component, part.grade).price, 0);
      const mends = [...knowledge.remedies.values()].filter(
        (one) =>
          fits(family, one) &&
          one.parts.some(({ component }) => component === 'display-assembly') &&
          one.parts.every(({ component }) => component in family.components) &&
          Object.entries(one.works).some(
            ([fault, works]) => works >= 0.5 && knowledge.faults.get(fault)?.component === 'display-assembly',
          ),
      );
      expect(mends.length).toBeGreaterThan(1);
      const best = Math.max(...mends.map(net));
      const [chosen] = result.known.remedies;
      expect(chosen && net(chosen)).toBeCloseTo(best, 9);
    }
  });

  it('of a component that nothing mends is no work', () => {
    expect(ask({ damage: ['sim-tray-of-nothing'] }).result.known).toEqual({
      remedies: [],
      minutes: 0,
      parts: 0,
      keeps: 1,
    });
  });

  it('what has mended it lowers the worth, and costs nothing more', () => {
    const copy = remedy('copy-display');
    const { economics, result } = ask({ mendedBy: copy, faulty: false, price: 0 });
    const keeps = keepsAfter(knowledge, family, copy);
    expect(keeps).toBeLessThan(1);
    expect(result.known).toMatchObject({ remedies: [], minutes: 0, parts: 0 });
    const sold = { ...economics.value, location: economics.value.location + Math.log(keeps) };
    expect(way(result.ways, 'restore').mean).toBeCloseTo(expectedMin(sold, economics.cap) * 0.95, 9);
    expect(way(result.ways, 'restore').perHour).toBeNull();
  });
});

describe('a fault', () => {
  const traced = (more: Asked = {}) => ask({ symptoms: ['dead', 'no-charge'], ...more });

  it('costs what the plan costs, by its ways of ending', () => {
    const { bench, result, economics } = traced();
    const restore = way(result.ways, 'restore');
    const ends = leaves(result.plan, bench.minutes);
    expect(restore.minutes).toBeCloseTo(
      ends.reduce((sum, one) => sum + one.chance * one.spent, 0),
      9,
    );
    expect(restore.chanceRestored).toBeCloseTo(
      ends.reduce((sum, one) => sum + (one.end.kind === 'restored' ? one.chance : 0), 0),
      12,
    );
    // The plan's own value counts each sale at its mean, so the net is that value less the price.
    expect(restore.mean).toBeCloseTo(result.plan.value - 10, 0);
    expect(economics.takings).toBeGreaterThan(result.plan.value);
  });

  it('beside known damage: each ending by hand, the damage mended only where the phone is restored', () => {
    const { bench, economics, result } = traced({ damage: ['vibration-motor'], price: 25 });
    const { known } = result;
    expect(known.keeps).toBeGreaterThan(0);
    const extra = known.parts + known.minutes * economics.minute;
    expect(extra).toBeGreaterThan(1);
    const time = bench.stripMinutes * economics.minute;
    let [net, outlay] = [-25, 0];
    for (const { chance, cost, end } of leaves(result.plan, bench.minutes)) {
      if (end.kind === 'restored') {
        const keeps = keepsAfter(knowledge, family, remedy(end.remedy)) * known.keeps;
        const sale = { ...economics.value, location: economics.value.location + Math.log(keeps) };
        net += chance * (expectedMin(sale, economics.cap) * 0.95 - cost - extra);
        outlay += chance * (cost + extra);
      } else if (end.stop === 'strip') {
        const sale = { location: Math.log((end.value + time) / 0.95), scale: 0.25, degrees: 6 };
        net += chance * (expectedMin(sale, economics.cap) * 0.95 - time - cost);
        outlay += chance * (cost + time);
      } else {
        net -= chance * cost;
        outlay += chance * cost;
      }
    }
    expect(way(result.ways, 'restore').mean).toBeCloseTo(net, 9);
    expect(way(result.ways, 'restore').outlay).toBeCloseTo(outlay, 9);
  });

  it('of which one alone is likely has no worst and best', () => {
    let alone = 0;
    for (const symptom of knowledge.symptoms.keys()) {
      const economics = economicsOf({
        knowledge,
        family,
        settings: defaultSettings,
        sightings: [],
        parts: [],
        grade: 0,
        value: 200,
        now,
      });
      const found = decisionProblemOf({
        knowledge,
        family,
        symptoms: [symptom],
        evidence: [],
        state: phoneStateOf(knowledge, [symptom]),
        economics,
      });
      const likely = found?.problem.faults.filter(({ prior }) => prior >= 0.05).length ?? 0;
      if (likely !== 1) continue;
      alone += 1;
      const { result } = ask({ symptoms: [symptom] });
      expect(result.depends.map(({ on }) => on)).not.toContain('which fault it is');
    }
    expect(alone).toBeGreaterThan(0);
  });

  it('stripped: what is left after time and selling, by the same spread of parts', () => {
    const { bench, result } = traced({ price: 5, value: 900 });
    const strip = way(result.ways, 'strip');
    const time = bench.stripMinutes * 0.5;
    const sale = { location: Math.log((bench.stripValue + time) / 0.95), scale: 0.25, degrees: 6 };
    expect(strip.mean).toBeCloseTo(expectedMin(sale, result.price + 1e6) * 0.95 - time - 5, -1);
    expect(strip).toMatchObject({ minutes: bench.stripMinutes, chanceRestored: 0 });
    expect(strip.outlay).toBeCloseTo(time, 9);
  });

  it('passed on: nothing spent, nothing left', () => {
    expect(way(traced().result.ways, 'pass')).toEqual({
      way: 'pass',
      mean: 0,
      low: 0,
      high: 0,
      loss: 0,
      minutes: 0,
      perHour: null,
      outlay: 0,
      highest: null,
      chanceRestored: 0,
    });
  });

  it('is not stripped where the board cannot be reached', () => {
    const { result } = traced({ symptoms: ['swollen', 'dead'] });
    expect(result.ways.map((one) => one.way)).toEqual(['restore', 'pass']);
  });

  it('the verdict is the way that holds and leaves most, and the most worth paying is over all ways', () => {
    for (const price of [0, 10, 30, 60, 120, 400])
      for (const value of [60, 200, 600]) {
        const { result } = traced({ price, value });
        const holding = result.ways.filter(({ highest }) => highest !== null && highest >= price);
        const most = Math.max(...holding.map(({ mean }) => mean));
        if (holding.length) expect(way(result.ways, result.verdict).mean).toBe(most);
        else expect(result.verdict).toBe('pass');
        const highest = result.ways.flatMap((one) => one.highest ?? []);
        expect(result.highest).toBe(highest.length ? Math.max(...highest) : null);
      }
  });

  it('tax on the margin is r of 100 + r', () => {
    const sure = { damage: ['vibration-motor'], price: 40 };
    const [plain, taxed] = [0, 20].map((marginTax) =>
      way(ask({ ...sure, settings: { marginTax } }).result.ways, 'restore'),
    );
    const { economics, result } = ask(sure);
    const sold = { ...economics.value, location: economics.value.location + Math.log(result.known.keeps) };
    const margin = expectedMin(sold, economics.cap) - expectedMin(sold, 40);
    expect((plain?.mean ?? 0) - (taxed?.mean ?? 0)).toBeCloseTo(margin / 6, 9);
  });
});

describe('what the answer hangs on', () => {
  it('the sale, the parts and the time, each by hand; the widest first', () => {
    const { economics, result } = ask({ damage: ['vibration-motor'], price: 40 });
    const { known } = result;
    const { mean } = way(result.ways, 'restore');
    const on = (what: string) => result.depends.find((one) => one.on === what);
    const time = known.minutes * economics.minute;
    expect(on('time')?.low).toBeCloseTo(mean - time / 2, 9);
    expect(on('time')?.high).toBeCloseTo(mean + time / 2, 9);
    expect(on('parts')?.low).toBeCloseTo(mean - known.parts / 2, 9);
    expect(on('parts')?.high).toBeCloseTo(mean + 0.35 * known.parts, 9);
    const at = (p: number) => {
      const location = economics.value.location + Math.log(known.keeps) + economics.value.scale * p;
      return expectedMin({ ...economics.value, location }, economics.cap) * 0.95 - known.parts - time - 40;
    };
    expect(on('value')?.low).toBeCloseTo(at(-1.4), 9);
    expect(on('value')?.high).toBeCloseTo(at(1.4), 9);
    expect(on('fault')).toBeUndefined();
    expect(result.depends.map(({ on: what, from, to }) => [what, from, to])).toEqual(
      expect.arrayContaining([
        ['value', null, null],
        ['parts', null, null],
        ['time', null, null],
      ]),
    );
    const widths = result.depends.map(({ low, high }) => high - low);
    expect(widths).toEqual([...widths].sort((a, b) => b - a));
  });

  it('a fault’s parts and time are those of its plan', () => {
    const { bench, economics, result } = ask({ symptoms: ['dead', 'no-charge'], price: 10 });
    const { mean, minutes } = way(result.ways, 'restore');
    const parts = leaves(result.plan, bench.parts).reduce((sum, one) => sum + one.chance * one.spent, 0);
    expect(parts).toBeGreaterThan(0);
    const on = (what: string) => result.depends.find((one) => one.on === what);
    expect(on('parts')?.low).toBeCloseTo(mean - parts / 2, 9);
    expect(on('time')?.high).toBeCloseTo(mean + (minutes * economics.minute) / 2, 9);
  });

  it('which fault it is: the worst and the best of those likely enough to matter', () => {
    const { bench, economics, result } = ask({
      symptoms: ['dead', 'no-charge'],
      damage: ['speaker'],
      price: 10,
    });
    const { known } = result;
    const mending = known.parts + known.minutes * economics.minute;
    expect(mending).toBeGreaterThan(1);
    const ends = leaves(result.plan, bench.minutes);
    const nets = bench.problem.faults.flatMap((fault, f) => {
      if (fault.prior < 0.05) return [];
      let [net, weight] = [0, 0];
      for (const { chance, faultShare, end, cost } of ends) {
        const share = chance * (faultShare[f] ?? 0);
        net += share * ((end.kind === 'restored' ? end.worth : end.value) - cost);
        weight += share;
      }
      return [{ net: net / weight - 10 - mending, id: fault.id }];
    });
    nets.sort((a, b) => a.net - b.net);
    const which = result.depends.find((one) => one.on === 'fault');
    expect(which?.low).toBeCloseTo(nets[0]?.net ?? Number.NaN, 9);
    expect(which?.high).toBeCloseTo(nets.at(-1)?.net ?? Number.NaN, 9);
    expect(which).toMatchObject({ from: nets[0]?.id, to: nets.at(-1)?.id });
  });
});

describe('the check worth doing before buying', () => {
  /** Net of repairing in order after the belief, if one still buys. */
  const pays = (problem: Problem, belief: ArrayLike<number>, price: number, wanted: number): number => {
    const live = problem.faults.flatMap((_, f) => ((belief[f] ?? 0) > 1e-6 ? [f] : []));
    const total = live.reduce((sum, f) => sum + (belief[f] ?? 0), 0);
    const keep = <T>(list: readonly T[]): T[] => live.flatMap((f) => list.slice(f, f + 1));
    const { net } = repairOrder({
      ...problem,
      checks: [],
      faults: keep(problem.faults).map((fault, i) => ({
        ...fault,
        prior: (belief[live[i] ?? 0] ?? 0) / total,
      })),
      remedies: problem.remedies.map((one) => ({ ...one, works: keep(one.works) })),
      stops: problem.stops.map((stop) => ({ ...stop, byFault: keep(stop.byFault) })),
    });
    return Math.max(0, net - price - wanted);
  };

  it('is the closed, short, harmless one that gains most, by trying each', () => {
    let named = 0;
    for (const price of [0, 15, 45, 80, 5_000])
      for (const symptoms of [['no-charge'], ['dead', 'no-charge']]) {
        const { bench, economics, result, settings } = ask({ symptoms, price });
        const { problem } = bench;
        const prior = problem.faults.map((fault) => fault.prior);
        const restore = way(result.ways, 'restore');
        // Expected sales: E[min] of each ending, as the plan has it.
        const sales = leaves(result.plan).reduce((sum, { chance, end, faultShare }) => {
          if (end.kind === 'stop') {
            if (end.stop !== 'strip') return sum;
            expect(faultShare.length).toBe(prior.length);
            const time = bench.stripMinutes * economics.minute;
            const amount = (end.value + time) / (1 - economics.sellingCost);
            return amount > 0
              ? sum +
                  chance * expectedMin({ location: Math.log(amount), scale: 0.25, degrees: 6 }, economics.cap)
              : sum;
          }
          const keeps = keepsAfter(knowledge, family, remedy(end.remedy));
          const location = economics.value.location + Math.log(keeps);
          return sum + chance * expectedMin({ ...economics.value, location }, economics.cap);
        }, 0);
        expect(restore.outlay).toBeGreaterThan(0);
        const wanted = settings.margin * sales;
        const before = pays(problem, prior, price, wanted);
        const gains = problem.checks.flatMap((spec) => {
          const check = knowledge.checks.get(spec.id);
          if (check?.access !== 'closed' || check.minutes > 6 || check.hazards.length) return [];
          let expected = -spec.cost;
          for (const o of spec.outcomes.keys()) {
            const row = spec.given.map((chances) => chances[o] ?? 0);
            const chance = row.reduce((sum, one, f) => sum + one * (prior[f] ?? 0), 0);
            const after = condition(prior, row);
            if (after) expected += chance * pays(problem, after, price, wanted);
          }
          return [{ id: spec.id, gain: expected - before }];
        });
        const best = gains.sort((a, b) => b.gain - a.gain)[0];
        if (best && best.gain > 0.01 * economics.takings) {
          named += 1;
          expect(result.nextCheck?.id).toBe(best.id);
          expect(result.nextCheck?.gain).toBeCloseTo(best.gain, 9);
        } else expect(result.nextCheck).toBeNull();
      }
    expect(named).toBeGreaterThan(1);
    expect(named).toBeLessThan(10);
  });
});
