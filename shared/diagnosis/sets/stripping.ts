/** What a phone leaves that is taken apart for its components. */
import { STRIP_MINUTES, salvage } from '../family-facts.ts';
import type { BenchBelief } from './bench-belief.ts';
import type { SetCaseQuestion } from './set-case-question.ts';

/** Bench minutes and time for opening and closing, by level. */
export const openMinutes = ({ family }: SetCaseQuestion): [number, number] => [
  family.open.minutes + family.close.minutes,
  family.board.minutes,
];

/** What stripping leaves under each set of faults (indices), after the cost of selling and the time; and that time. */
export function strippingOf(question: SetCaseQuestion, belief: BenchBelief, reached: number) {
  const { family, economics } = question;
  const worths = salvage(question);
  const minutes =
    openMinutes(question)
      .slice(reached)
      .reduce((sum, one) => sum + one, 0) -
    (reached ? 0 : family.close.minutes) +
    STRIP_MINUTES * worths.size;
  const lost = (component: string): number => worths.get(component) ?? 0;
  const sound =
    [...worths.values()].reduce((sum, one) => sum + one, 0) -
    belief.damage.reduce((sum, component) => sum + lost(component), 0);
  const componentOf = belief.faults.map(({ component }) => component);
  return {
    minutes,
    leaves: (faults: readonly number[]): number => {
      const broken = new Set(faults.map((i) => componentOf[i] ?? ''));
      for (const component of belief.damage) broken.delete(component);
      const left = [...broken].reduce((sum, component) => sum - lost(component), sound);
      return left * (1 - economics.sellingCost) - minutes * economics.minute;
    },
  };
}
