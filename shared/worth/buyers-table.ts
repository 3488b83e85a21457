/**
 * A phone on the seller's table: what its highest price comes to with each answer to the checks of a minute that can be done
 * there. Made from its case, quickly: the plan itself is made again once an answer is known.
 */
import { Compiled, massOf } from '../diagnosis/sets/compiled.ts';
import { eventsOfAnswer } from '../diagnosis/sets/next-step.ts';
import type { SetCase } from '../diagnosis/sets/set-case.ts';
import type { SetCaseQuestion } from '../diagnosis/sets/set-case-question.ts';
import { planSets } from '../diagnosis/sets/set-plan.ts';
import type { SetPolicy } from '../diagnosis/sets/set-policy.ts';
import type { SetProblem } from '../diagnosis/sets/set-problem.ts';
import { isCellFact, type PhoneState } from '../phone/state.ts';
import { type Answers, TABLE_MINUTES, type Table } from './table-checks.ts';
import type { Stance } from './verdict.ts';

/** What puts current into a cell that nobody knows is not done at a table, whatever it tells. */
const NOT_THERE = 'charges';
/** So many of the likeliest hypotheses, and those that a remedy can leave of them. Chosen, for time. */
const HYPOTHESES = 24;

export interface TableQuestion {
  readonly question: SetCaseQuestion;
  readonly found: SetCase;
  readonly stance: Stance;
  /** The highest price as the whole plan has it, major units; null: none. */
  readonly highest: number | null;
  /** The same after an answer that changes the state of the phone: it is wet, its cell is in doubt, it starts after all. */
  readonly highestAfter: (answer: { id: string; outcome: string }, state: PhoneState) => number | null;
}

/** A check of a minute that can be done there. */
interface Look {
  readonly id: string;
  readonly minutes: number;
  readonly outcomes: readonly string[];
  /** Chance of each outcome under each hypothesis that is kept. */
  readonly given: readonly Float64Array[];
  /** Outcomes that change the state of the phone, with what they say of it. */
  readonly turning: ReadonlyMap<string, ReturnType<typeof eventsOfAnswer>>;
}

function looksOf({ question, found }: TableQuestion, kept: readonly number[]): Look[] {
  const all = (1 << found.open.length) - 1;
  return found.problem.checks.flatMap((spec) => {
    const check = question.knowledge.checks.get(spec.id);
    const form = spec.forms.find(({ needs }) => needs === all);
    if (!check || !form || spec.level > 0 || check.minutes > TABLE_MINUTES) return [];
    if (check.hazards.includes(NOT_THERE) || found.barOn(check) !== null) return [];
    const given = form.given.map((row) => Float64Array.from(kept, (h) => row[h] ?? 0));
    const turning = check.outcomes.flatMap(({ id }, o) => {
      const facts = eventsOfAnswer(check, id);
      const turns = facts.some(
        (one) =>
          one.kind === 'fact' && ((one.fact === 'wet' && found.state.wet === 'no') || isCellFact(one.fact)),
      );
      return turns || (spec.clears?.[o] ?? 0) > 0 ? [[id, facts] as const] : [];
    });
    return [
      { id: spec.id, minutes: check.minutes, outcomes: spec.outcomes, given, turning: new Map(turning) },
    ];
  });
}

/** The weights of the hypotheses once these answers are known. */
function weightsAfter(looks: readonly Look[], prior: Float64Array, answers: Answers): Float64Array {
  const w = prior.slice();
  for (const { id, outcomes, given } of looks) {
    const row = given[outcomes.indexOf(answers.get(id) ?? '')];
    if (row) for (let h = 0; h < w.length; h++) w[h] = (w[h] ?? 0) * (row[h] ?? 0);
  }
  return w;
}

/** The best value under any weights, of the policies that are best now and after each single answer. */
function bestValue(
  looks: readonly Look[],
  prior: Float64Array,
  valuesOf: (w: Float64Array) => Float64Array,
): (w: Float64Array) => number {
  const values: Float64Array[] = [valuesOf(prior)];
  for (const { id, outcomes } of looks)
    for (const outcome of outcomes) {
      const w = weightsAfter(looks, prior, new Map([[id, outcome]]));
      if (massOf(w) > 0) values.push(valuesOf(w));
    }
  return (w) => {
    const mass = massOf(w);
    if (!(mass > 0)) return 0;
    return Math.max(
      0,
      ...values.map((value) => value.reduce((sum, one, h) => sum + one * (w[h] ?? 0), 0) / mass),
    );
  };
}

/** The highest price after an answer that changes the state of the phone; each is worked out once. */
function pricesInOtherStates({ found, highestAfter }: TableQuestion) {
  const turned = new Map<string, number | null>();
  return (id: string, outcome: string, facts: ReturnType<typeof eventsOfAnswer>): number | null => {
    const key = `${id}=${outcome}`;
    const known = turned.get(key);
    if (known !== undefined) return known;
    const said = facts.flatMap((one) => (one.kind === 'fact' ? one.fact : []));
    const price = highestAfter(
      { id, outcome },
      {
        ...found.state,
        ...(said.includes('wet') ? { wet: 'wet' } : {}),
        ...(said.some(isCellFact) ? { danger: 'suspect', newCell: false } : {}),
      },
    );
    turned.set(key, price);
    return price;
  };
}

/** How likely each answer of a check is under these weights. */
function chancesOf({ id, minutes, outcomes, given }: Look, w: Float64Array) {
  const mass = massOf(w);
  return {
    id,
    minutes,
    outcomes: outcomes.flatMap((outcome, o) => {
      const chance = mass > 0 ? w.reduce((sum, one, h) => sum + one * (given[o]?.[h] ?? 0), 0) / mass : 0;
      return chance > 0 ? [{ id: outcome, chance }] : [];
    }),
  };
}

