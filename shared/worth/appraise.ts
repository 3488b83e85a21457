/** Restore, strip or pass: the whole answer for one phone at one price. */

import { fits } from '../../knowledge/features.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import type { Family, Remedy } from '../../knowledge/schema.ts';
import type { CollectiveSettings } from '../collective/collective-settings.ts';
import { type DecisionProblem, keepsAfter, planFor } from '../diagnosis/decision-problem.ts';
import { type Leaf, leaves } from '../diagnosis/leaves.ts';
import type { Plan } from '../diagnosis/plan.ts';
import { condition } from '../diagnosis/posterior.ts';
import { repairOrder } from '../diagnosis/repair-order.ts';
import type { Economics } from '../economics/economics.ts';
import type { LogStudentT } from '../market/value.ts';
import { marginTaxFraction } from './margin-tax.ts';
import {
  expectedSales,
  highestPrice,
  type Limits,
  lossChance,
  netMean,
  netQuantile,
  type Scenario,
  type Terms,
} from './net.ts';

export type Way = 'restore' | 'strip' | 'pass';
export interface WayOut {
  way: Way;
  mean: number;
  low: number;
  high: number;
  loss: number;
  minutes: number;
  /** Expected net an hour of bench time; null where no time is spent. */
  perHour: number | null;
  /** Expected outlay besides the price. */
  outlay: number;
  highest: number | null;
  chanceRestored: number;
}

export const dependsOn = ['value', 'parts', 'time', 'fault'] as const;
export type DependsOn = (typeof dependsOn)[number];

export interface Appraisal {
  verdict: Way;
  price: number;
  ways: WayOut[];
  /** The most worth paying, over both ways; null when no price is. */
  highest: number | null;
  /** `from` and `to` are the faults at its two ends, where it depends on which one it is. */
  depends: { on: DependsOn; low: number; high: number; from: string | null; to: string | null }[];
  nextCheck: { id: string; gain: number } | null;
  plan: Plan;
  /** Work for damage that is already known. */
  known: { remedies: Remedy[]; minutes: number; parts: number; keeps: number };
}

export interface AppraisalQuestion {
  knowledge: Knowledge;
  family: Family;
  bench: DecisionProblem;
  economics: Economics;
  settings: CollectiveSettings;
  /** Price asked, in major units. */
  price: number;
  /** Components known to be broken, over and above the traced fault. */
  damage: readonly string[];
  /** False: nothing is wrong but the known damage. */
  faulty: boolean;
  /** What has mended it, where it works again; its cost is spent. */
  mendedBy: Remedy | null;
}

/** Parts sell for this much more or less, as a spread of the log price. Assumed. */
const SALVAGE_SPREAD = 0.25;
/** Checks that a buyer can do at the seller's table: closed, this many minutes at most, no hazard. */
const BUYER_MINUTES = 6;
/** A check that gains less than this share of the takings is not worth naming. Chosen. */
const LEAST_GAIN = 0.01;
const LEAST_SHARE = 1e-6;

const scaled = (value: LogStudentT, factor: number): LogStudentT => ({
  ...value,
  location: value.location + Math.log(factor),
});
const certain = (amount: number): LogStudentT | null =>
  amount > 0 ? { location: Math.log(amount), scale: SALVAGE_SPREAD, degrees: 6 } : null;

/** The remedy for a known broken component: the one that keeps the most worth for its cost. */
function remedyFor(question: AppraisalQuestion, component: string): Remedy | null {
  const { knowledge, family, economics } = question;
  const cost = (remedy: Remedy) =>
    remedy.minutes * economics.minute +
    remedy.parts.reduce((sum, part) => sum + economics.part(part.component, part.grade).price, 0);
  const candidates = [...knowledge.remedies.values()].filter(
    (remedy) =>
      fits(family, remedy) &&
      remedy.parts.some((part) => part.component === component) &&
      remedy.parts.every((part) => part.component in family.components) &&
      Object.entries(remedy.works).some(
        ([fault, works]) => works >= 0.5 && knowledge.faults.get(fault)?.component === component,
      ),
  );
  const net = (remedy: Remedy) => economics.takings * keepsAfter(knowledge, family, remedy) - cost(remedy);
  return candidates.sort((a, b) => net(b) - net(a) || (a.id < b.id ? -1 : 1))[0] ?? null;
}

function knownWork(question: AppraisalQuestion): Appraisal['known'] {
  const { knowledge, family, economics } = question;
  const remedies = question.damage.flatMap((component) => remedyFor(question, component) ?? []);
  const opens = remedies.some((remedy) => remedy.access !== 'closed');
  return {
    remedies,
    minutes:
      remedies.reduce((sum, remedy) => sum + remedy.minutes, 0) +
      (opens && !question.faulty ? family.open.minutes + family.close.minutes : 0),
    parts: remedies.reduce(
      (sum, remedy) =>
        sum +
        remedy.parts.reduce((all, part) => all + economics.part(part.component, part.grade).price, 0) +
        remedy.consumables * economics.partBase,
      0,
    ),
    keeps: [...remedies, ...(question.mendedBy ? [question.mendedBy] : [])].reduce(
      (keeps, remedy) => keeps * keepsAfter(knowledge, family, remedy),
      1,
    ),
  };
}

