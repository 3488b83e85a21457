/** What to do with one phone at one price, from its case: which ways there are, and the verdict over them. */

import type { CollectiveSettings } from '../collective/collective-settings.ts';
import { CELL } from '../diagnosis/family-facts.ts';
import type { BenchEvent } from '../diagnosis/sets/bench-belief.ts';
import { planOf } from '../diagnosis/sets/kept-plans.ts';
import { type SetCase, setCaseOf } from '../diagnosis/sets/set-case.ts';
import type { SetCaseQuestion } from '../diagnosis/sets/set-case-question.ts';
import { planSets, type SetPlan } from '../diagnosis/sets/set-plan.ts';
import type { SetProblem } from '../diagnosis/sets/set-problem.ts';
import type { Economics } from '../economics/economics.ts';
import type { LogStudentT } from '../market/value.ts';
import { money, toMajor } from '../money/money.ts';
import { referenceHour } from '../money/reference-hour.ts';
import { buyersTable } from './buyers-table.ts';
import { marginTaxFraction } from './margin-tax.ts';
import { netMean } from './net.ts';
import { CaseWays } from './policy-plan.ts';
import { TABLE_MINUTES, type Table, type TableChoice, tableChecks } from './table-checks.ts';
import {
  type Advice,
  bearableByDefault,
  candidatesOf,
  type NoPrice,
  type Stance,
  type VerdictQuestion,
  verdict,
  type Way,
  type WayPlan,
  type WayResult,
} from './verdict.ts';
import type { PlanNode, PlanStep } from './ways.ts';

export const dependsOn = ['value', 'parts', 'time'] as const;
export type DependsOn = (typeof dependsOn)[number];

export interface AppraisalQuestion {
  readonly question: SetCaseQuestion;
  readonly found: SetCase;
  readonly settings: CollectiveSettings;
  /** Price asked, major units; 0 for a gift. */
  readonly price: number;
  /** It can still be looked at before it is bought. */
  readonly atTable?: boolean;
  /** Kept in use once it works: then it is worth its value. */
  readonly kept?: boolean;
  /** It is one of so many: no check to do first, and where they are very many a shorter search for each plan. */
  readonly ofMany?: number;
}

/** What a service that may take a dangerous cell out asks for it, cell included. Major units. */
interface ServiceFee {
  amount: number;
  ground: 'collective' | 'assumed';
}

export interface Appraisal {
  /** The advice; without a price that rests on something, what is needed for one. */
  answer: Advice | NoPrice;
  /** The way advised; null without a price that rests on something. */
  verdict: Way | null;
  price: number;
  stance: Stance;
  /** All ways, the one advised first. Without a verdict in the order given. */
  ways: readonly WayResult[];
  /** The way that the numbers of an answer speak of: the one advised; where that is to pass, or there is none, the best of the others. */
  best: WayResult | null;
  /** What the best way's net hangs on, the widest first. */
  depends: { on: DependsOn; low: number; high: number }[];
  /** The checks of a minute that move the highest price most, for the seller's table; none for a phone that is on the bench. */
  table: readonly TableChoice[];
  /** The check most worth doing before buying, of those that take longer. */
  nextCheck: { id: string; gain: number } | null;
  plan: SetPlan;
  /** The plan of each way. */
  plans: readonly WayPlan[];
  /** The fee counted in, where the phone has to be handed on. */
  service: ServiceFee | null;
  /** Nothing is open: it works, as far as is known. */
  works: boolean;
}

/** A dangerous cell is taken out by a service for an hour's work and the cell. Assumed; `/setup service:` says what it is. */
const SERVICE_HOURS = 1;
/** To bring it there and fetch it, in minutes. Assumed. */
const SERVICE_MINUTES = 20;
/** What a buyer can do who has more than a minute: closed, this many minutes at most, no hazard. */
const BUYER_MINUTES = 6;
/** A check that gains less than this share of the takings is not worth naming. Chosen. */
const LEAST_GAIN = 0.01;
/** A look of a minute that is expected to move the highest price by less than this share of the takings is not worth it. Chosen. */
const LEAST_MOVE = 0.003;

