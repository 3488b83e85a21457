/**
 * Decisions with several possible faults worked out by plain recursion over everything that can happen, sharing nothing with
 * the planner: once in exact fractions from the numbers of a case, once in floats from a whole problem.
 */
import type { SetProblem } from '../../shared/diagnosis/sets/set-problem.ts';
import type { Instance } from './set-instance.ts';

/** An exact fraction, lowest terms, denominator > 0. */
export class Fraction {
  readonly over: bigint;
  readonly under: bigint;

  constructor(over: bigint, under = 1n) {
    const sign = under < 0n ? -1n : 1n;
    let a = over < 0n ? -over : over;
    let b = under < 0n ? -under : under;
    while (b > 0n) [a, b] = [b, a % b];
    const common = a === 0n ? 1n : a;
    this.over = (sign * over) / common;
    this.under = (sign * under) / common;
  }

  /** What a decimal says, digit by digit. */
  static of(value: number): Fraction {
    const [whole = '0', part = ''] = value.toFixed(9).split('.');
    const digits = BigInt(`${whole}${part}`.replace('-', ''));
    return new Fraction(value < 0 ? -digits : digits, 10n ** BigInt(part.length));
  }

  plus(other: Fraction): Fraction {
    return new Fraction(this.over * other.under + other.over * this.under, this.under * other.under);
  }
  minus(other: Fraction): Fraction {
    return new Fraction(this.over * other.under - other.over * this.under, this.under * other.under);
  }
  times(other: Fraction): Fraction {
    return new Fraction(this.over * other.over, this.under * other.under);
  }
  per(other: Fraction): Fraction {
    return new Fraction(this.over * other.under, this.under * other.over);
  }
  above(other: Fraction): boolean {
    return this.over * other.under > other.over * this.under;
  }
  get positive(): boolean {
    return this.over > 0n;
  }
  get number(): number {
    const scale = 10n ** 18n;
    return Number((this.over * scale) / this.under) / 1e18;
  }
}

const none = new Fraction(0n);
const one = new Fraction(1n);

/** Belief over sets: the names of the present faults, sorted and joined. */
type Belief = ReadonlyMap<string, Fraction>;
const split = (key: string): string[] => (key === '' ? [] : key.split('+'));
const sumOf = (belief: Belief): Fraction => [...belief.values()].reduce((sum, w) => sum.plus(w), none);

function subsets(names: readonly string[]): string[][] {
  const [name, ...rest] = names;
  if (name === undefined) return [[]];
  return subsets(rest).flatMap((set) => [set, [name, ...set]]);
}

export class ExactCase {
  readonly #case: Instance;
  readonly #faults: string[];

  constructor(instance: Instance) {
    this.#case = instance;
    this.#faults = Object.keys(instance.faults).sort();
  }

  /** P(shown | set). */
  shown(complaint: string, set: readonly string[]): Fraction {
    const spec = this.#case.complaints[complaint];
    if (!spec) throw new Error(complaint);
    const leak = Fraction.of(spec.leak);
    let quiet = one.minus(leak);
    for (const fault of set) {
      const seen = spec.seen[fault];
      if (seen === undefined) continue;
      const q = Fraction.of(seen).minus(leak).per(one.minus(leak));
      quiet = quiet.times(one.minus(q));
    }
    return one.minus(quiet);
  }

  /** The row of a check under a set. */
  row(check: number, set: readonly string[]): Fraction[] {
    const spec = this.#case.checks[check];
    if (!spec) throw new Error(`check ${check}`);
    const upTo = (row: readonly number[], o: number) =>
      row.slice(0, o + 1).reduce((sum, chance) => sum.plus(Fraction.of(chance)), none);
    const reached = spec.otherwise.map((_, o) => {
      const f0 = upTo(spec.otherwise, o);
      return set.reduce((f, fault) => {
        const row = spec.given[fault];
        return row === undefined ? f : f.times(upTo(row, o).per(f0));
      }, f0);
    });
    return reached.map((f, o) => (o === 0 ? f : f.minus(reached[o - 1] ?? none)));
  }