/** Stripped: `value` is what it leaves after selling and time; the ending has the sale and the time apart. */
function stripEnding(
  { bench, economics }: AppraisalQuestion,
  value: number,
  chance: number,
  spent: number,
): Scenario {
  const time = bench.stripMinutes * economics.minute;
  return { chance, cost: spent + time, sale: certain((value + time) / (1 - economics.sellingCost)) };
}

/** How the restoring plan ends, as a mixture; a strip along the way fetches what the plan expects of it. */
function restoreEndings(
  question: AppraisalQuestion,
  ends: readonly Leaf[],
  known: Appraisal['known'],
  value: LogStudentT,
): Scenario[] {
  const { knowledge, family, economics, faulty } = question;
  const extra = known.parts + known.minutes * economics.minute;
  if (!faulty) return [{ chance: 1, cost: extra, sale: scaled(value, known.keeps) }];
  return ends.map((leaf): Scenario => {
    if (leaf.end.kind === 'stop') {
      if (leaf.end.stop !== 'strip') return { chance: leaf.chance, cost: leaf.cost, sale: null };
      return stripEnding(question, leaf.end.value, leaf.chance, leaf.cost);
    }
    const remedy = knowledge.remedies.get(leaf.end.remedy);
    const keeps = (remedy ? keepsAfter(knowledge, family, remedy) : 1) * known.keeps;
    return { chance: leaf.chance, cost: leaf.cost + extra, sale: scaled(value, keeps) };
  });
}

/** What the phone leaves under each outcome of a check, before the price; nothing in it hangs on the price. */
interface BuyersLook {
  id: string;
  cost: number;
  outcomes: { chance: number; net: number }[];
}
interface BuyersLooks {
  knowledge: Knowledge;
  /** Without any check. */
  net: number;
  looks: BuyersLook[];
}
/** By plan: the same problem has the same plan, and people ask about a phone at one price after another. */
const looksKept = new WeakMap<Plan, BuyersLooks>();

/** Each outcome repaired in the repair order. */
function buyersLooks({ knowledge, bench: { problem } }: AppraisalQuestion): BuyersLooks {
  const prior = problem.faults.map((fault) => fault.prior);
  const netAfter = (belief: ArrayLike<number>): number => {
    const alive = problem.faults.map((_, i) => i).filter((i) => (belief[i] ?? 0) > LEAST_SHARE);
    const total = alive.reduce((sum, i) => sum + (belief[i] ?? 0), 0);
    const pick = <T>(list: readonly T[]): T[] => alive.flatMap((i) => list[i] ?? []);
    return repairOrder({
      ...problem,
      checks: [],
      faults: alive.map((i) => ({ id: problem.faults[i]?.id ?? '', prior: (belief[i] ?? 0) / total })),
      remedies: problem.remedies.map((remedy) => ({ ...remedy, works: pick(remedy.works) })),
      stops: problem.stops.map((stop) => ({ ...stop, byFault: pick(stop.byFault) })),
    }).net;
  };
  const looks = problem.checks.flatMap((spec): BuyersLook[] => {
    const check = knowledge.checks.get(spec.id);
    if (!check || spec.level > 0 || check.minutes > BUYER_MINUTES || check.hazards.length > 0) return [];
    const outcomes = spec.outcomes.flatMap((_, outcome) => {
      const row = spec.given.map((chances) => chances[outcome] ?? 0);
      const chance = row.reduce((sum, one, i) => sum + one * (prior[i] ?? 0), 0);
      const belief = condition(prior, row);
      return belief && chance > 0 ? [{ chance, net: netAfter(belief) }] : [];
    });
    return [{ id: spec.id, cost: spec.cost, outcomes }];
  });
  return { knowledge, net: netAfter(prior), looks };
}

/**
 * The check most worth doing before buying: with its outcome known one buys only where it still pays. One step ahead
 * (myopic value of information; Heckerman, Breese & Rommelse 1995).
 * `wanted`: the margin, in major units, that has to be left.
 */
function buyersCheck(
  question: AppraisalQuestion,
  found: Plan,
  price: number,
  wanted: number,
): Appraisal['nextCheck'] {
  const { knowledge, economics } = question;
  const before = looksKept.get(found);
  const { net, looks } = before?.knowledge === knowledge ? before : buyersLooks(question);
  looksKept.set(found, { knowledge, net, looks });
  const pays = (left: number): number => Math.max(0, left - price - wanted);
  const now = pays(net);
  let best: Appraisal['nextCheck'] = null;
  for (const { id, cost, outcomes } of looks) {
    const expected = outcomes.reduce((sum, { chance, net: left }) => sum + chance * pays(left), -cost);
    const gain = expected - now;
    if (gain > (best?.gain ?? LEAST_GAIN * economics.takings)) best = { id, gain };
  }
  return best;
}