/** So many phones are planned for as if each were alone; more share the work that those would take. Chosen, for time. */
const WHOLE_PLANS = 12;
const SHARED_STEPS = 14_400;

const planAmong = (many: number, found: SetCase): SetPlan =>
  many <= WHOLE_PLANS
    ? planOf(found)
    : planSets(found.problem, { expansions: 400, steps: Math.round(SHARED_STEPS / many) });

function stanceOf(settings: CollectiveSettings, economics: Economics): Stance {
  const hour = toMajor(referenceHour(settings.currency).rate);
  return {
    rate: settings.hourlyRate ?? hour,
    hour,
    margin: settings.margin,
    bearable: settings.bearable ?? bearableByDefault(hour),
    fee: economics.sellingCost,
    taxFraction: marginTaxFraction(settings.marginTax),
    cap: economics.cap,
    unit: toMajor(money(1, settings.currency)),
  };
}

/** The verdict on a phone at a price. */
export function appraise(asked: AppraisalQuestion): Appraisal {
  const { question, found, settings, price } = asked;
  const { economics } = question;
  const stance = stanceOf(settings, economics);
  const plan = planAmong(asked.ofMany ?? 1, found);
  const { plans, service } = waysOf(asked, plan);
  const verdictQuestion: VerdictQuestion = {
    plans,
    stance,
    price,
    kept: asked.kept ?? false,
    value: economics.market
      ? economics.market.n
        ? 'sightings'
        : 'new-price'
      : economics.standIn
        ? 'stand-in'
        : 'given',
  };
  const answer = verdict(verdictQuestion);
  const way = answer.kind === 'advice' ? answer.way : null;
  const real = answer.ways.filter((one) => one.way !== 'pass');
  const best = real.find((one) => one.way === way) ?? [...real].sort((a, b) => b.after - a.after)[0] ?? null;
  return {
    answer,
    verdict: way,
    price,
    stance,
    ways: answer.ways,
    best,
    depends: best ? dependsOf(verdictQuestion, best) : [],
    table: way !== null && asked.atTable ? checksAtTable(asked, plan, stance, answer) : [],
    nextCheck: way === null || asked.ofMany ? null : buyersCheck(asked, plan, best),
    plan,
    plans,
    service,
    works: found.open.length === 0 && found.state.danger === 'none',
  };
}

/** By plan, as `looksKept`. */
const tablesKept = new WeakMap<SetPlan, { stance: string; table: Table }>();

function checksAtTable(
  asked: AppraisalQuestion,
  plan: SetPlan,
  stance: Stance,
  answer: Advice | NoPrice,
): readonly TableChoice[] {
  const { question, found, price } = asked;
  if (found.open.length === 0 || found.state.danger !== 'none') return [];
  const highest = highestOf(answer.ways);
  const key = JSON.stringify([stance, asked.kept ?? false]);
  const kept = tablesKept.get(plan);
  const table =
    (kept?.stance === key ? kept.table : null) ??
    buyersTable({
      ...{ question, found, stance, highest },
      highestAfter: ({ id, outcome }, state) => {
        const event: BenchEvent = { kind: 'check', id, outcome };
        const next = { ...question, state, events: [...question.events, event] };
        const after = setCaseOf(next);
        if (!after) return null;
        const { plans } = waysOf({ ...asked, question: next, found: after }, planOf(after));
        return highestOf(candidatesOf({ plans, stance, kept: asked.kept ?? false }));
      },
    });
  tablesKept.set(plan, { stance: key, table });
  const least = LEAST_MOVE * question.economics.takings;
  return tableChecks(table, new Map(), { price, unit: stance.unit }).checks.filter(
    ({ moves }) => moves >= least,
  );
}

const highestOf = (all: readonly { highest: number | null }[]): number | null => {
  const prices = all.flatMap(({ highest }) => highest ?? []);
  return prices.length ? Math.max(...prices) : null;
};

