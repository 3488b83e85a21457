/** A plan over sets of faults as the tree of money and minutes that a verdict reads. */
import { Compiled, massOf } from '../diagnosis/sets/compiled.ts';
import type { SetPolicy } from '../diagnosis/sets/policy.ts';
import type { SetCase } from '../diagnosis/sets/set-case.ts';
import type { Economics } from '../economics/economics.ts';
import type { LogStudentT } from '../market/value.ts';
import type { End, PlanNode, PlanStep } from './ways.ts';

/** Parts sell for this much more or less, as a spread of the log price. Assumed. */
const SALVAGE_SPREAD = 0.25;
const SALVAGE_DEGREES = 6;

/** A sale of about this much; null where nothing is sold. */
const salvageSale = (amount: number): LogStudentT | null =>
  amount > 0 ? { location: Math.log(amount), scale: SALVAGE_SPREAD, degrees: SALVAGE_DEGREES } : null;

/** The sale of a phone that keeps this share of a sound one's worth. */
const keptSale = (value: LogStudentT, share: number): LogStudentT | null =>
  share > 0 ? { ...value, location: value.location + Math.log(share) } : null;

const passEnd: End = { kind: 'end', id: 'pass', restored: false, cash: 0, minutes: 0, sale: null };

interface State {
  level: number;
  open: number;
  share: number;
}

/** Ends and plans of one case. */
export class CaseWays {
  readonly #found: SetCase;
  readonly #economics: Economics;
  readonly #compiled: Compiled;
  readonly #places: ReadonlyMap<number, number>;
  /** Share of a sound phone's worth that this one has with nothing open. */
  readonly #whole: number;

  constructor(found: SetCase, economics: Economics) {
    const { problem } = found;
    this.#found = found;
    this.#economics = economics;
    this.#compiled = new Compiled(problem);
    this.#places = new Map(this.#compiled.remedies.map(({ source }, r) => [source, r]));
    this.#whole = economics.takings > 0 ? problem.value / economics.takings : 0;
  }

  /** Sold as it is today, with what is open told. */
  asItIs(): End {
    return this.#sold({ level: 0, open: this.#compiled.masks - 1, share: 1 });
  }

  /** Stripped today. */
  stripped(): End {
    return this.#stripEnd(this.#found.stripValue);
  }

  /**
   * The tree of a policy; chances are exact under the case's belief.
   * @throws RangeError where the policy names a step that the problem cannot do.
   */
  planOf(policy: SetPolicy): PlanNode {
    const { problem } = this.#found;
    const start = { level: problem.level, open: this.#compiled.masks - 1, share: 1 };
    return this.#walk(policy, this.#compiled.prior, start);
  }

  #walk(at: SetPolicy, w: Float64Array, state: State): PlanNode {
    const { problem, minutes, parts } = this.#found;
    if (at.kind === 'end') return this.#end(at.end, w, state);
    const compiled = this.#compiled;
    const next: { id: string; mass: number; next: PlanNode }[] = [];
    if (at.kind === 'check') {
      const check = problem.checks[at.check];
      const form = compiled.form(at.check, state.open);
      if (!check || !form) throw new RangeError('the policy names a check it cannot do');
      const level = Math.max(state.level, check.level);
      at.branches.forEach((branch, o) => {
        const left = w.map((weight, h) => weight * (form.given[o]?.[h] ?? 0));
        const mass = massOf(left);
        if (branch === null || !(mass > 0)) return;
        const open = state.open & ~(check.clears?.[o] ?? 0);
        next.push({
          id: check.outcomes[o] ?? '',
          mass,
          next: this.#walk(branch, left, { ...state, level, open }),
        });
      });
      const climbed = this.#climb(state.level, level);
      return stepOf(
        check.id,
        climbed.cash + (parts.checks[at.check] ?? 0),
        climbed.minutes + (minutes.checks[at.check] ?? 0),
        next,
      );
    }
    const remedy = problem.remedies[at.remedy];
    const r = this.#places.get(at.remedy);
    if (!remedy || r === undefined) throw new RangeError('the policy names a remedy it cannot do');
    const level = Math.max(state.level, remedy.level);
    const effect = compiled.effect(r, state.open);
    const into: Float64Array[] = [];
    compiled.apply(r, w, effect, into);
    for (const [j, open] of effect.masks.entries()) {
      const left = into[j];
      const mass = left ? massOf(left) : 0;
      if (!left || !(mass > 0)) continue;
      const changed = open !== state.open;
      const share = changed ? state.share * remedy.keeps : state.share;
      const branch = at.branches.get(open) ?? { kind: 'end' as const, end: -1 };
      next.push({
        id: changed ? 'gone' : 'no-change',
        mass,
        next: this.#walk(branch, left, { level, open, share }),
      });
    }
    const climbed = this.#climb(state.level, level);
    return stepOf(
      remedy.id,
      climbed.cash + (parts.remedies[at.remedy] ?? 0),
      climbed.minutes + (minutes.remedies[at.remedy] ?? 0),
      next,
    );
  }

  #climb(from: number, to: number): { cash: number; minutes: number } {
    const sum = (list: readonly number[]) => list.slice(from, to).reduce((all, one) => all + one, 0);
    return { cash: sum(this.#found.parts.access), minutes: sum(this.#found.minutes.access) };
  }

  /** A plan that was made without selling as it is may still end so, where that brings more than its own end. */
  #end(end: number, w: Float64Array, state: State): End {
    const { problem } = this.#found;
    const stop = end < 0 ? undefined : problem.ends[end];
    if (!stop) return this.#sold(state);
    const mass = massOf(w);
    const value = w.reduce((sum, weight, h) => sum + (weight / mass) * (stop.value[h] ?? 0), 0);
    if (problem.value * state.share * (this.#compiled.keeps[state.open] ?? 0) > value)
      return this.#sold(state);
    return stop.id === 'strip' ? this.#stripEnd(value) : { ...passEnd, id: stop.id };
  }

  #sold({ open, share }: State): End {
    const keeps = this.#whole * share * (this.#compiled.keeps[open] ?? 0);
    const sale = keptSale(this.#economics.value, keeps);
    return { kind: 'end', id: 'sell', restored: open === 0, cash: 0, minutes: 0, sale };
  }

  /** `value` is what stripping leaves after selling and time; the end has the sale and the minutes apart. */
  #stripEnd(value: number): End {
    const { minute, sellingCost } = this.#economics;
    const minutes = this.#found.stripMinutes;
    const sale = salvageSale((value + minutes * minute) / (1 - sellingCost));
    return { kind: 'end', id: 'strip', restored: false, cash: 0, minutes, sale };
  }
}

function stepOf(
  id: string,
  cash: number,
  minutes: number,
  next: readonly { id: string; mass: number; next: PlanNode }[],
): PlanStep {
  const total = next.reduce((sum, { mass }) => sum + mass, 0);
  return {
    kind: 'step',
    id,
    cash,
    minutes,
    outcomes: next.map(({ mass, ...one }) => ({ ...one, chance: mass / total })),
  };
}