/** Compares the three ways at the price asked. */
export function appraise(question: AppraisalQuestion): Appraisal {
  const { bench, economics, settings, price, faulty } = question;
  const found = planFor(bench);
  const known = knownWork(question);
  const shared = {
    fee: economics.sellingCost,
    taxFraction: marginTaxFraction(settings.marginTax),
    cap: economics.cap,
  };
  const limits: Limits = { margin: settings.margin, risk: settings.risk };
  const ends = leaves(found, bench.minutes);
  const planMinutes = faulty ? ends.reduce((sum, leaf) => sum + leaf.chance * leaf.spent, 0) : 0;
  const planParts = faulty
    ? leaves(found, bench.parts).reduce((sum, leaf) => sum + leaf.chance * leaf.spent, 0)
    : 0;
  const chanceRestored = faulty
    ? ends.reduce((sum, leaf) => sum + (leaf.end.kind === 'restored' ? leaf.chance : 0), 0)
    : 1;

  const restore: Terms = { ...shared, endings: restoreEndings(question, ends, known, economics.value) };
  const strip: Terms = { ...shared, endings: [stripEnding(question, bench.stripValue, 1, 0)] };
  const describe = (way: Way, terms: Terms, minutes: number, chance: number): WayOut => {
    const mean = netMean(terms, price);
    return {
      way,
      mean,
      low: netQuantile(terms, price, 0.1),
      high: netQuantile(terms, price, 0.9),
      loss: lossChance(terms, price),
      minutes,
      perHour: minutes > 0 ? (mean + minutes * economics.minute) / (minutes / 60) : null,
      outlay: terms.endings.reduce((sum, ending) => sum + ending.chance * ending.cost, 0),
      highest: highestPrice(terms, limits),
      chanceRestored: chance,
    };
  };
  const canStrip = bench.problem.stops.some((stop) => stop.id === 'strip');
  const ways: WayOut[] = [
    describe('restore', restore, planMinutes + known.minutes, chanceRestored),
    ...(canStrip ? [describe('strip', strip, bench.stripMinutes, 0)] : []),
    {
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
    },
  ];
  const holding = ways.filter((way) => way.highest !== null && way.highest >= price);
  const verdict = holding.sort((a, b) => b.mean - a.mean)[0]?.way ?? 'pass';
  const prices = ways.flatMap(({ highest }) => highest ?? []);

  const mean = netMean(restore, price);
  const withValue = (p: number) => {
    const shift = Math.exp(economics.value.scale * p);
    return netMean(
      { ...restore, endings: restoreEndings(question, ends, known, scaled(economics.value, shift)) },
      price,
    );
  };
  // A t quantile of 1.4 is near the 10 and 90 % points for the degrees met here.
  const depends: Appraisal['depends'] = [
    {
      on: 'value',
      low: withValue(-1.4),
      high: withValue(1.4),
      from: null,
      to: null,
    },
    {
      on: 'parts',
      low: mean - 0.5 * (planParts + known.parts),
      high: mean + 0.35 * (planParts + known.parts),
      from: null,
      to: null,
    },
    {
      on: 'time',
      low: mean - 0.5 * (planMinutes + known.minutes) * economics.minute,
      high: mean + 0.5 * (planMinutes + known.minutes) * economics.minute,
      from: null,
      to: null,
    },
  ];
  if (faulty) {
    const byFault = bench.problem.faults.map((_, i) => {
      let net = 0;
      let weight = 0;
      for (const leaf of ends) {
        const share = leaf.chance * (leaf.faultShare[i] ?? 0);
        const end = leaf.end.kind === 'restored' ? leaf.end.worth : leaf.end.value;
        net += share * (end - leaf.cost);
        weight += share;
      }
      return weight > 0 ? net / weight - price - known.parts - known.minutes * economics.minute : 0;
    });
    // Worst and best among the faults that are likely enough to matter.
    const likely = byFault.flatMap((net, i) =>
      (bench.problem.faults[i]?.prior ?? 0) >= 0.05 ? [{ net, i }] : [],
    );
    const sorted = likely.sort((a, b) => a.net - b.net);
    const worst = sorted[0];
    const bestCase = sorted.at(-1);
    const idOf = (i: number) => bench.problem.faults[i]?.id ?? null;
    if (worst && bestCase && worst !== bestCase) {
      depends.push({
        on: 'fault',
        low: worst.net,
        high: bestCase.net,
        from: idOf(worst.i),
        to: idOf(bestCase.i),
      });
    }
  }
  depends.sort((a, b) => b.high - b.low - (a.high - a.low));

  return {
    verdict,
    price,
    ways,
    highest: prices.length ? Math.max(...prices) : null,
    depends,
    nextCheck: faulty ? buyersCheck(question, found, price, settings.margin * expectedSales(restore)) : null,
    plan: found,
    known,
  };
}