/** Nothing that is open can be sold with it: what is left is to mend all of it, to strip, or to let it be. */
const mustBeWhole = (problem: SetProblem): SetProblem => ({
  ...problem,
  complaints: problem.complaints.map((one) => ({ ...one, keeps: 0 })),
});

interface Ways {
  plans: WayPlan[];
  service: ServiceFee | null;
}
/** By case, of its plan and fee: nothing in them hangs on the price. */
const waysKept = new WeakMap<SetCase, { plan: SetPlan; fee: number | null; ways: Ways }>();

function waysOf(asked: AppraisalQuestion, plan: SetPlan): Ways {
  const { found, settings } = asked;
  const have = waysKept.get(found);
  if (have?.plan === plan && have.fee === settings.serviceFee) return have.ways;
  const ways = laidOutWays(asked, plan);
  waysKept.set(found, { plan, fee: settings.serviceFee, ways });
  return ways;
}

function laidOutWays({ question, found, settings }: AppraisalQuestion, plan: SetPlan): Ways {
  const { economics } = question;
  if (found.state.danger !== 'none') {
    // A phone with a cell in doubt is not sold, opened or stripped here: it goes through other hands first.
    const service = serviceFee(economics, settings);
    const after = setCaseOf({
      ...question,
      state: { ...found.state, danger: 'none', newCell: true },
    });
    if (!after) return { plans: [], service };
    const next = restoring(after, planOf(after), economics) ?? new CaseWays(after, economics).asItIs();
    const step: PlanStep = {
      kind: 'step',
      id: 'service',
      cash: service.amount,
      minutes: SERVICE_MINUTES,
      outcomes: [{ id: 'back', chance: 1, next }],
    };
    return { plans: [{ way: 'hand-on', plan: step }], service };
  }
  const ways = new CaseWays(found, economics);
  if (found.open.length === 0) return { plans: [{ way: 'restore', plan: ways.asItIs() }], service: null };
  const restore = restoring(found, plan, economics);
  const asItIs = ways.asItIs();
  return {
    plans: [
      ...(restore ? [{ way: 'restore' as const, plan: restore }] : []),
      ...(found.problem.ends.some(({ id }) => id === 'strip')
        ? [{ way: 'strip' as const, plan: ways.stripped() }]
        : []),
      ...(asItIs.sale ? [{ way: 'sell-as-is' as const, plan: asItIs }] : []),
    ],
    service: null,
  };
}

/** The plan of the bench. Where it pays more to do nothing at all, the best plan that does something; null where none does. */
function restoring(found: SetCase, plan: SetPlan, economics: Economics): PlanNode | null {
  if (found.open.length === 0) return new CaseWays(found, economics).asItIs();
  if (plan.action.kind !== 'end') return new CaseWays(found, economics).planOf(plan.policy);
  const whole = mustBeWhole(found.problem);
  const second = planOf({ problem: whole });
  return second.action.kind === 'end' ? null : new CaseWays(found, economics).planOf(second.policy);
}

function serviceFee(economics: Economics, settings: CollectiveSettings): ServiceFee {
  if (settings.serviceFee !== null) return { amount: settings.serviceFee, ground: 'collective' };
  const hour = toMajor(referenceHour(settings.currency).rate);
  return { amount: SERVICE_HOURS * hour + economics.part(CELL, 'original').price, ground: 'assumed' };
}

/** The same way with other prices: what it would leave. A t quantile of 1.4 is near the 10 and 90 % points for the degrees met here. */
function dependsOf(question: VerdictQuestion, best: WayResult): Appraisal['depends'] {
  const own = candidatesOf(question).find(({ way }) => way === best.way);
  if (!own) return [];
  const { terms } = own;
  const shifted = (p: number) => {
    const by = ({ scale, location, ...rest }: LogStudentT) => ({
      ...rest,
      scale,
      location: location + scale * p,
    });
    const endings = terms.endings.map((one) => ({ ...one, sale: one.sale && by(one.sale) }));
    return netMean({ ...terms, endings }, question.price);
  };
  const time = (best.minutes * question.stance.rate) / 60;
  return [
    { on: 'value' as const, low: shifted(-1.4), high: shifted(1.4) },
    { on: 'parts' as const, low: best.mean - 0.5 * best.cash, high: best.mean + 0.35 * best.cash },
    { on: 'time' as const, low: best.mean - 0.5 * time, high: best.mean + 0.5 * time },
  ].sort((a, b) => b.high - b.low - (a.high - a.low));
}