/**
 * The phone as a table. The value of a policy is linear in the belief, so the policies that are best now and after each single
 * answer are worked out once, by hypothesis; after any answers the best of them stands for the plan (a lower bound: point-based
 * value iteration, Pineau, Gordon & Thrun 2003). What the whole plan gains over them now is added throughout. Money that can be
 * borne is left out of it.
 */
export function buyersTable(asked: TableQuestion): Table {
  const { found, stance } = asked;
  const { lean, kept } = leanProblem(found.problem);
  const looks = looksOf(asked, kept);
  const prior = Float64Array.from(lean.hypotheses, ({ weight }) => weight);
  const best = bestValue(looks, prior, policyValues(lean, found, stance));
  const gained = (asked.highest ?? 0) - best(prior);
  const inOtherState = pricesInOtherStates(asked);
  return {
    after: (answers) => {
      for (const { id, turning } of looks) {
        const outcome = answers.get(id);
        const facts = outcome === undefined ? undefined : turning.get(outcome);
        if (outcome !== undefined && facts) return { highest: inOtherState(id, outcome, facts), checks: [] };
      }
      const w = weightsAfter(looks, prior, answers);
      const highest = best(w) + gained;
      return {
        highest: highest >= stance.unit ? highest : null,
        checks: looks.filter(({ id }) => !answers.has(id)).map((look) => chancesOf(look, w)),
      };
    },
  };
}

/** The likeliest hypotheses, closed under taking faults away, with no checks; `kept` are their places in the whole problem. */
function leanProblem(problem: SetProblem): { lean: SetProblem; kept: number[] } {
  const places = new Map(problem.hypotheses.map(({ faults }, h) => [faults.join(), h]));
  const likely = problem.hypotheses
    .map(({ weight }, h) => ({ weight, h }))
    .sort((a, b) => b.weight - a.weight || a.h - b.h);
  const wanted = new Set<number>();
  for (const { h } of likely) {
    if (wanted.size >= HYPOTHESES) break;
    const { faults = [] } = problem.hypotheses[h] ?? {};
    for (let out = 0; out < 1 << faults.length; out++) {
      const place = places.get(faults.filter((_, i) => ((out >> i) & 1) === 0).join());
      if (place !== undefined) wanted.add(place);
    }
  }
  const kept = [...wanted].sort((a, b) => a - b);
  const weights = kept.map((h) => problem.hypotheses[h]?.weight ?? 0);
  const held = weights.reduce((sum, one) => sum + one, 0);
  const lean: SetProblem = {
    ...problem,
    hypotheses: kept.map((h, i) => ({
      faults: problem.hypotheses[h]?.faults ?? [],
      weight: (weights[i] ?? 0) / held,
    })),
    complaints: problem.complaints.map((one) => ({ ...one, chance: kept.map((h) => one.chance[h] ?? 0) })),
    checks: [],
    ends: problem.ends.map(({ id, value }) => ({ id, value: kept.map((h) => value[h] ?? 0) })),
  };
  return { lean, kept };
}

/**
 * For weights of the hypotheses the policy of mending that is best there, as what it leaves over the wanted margin under each
 * hypothesis, before the price. Major units.
 */
function policyValues(
  lean: SetProblem,
  { stripMinutes }: SetCase,
  { margin, fee, rate }: Stance,
): (w: Float64Array) => Float64Array {
  const compiled = new Compiled(lean);
  const places = new Map(compiled.remedies.map(({ source }, r) => [source, r]));
  const ofSale = 1 - margin / (1 - fee);
  /** What is left at an end, of weights w. */
  const atEnd = (end: number, w: Float64Array, open: number, share: number): number => {
    const stop = end < 0 ? undefined : lean.ends[end];
    if (!stop) return lean.value * share * (compiled.keeps[open] ?? 0) * ofSale * massOf(w);
    const left = w.reduce((sum, weight, h) => sum + weight * (stop.value[h] ?? 0), 0);
    if (stop.id !== 'strip') return left;
    return left - (margin / (1 - fee)) * (left + (massOf(w) * (stripMinutes * rate)) / 60);
  };
  const value = (at: SetPolicy, w: Float64Array, open: number, level: number, share: number): number => {
    if (at.kind === 'end') return atEnd(at.end, w, open, share);
    const r = at.kind === 'remedy' ? places.get(at.remedy) : undefined;
    const remedy = r === undefined ? undefined : compiled.remedies[r];
    if (at.kind !== 'remedy' || r === undefined || !remedy)
      throw new RangeError('a policy of remedies alone');
    const deep = Math.max(level, remedy.level);
    const cost = remedy.cost + (compiled.reach[deep] ?? 0) - (compiled.reach[level] ?? 0);
    const effect = compiled.effect(r, open);
    const into: Float64Array[] = [];
    compiled.apply(r, w, effect, into);
    return effect.masks.reduce((sum, mask, j) => {
      const left = into[j];
      if (!left || !(massOf(left) > 0)) return sum;
      const next = at.branches.get(mask) ?? { kind: 'end' as const, end: -1 };
      return sum + value(next, left, mask, deep, mask === open ? share : share * remedy.keeps);
    }, -cost * massOf(w));
  };
  return (w) => {
    const mass = massOf(w);
    const hypotheses = lean.hypotheses.map((one, h) => ({ ...one, weight: (w[h] ?? 0) / mass }));
    const { policy } = planSets({ ...lean, hypotheses }, { expansions: 1 });
    return Float64Array.from(lean.hypotheses, ({ weight }, h) => {
      if (weight === 0) return 0;
      const alone = new Float64Array(hypotheses.length);
      alone[h] = 1;
      return value(policy, alone, compiled.masks - 1, lean.level, 1);
    });
  };
}
