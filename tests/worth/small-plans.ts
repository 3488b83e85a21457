/** Plans small enough to be reckoned by hand. */
import type { LogStudentT } from '../../shared/market/value.ts';
import type { End, PlanNode, PlanStep } from '../../shared/worth/ways.ts';

/** What sells for that and nothing else. */
export const sure = (amount: number): LogStudentT => ({
  location: Math.log(amount),
  scale: 1e-7,
  degrees: 200,
});
export const end = (more: Partial<End> = {}): End => ({
  kind: 'end',
  id: 'end',
  restored: false,
  cash: 0,
  minutes: 0,
  sale: null,
  ...more,
});
export const step = (cash: number, minutes: number, ...then: [chance: number, PlanNode][]): PlanStep => ({
  kind: 'step',
  id: `step ${cash}/${minutes}`,
  cash,
  minutes,
  outcomes: then.map(([chance, node], at) => ({ id: String(at), chance, next: node })),
});
