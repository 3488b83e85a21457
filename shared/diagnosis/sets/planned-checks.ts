/** The checks that are planned with: what each tells of the sets of faults, and those that tell most for their cost. */

import type { Check } from '../../../knowledge/schema.ts';
import type { phonePowerOf } from '../../phone/intake.ts';
import { canTell } from '../observable.ts';
import { type Rows, shownUnder } from './belief.ts';
import { type BenchBelief, judgedBy, rowsFor, SUBSTITUTE_SLIP } from './bench-belief.ts';
import type { Limits } from './limits.ts';
import type { Layout } from './open-work.ts';
import type { SetCaseQuestion } from './set-case-question.ts';
import type { CheckForm, Hypothesis, SetCheck } from './set-problem.ts';

/** Most checks that are planned with at one step: those that tell most for their cost. Chosen by measurement. */
const FOCUS = 14;
/** A check that tells less than this (bits) tells nothing. */
const TELLS_NOTHING = 1e-6;
/** Opening the phone serves more than one check: each bears this share of it when they are compared. */
const OPENING_SHARE = 0.3;

export function checksOf(
  { knowledge, economics }: SetCaseQuestion,
  belief: BenchBelief,
  { usable, levelOf }: Limits,
  { open, stateOf, hypotheses }: Layout & { hypotheses: readonly Hypothesis[] },
): SetCheck[] {
  const rows = new RowTable(belief, hypotheses);
  return [...knowledge.checks.values()].filter(usable).flatMap((check): SetCheck[] => {
    const forms = rows.forms(check, stateOf);
    if (forms.length === 0) return [];
    const clears = check.outcomes.map((outcome) =>
      open.reduce((mask, one, k) => (outcome.clears?.includes(one.ref) ? mask | (1 << k) : mask), 0),
    );
    return [
      {
        id: check.id,
        cost: check.minutes * economics.minute,
        level: levelOf(check),
        outcomes: check.outcomes.map(({ id }) => id),
        forms,
        ...(clears.some((mask) => mask > 0) ? { clears } : {}),
      },
    ];
  });
}

const NOBODY: Hypothesis = { faults: [], weight: 0 };

/** Rows of checks by hypothesis, each made once. */
class RowTable {
  readonly #belief: BenchBelief;
  readonly #hypotheses: readonly Hypothesis[];

  constructor(belief: BenchBelief, hypotheses: readonly Hypothesis[]) {
    this.#belief = belief;
    this.#hypotheses = hypotheses;
  }

  /** The forms of a check over the masks of what is open: one a mask in which it can tell something. */
  forms(
    check: Check,
    stateOf: readonly { power: ReturnType<typeof phonePowerOf>; open: readonly string[] }[],
  ): CheckForm[] {
    const made = new Map<string, Float64Array[]>();
    const last = stateOf.length - 1;
    return stateOf.flatMap((now, mask) => {
      if (!canTell(check.when, now)) return [];
      const judged = judgedBy(check, now.open);
      const dead = now.power === 'dead' && check.given.dead !== undefined;
      const key = judged ?? (dead ? 'dead' : 'alive');
      let given = made.get(key);
      if (given === undefined) {
        given =
          judged === undefined
            ? this.#rows(check, rowsFor(check, this.#belief.faults, dead).rows)
            : this.#substituted(check, judged);
        made.set(key, given);
      }
      return [{ needs: mask, not: ~mask & last, given }];
    });
  }

  #rows(check: Check, rows: Rows): Float64Array[] {
    return check.outcomes.map((_, o) => {
      const row = new Float64Array(this.#hypotheses.length);
      for (let h = 0; h < row.length; h++) {
        const { faults } = this.#hypotheses[h] ?? NOBODY;
        row[h] = rows.chance(o, faults[0] ?? -1, faults[1] ?? -1, faults[2] ?? -1);
      }
      return row;
    });
  }

  #substituted(check: Check, symptom: string): Float64Array[] {
    const { faults, complaints } = this.#belief;
    const complaint = complaints.get(symptom);
    const component = check.substitutes?.component;
    const given = check.outcomes.map(() => new Float64Array(this.#hypotheses.length));
    this.#hypotheses.forEach(({ faults: members }, h) => {
      const left = members.filter((i) => faults[i]?.component !== component);
      const before = complaint ? shownUnder(complaint, members) : 1;
      const stays = complaint && before > 0 ? Math.min(1, shownUnder(complaint, left) / before) : 1;
      const goes = SUBSTITUTE_SLIP + (1 - 2 * SUBSTITUTE_SLIP) * (1 - stays);
      const [first] = given;
      const last = given.at(-1);
      if (first !== undefined) first[h] = goes;
      if (last !== undefined) last[h] = 1 - goes;
    });
    return given;
  }
}

/** A closed look that comes first for what is open. */
interface FirstLook {
  readonly check: string;
  /** For a wish (its data off it first): it is done whether it tells of a fault or not, and changes nothing of the plan. */
  readonly isWish: boolean;
}

/** The closed looks that come first for what is open and have not been done. */
export function firstsOf(
  { knowledge }: Pick<SetCaseQuestion, 'knowledge'>,
  belief: BenchBelief,
): FirstLook[] {
  return belief.open.flatMap((id) => {
    const symptom = knowledge.symptoms.get(id);
    const isWish = symptom !== undefined && Object.keys(symptom.seen.faults).length === 0;
    return (symptom?.first ?? [])
      .filter((check) => !belief.done.has(check))
      .map((check) => ({ check, isWish }));
  });
}

/**
 * The checks that can tell something, those first that tell most for their cost: mutual information of outcome and hypothesis
 * (Shannon 1948) over minutes and a share of the opening. One minute is added so that a free check is not boundless.
 */
export function focus(
  checks: readonly SetCheck[],
  hypotheses: readonly Hypothesis[],
  {
    access,
    level,
    minute,
    wanted,
  }: { access: readonly number[]; level: number; minute: number; wanted: ReadonlySet<string> },
): { chosen: SetCheck[]; uncut: boolean } {
  const ranked = checks
    .map((check) => {
      // The last form is that of the most that is open; a check that can only be done later is judged by what it tells then.
      const form = check.forms.at(-1);
      const told = form ? information(form.given, hypotheses) : 0;
      const opening = access.slice(level, check.level).reduce((sum, cost) => sum + cost, 0);
      return { check, told, merit: told / (check.cost + OPENING_SHARE * opening + minute) };
    })
    .filter(({ check, told }) => told > TELLS_NOTHING || check.clears !== undefined)
    .sort((a, b) => b.merit - a.merit || (a.check.id < b.check.id ? -1 : 1))
    .map(({ check }) => check);
  const chosen = ranked.filter((check, place) => place < FOCUS || wanted.has(check.id));
  return { chosen, uncut: chosen.length === ranked.length };
}

/** Mutual information of the outcome of a check and the hypothesis, in bits. */
function information(given: CheckForm['given'], hypotheses: readonly Hypothesis[]): number {
  let told = 0;
  for (const row of given) {
    let chance = 0;
    let within = 0;
    for (let h = 0; h < hypotheses.length; h++) {
      const weight = hypotheses[h]?.weight ?? 0;
      const p = row[h] ?? 0;
      if (weight === 0 || p === 0) continue;
      chance += weight * p;
      within += weight * p * Math.log2(p);
    }
    if (chance > 0) told += within - chance * Math.log2(chance);
  }
  return told;
}
