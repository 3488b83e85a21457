/**
 * What following the advice really brings: the plan is made again after each answer, every answer is followed that is likely
 * enough, and each counts by its chance. Held against what the first plan said.
 */
import type { Check, Remedy } from '../../knowledge/schema.ts';
import { type BenchEvent, beliefOf } from '../../shared/diagnosis/sets/bench-belief.ts';
import { type SetCase, setCaseOf } from '../../shared/diagnosis/sets/set-case.ts';
import type { SetCaseQuestion } from '../../shared/diagnosis/sets/set-case-question.ts';
import type { SetPlan } from '../../shared/diagnosis/sets/set-plan.ts';
import { SELL } from '../../shared/diagnosis/sets/set-problem.ts';

/** Below this chance of coming there the plan's own word is taken for what follows. */
const FOLLOWED = 0.01;
const DEEPEST = 25;

export interface Replanned {
  /** Expected net, as the first plan says it. */
  stated: number;
  /** Expected net of planning again after each answer. */
  realised: number;
  /** Plans made. */
  plans: number;
}

/** @param planOf how a case is planned. */
export function replanned(question: SetCaseQuestion, planOf: (found: SetCase) => SetPlan): Replanned | null {
  let plans = 0;
  const { checks, remedies } = question.knowledge;
  const heldAfter = (events: readonly BenchEvent[]) => beliefOf({ ...question, events })?.held ?? 0;

  const follow = (events: readonly BenchEvent[], reach: number, depth: number): number => {
    const found = setCaseOf({ ...question, events });
    if (!found) return 0;
    const plan = planOf(found);
    plans++;
    if (reach < FOLLOWED || depth >= DEEPEST) return plan.expected;
    const { action } = plan;
    if (action.kind === 'end') return endOf(found, action.id);
    const cost = costOf(found, action.id);
    const next = answersTo(found, checks.get(action.id) ?? remedies.get(action.id), events);
    const held = found.belief.held;
    let net = -cost;
    for (const { after, mends } of next) {
      const chance = (mends * heldAfter(after)) / held;
      if (chance > 1e-9) net += chance * follow(after, reach * chance, depth + 1);
    }
    return net;
  };
  const found = setCaseOf(question);
  if (!found) return null;
  const stated = planOf(found).expected;
  return { stated, realised: follow(question.events, 1, 0), plans };
}

function endOf({ problem }: SetCase, id: string): number {
  if (id === SELL) return problem.complaints.reduce((value, one) => value * one.keeps, problem.value);
  const end = problem.ends.find((one) => one.id === id);
  return problem.hypotheses.reduce((sum, { weight }, h) => sum + weight * (end?.value[h] ?? 0), 0);
}

function costOf({ problem }: SetCase, id: string): number {
  const step = [...problem.checks, ...problem.remedies].find((one) => one.id === id);
  if (!step) throw new Error(`no step ${id}`);
  return problem.access
    .slice(problem.level, Math.max(problem.level, step.level))
    .reduce((a, b) => a + b, step.cost);
}

/**
 * Everything that can be seen of a step, each as the events with it. `mends` is the chance that a remedy leaves just so much of
 * the known damage: that is no evidence of hidden faults, so what is held of them does not count it.
 */
function answersTo(
  found: SetCase,
  step: Check | Remedy | undefined,
  events: readonly BenchEvent[],
): { after: BenchEvent[]; mends: number }[] {
  if (!step) return [];
  if ('outcomes' in step)
    return step.outcomes.map(({ id }) => ({
      after: [...events, { kind: 'check', id: step.id, outcome: id }],
      mends: 1,
    }));
  const fixes = found.problem.remedies.find(({ id }) => id === step.id)?.fixes;
  return Array.from({ length: 1 << found.open.length }, (_, mask): { after: BenchEvent[]; mends: number } => {
    const left = found.open.filter((_, k) => (mask >> k) & 1);
    const gone = found.open.filter((one) => !left.includes(one));
    const mends = found.open.reduce((chance, one, k) => {
      if (one.kind !== 'damage') return chance;
      const fixed = fixes?.[k] ?? 0;
      return chance * (gone.includes(one) ? fixed : 1 - fixed);
    }, 1);
    const refs = (some: typeof gone) => some.map(({ ref }) => ref);
    return { after: [...events, { kind: 'remedy', id: step.id, gone: refs(gone), left: refs(left) }], mends };
  }).filter(({ mends }) => mends > 0);
}