/** What the phone leaves under each outcome of a check, before the price; nothing in it hangs on the price. */
interface BuyersLook {
  id: string;
  cost: number;
  outcomes: { chance: number; net: number }[];
}
interface BuyersLooks {
  /** Without any check. */
  net: number;
  looks: BuyersLook[];
}
/** By plan: the same problem has the same plan, and people ask about a phone at one price after another. */
const looksKept = new WeakMap<SetPlan, BuyersLooks>();

/** Net of mending in the order that pays, without a check: quick to know, and never more than the plan's own. */
const netOfMending = ({ problem }: Pick<SetCase, 'problem'>): number =>
  planSets({ ...problem, checks: [] }, { expansions: 1 }).value;

function buyersLooks({ question, found }: AppraisalQuestion): BuyersLooks {
  const { knowledge } = question;
  const { hypotheses } = found.problem;
  const looks = found.problem.checks.flatMap((spec): BuyersLook[] => {
    const check = knowledge.checks.get(spec.id);
    if (
      !check ||
      spec.level > 0 ||
      check.minutes <= TABLE_MINUTES ||
      check.minutes > BUYER_MINUTES ||
      check.hazards.length > 0
    )
      return [];
    // With all that is open now: the last form is that of the most.
    const form = spec.forms.find(({ needs }) => needs === (1 << found.open.length) - 1);
    if (!form) return [];
    const outcomes = spec.outcomes.flatMap((outcome, o) => {
      const likely = hypotheses.map(({ weight }, h) => weight * (form.given[o]?.[h] ?? 0));
      const chance = likely.reduce((sum, one) => sum + one, 0);
      if (!(chance > 0)) return [];
      if (spec.clears?.[o]) {
        // What is open changes with it.
        const event: BenchEvent = { kind: 'check', id: spec.id, outcome };
        const after = setCaseOf({ ...question, events: [...question.events, event] });
        return after ? [{ chance, net: netOfMending(after) }] : [];
      }
      const known = hypotheses.map(({ faults }, h) => ({ faults, weight: (likely[h] ?? 0) / chance }));
      return [{ chance, net: netOfMending({ problem: { ...found.problem, hypotheses: known } }) }];
    });
    return [{ id: spec.id, cost: spec.cost, outcomes }];
  });
  return { net: netOfMending(found), looks };
}

/**
 * The check most worth doing before buying: with its outcome known one buys only where it still pays. One step ahead
 * (myopic value of information; Heckerman, Breese & Rommelse 1995).
 */
function buyersCheck(
  asked: AppraisalQuestion,
  plan: SetPlan,
  best: WayResult | null,
): Appraisal['nextCheck'] {
  const { question, found, price } = asked;
  if (found.open.length === 0 || found.state.danger !== 'none' || !best) return null;
  const { net, looks } = looksKept.get(plan) ?? buyersLooks(asked);
  looksKept.set(plan, { net, looks });
  // The margin wanted of the best way: what of its mean is not over it.
  const wanted = best.mean - best.after;
  const pays = (left: number): number => Math.max(0, left - price - wanted);
  const now = pays(net);
  let chosen: Appraisal['nextCheck'] = null;
  for (const { id, cost, outcomes } of looks) {
    const gain = outcomes.reduce((sum, { chance, net: left }) => sum + chance * pays(left), -cost) - now;
    if (gain > (chosen?.gain ?? LEAST_GAIN * question.economics.takings)) chosen = { id, gain };
  }
  return chosen;
}