  /** Belief once the complaints are in: sums to 1; null where nothing explains them. */
  belief(): Belief | null {
    const { faults, shown, not_shown } = this.#case;
    const weights = new Map<string, Fraction>();
    for (const set of subsets(this.#faults)) {
      if (set.length === 0 || set.length > this.#case.most) continue;
      let weight = one;
      for (const fault of this.#faults) {
        const chance = Fraction.of(faults[fault] ?? 0);
        weight = weight.times(set.includes(fault) ? chance : one.minus(chance));
      }
      for (const id of shown) weight = weight.times(this.shown(id, set));
      for (const id of not_shown) weight = weight.times(one.minus(this.shown(id, set)));
      if (weight.positive) weights.set(set.join('+'), weight);
    }
    const sum = sumOf(weights);
    return sum.positive ? new Map([...weights].map(([set, w]) => [set, w.per(sum)])) : null;
  }

  /** Weights after an outcome, scaled by its chance. */
  seen(belief: Belief, check: number, outcome: number): Belief {
    const left = new Map<string, Fraction>();
    for (const [set, weight] of belief) {
      const now = weight.times(this.row(check, split(set))[outcome] ?? none);
      if (now.positive) left.set(set, now);
    }
    return left;
  }

  /** Weights after a remedy, by which of the open complaints are still there (joined), scaled by the chance of that. */
  mended(belief: Belief, remedy: number, open: readonly string[]): Map<string, Map<string, Fraction>> {
    const works = this.#case.remedies[remedy]?.works ?? {};
    const found = new Map<string, Map<string, Fraction>>();
    for (const [key, weight] of belief) {
      const set = split(key);
      const able = set.filter((fault) => (works[fault] ?? 0) > 0);
      for (const gone of subsets(able)) {
        let moved = weight;
        for (const fault of able) {
          const chance = Fraction.of(works[fault] ?? 0);
          moved = moved.times(gone.includes(fault) ? chance : one.minus(chance));
        }
        const left = set.filter((fault) => !gone.includes(fault));
        for (const still of subsets(open)) {
          let part = moved;
          for (const id of open) {
            const stays = this.shown(id, left).per(this.shown(id, set));
            part = part.times(still.includes(id) ? stays : one.minus(stays));
          }
          if (!part.positive) continue;
          const by = found.get(still.join()) ?? new Map<string, Fraction>();
          found.set(still.join(), by);
          by.set(left.join('+'), (by.get(left.join('+')) ?? none).plus(part));
        }
      }
    }
    return found;
  }

  /** The highest expected net, and each first step that reaches it. */
  optimum(): { net: Fraction; firsts: string[] } {
    const belief = this.belief();
    if (!belief) throw new Error('nothing explains what is shown');
    return this.#best(belief, this.#case.shown, [], [], false);
  }

  #best(
    belief: Belief,
    open: readonly string[],
    checked: readonly number[],
    done: readonly number[],
    inside: boolean,
  ): { net: Fraction; firsts: string[] } {
    const { checks, remedies, complaints, value, strip, pass, open: opening } = this.#case;
    const mass = sumOf(belief);
    const keeps = open.reduce((all, id) => all.times(Fraction.of(complaints[id]?.keeps ?? 1)), one);
    let net = none;
    let firsts: string[] = [];
    const offer = (id: string, worth: Fraction) => {
      if (firsts.length === 0 || worth.above(net)) [net, firsts] = [worth, [id]];
      else if (!net.above(worth)) firsts.push(id);
    };
    offer('sell', Fraction.of(value).times(keeps).times(mass));
    offer('strip', Fraction.of(strip).times(mass));
    offer('pass', Fraction.of(pass).times(mass));
    const costOf = (step: { cost: number; inside: boolean }) =>
      Fraction.of(step.cost + (step.inside && !inside ? opening : 0)).times(mass);
    checks.forEach((check, c) => {
      if (checked.includes(c)) return;
      let sum = none.minus(costOf(check));
      check.otherwise.forEach((_, o) => {
        const left = this.seen(belief, c, o);
        if (left.size > 0)
          sum = sum.plus(this.#best(left, open, [...checked, c], done, inside || check.inside).net);
      });
      offer(check.id, sum);
    });
    remedies.forEach((remedy, r) => {
      if (done.includes(r)) return;
      let sum = none.minus(costOf(remedy));
      for (const [still, left] of this.mended(belief, r, open)) {
        const now = still === '' ? [] : still.split(',');
        sum = sum.plus(this.#best(left, now, checked, [...done, r], inside || remedy.inside).net);
      }
      offer(remedy.id, sum);
    });
    return { net, firsts };
  }
}

/** The optimum of a whole problem in floats: every step is tried in every state, nothing is remembered and nothing left out. */
export function bruteForce(problem: SetProblem): number {
  const { hypotheses, complaints, checks, remedies, access, ends, value } = problem;
  const place = new Map(hypotheses.map(({ faults }, h) => [faults.join(), h]));
  const climb = (from: number, to: number) =>
    access.slice(from, Math.max(from, to)).reduce((a, b) => a + b, 0);
  interface State {
    w: number[];
    open: boolean[];
    checked: boolean[];
    done: boolean[];
    level: number;
    share: number;
  }
  const maskOf = (open: readonly boolean[]) => open.reduce((mask, is, k) => (is ? mask + 2 ** k : mask), 0);
  const can = ({ needs, not }: { needs: number; not: number }, open: readonly boolean[]) =>
    open.every((is, k) => (is ? (not & (2 ** k)) === 0 : (needs & (2 ** k)) === 0));
  const best = (at: State): number => {
    const mass = at.w.reduce((a, b) => a + b, 0);
    if (mass <= 0) return 0;
    const keeps = complaints.reduce((all, one, k) => (at.open[k] ? all * one.keeps : all), 1);
    let net = value * at.share * keeps * mass;
    for (const end of ends)
      net = Math.max(
        net,
        at.w.reduce((sum, w, h) => sum + w * (end.value[h] ?? 0), 0),
      );
    checks.forEach((check, c) => {
      const form = check.forms.find((one) => can(one, at.open));
      if (at.checked[c] || !form) return;
      let sum = -mass * (check.cost + climb(at.level, check.level));
      check.outcomes.forEach((_, o) => {
        sum += best({
          ...at,
          w: at.w.map((w, h) => w * (form.given[o]?.[h] ?? 0)),
          open: at.open.map((is, k) => is && ((check.clears?.[o] ?? 0) & (2 ** k)) === 0),
          checked: at.checked.map((was, i) => was || i === c),
          level: Math.max(at.level, check.level),
        });
      });
      net = Math.max(net, sum);
    });
    remedies.forEach((remedy, r) => {
      if (at.done[r] || (remedy.when && !remedy.when.some((one) => can(one, at.open)))) return;
      const after = new Map<number, State>();
      at.w.forEach((w, h) => {
        if (w === 0) return;
        let outs: { faults: number[]; chance: number }[] = [{ faults: [], chance: w }];
        for (const fault of hypotheses[h]?.faults ?? []) {
          const works = remedy.works[fault] ?? 0;
          outs = outs.flatMap(({ faults, chance }) => [
            { faults, chance: chance * works },
            { faults: [...faults, fault], chance: chance * (1 - works) },
          ]);
        }
        for (const { faults, chance } of outs) {
          if (chance === 0) continue;
          const to = place.get(faults.join()) ?? 0;
          let looks: { open: boolean[]; chance: number }[] = [{ open: [], chance }];
          complaints.forEach((one, k) => {
            const persists = Math.min(1, (one.chance[to] ?? 0) / (one.chance[h] ?? 1));
            const stays = at.open[k] ? persists * (1 - (remedy.fixes?.[k] ?? 0)) : 0;
            looks = looks.flatMap((look) => [
              { open: [...look.open, true], chance: look.chance * stays },
              { open: [...look.open, false], chance: look.chance * (1 - stays) },
            ]);
          });
          for (const look of looks) {
            if (look.chance === 0) continue;
            const mask = maskOf(look.open);
            const state = after.get(mask) ?? {
              ...at,
              w: at.w.map(() => 0),
              open: look.open,
              done: at.done.map((was, i) => was || i === r),
              level: Math.max(at.level, remedy.level),
              share: mask === maskOf(at.open) ? at.share : at.share * remedy.keeps,
            };
            after.set(mask, state);
            state.w[to] = (state.w[to] ?? 0) + look.chance;
          }
        }
      });
      let sum = -mass * (remedy.cost + climb(at.level, remedy.level));
      for (const state of after.values()) sum += best(state);
      net = Math.max(net, sum);
    });
    return net;
  };
  return best({
    w: hypotheses.map(({ weight }) => weight),
    open: complaints.map(() => true),
    checked: checks.map(() => false),
    done: remedies.map(() => false),
    level: problem.level,
    share: 1,
  });
}
