/** The remedies that are planned with, what they take, and what the way in to them costs. */

import type { Remedy } from '../../../knowledge/schema.ts';
import type { Economics } from '../../economics/economics.ts';
import { hasAll, keepsAfter } from '../family-facts.ts';
import { canTell } from '../observable.ts';
import type { BenchBelief } from './bench-belief.ts';
import type { Limits } from './limits.ts';
import { type Layout, mendsDamage, type PlannedWork } from './open-work.ts';
import type { SetCaseQuestion } from './set-case-question.ts';
import type { Applies, Hypothesis, SetRemedy } from './set-problem.ts';
import { openMinutes } from './stripping.ts';

export const partsOf = (remedy: Remedy, economics: Economics): number =>
  remedy.parts.reduce((sum, { component, grade }) => sum + economics.part(component, grade).price, 0) +
  remedy.consumables * economics.partBase;

/** Remedies that can be done here. An outcome may rule one out, whatever the odds: a cell far too low is not charged in part. */
export function fittingRemedies(
  { knowledge, family, events }: SetCaseQuestion,
  { usable }: Limits,
): Remedy[] {
  const ruledOut = new Set(
    events.flatMap((event) =>
      event.kind === 'check'
        ? (knowledge.checks.get(event.id)?.outcomes.find(({ id }) => id === event.outcome)?.bars ?? [])
        : [],
    ),
  );
  return [...knowledge.remedies.values()].filter(
    (one) => usable(one) && hasAll(family, one) && !ruledOut.has(one.id),
  );
}

/** Of the remedies those that mend something that may be wrong, or damage that is known. */
export function usefulRemedies(
  question: SetCaseQuestion,
  belief: BenchBelief,
  fitting: readonly Remedy[],
  { open, hypotheses }: { open: readonly PlannedWork[]; hypotheses: readonly Hypothesis[] },
): Remedy[] {
  const live = new Set(hypotheses.flatMap((one) => one.faults));
  return fitting.filter(
    (remedy) =>
      belief.faults.some((fault, i) => live.has(i) && (remedy.works[fault.id] ?? 0) > 0) ||
      open.some(({ kind, ref }) => kind === 'damage' && mendsDamage(question, remedy, ref) > 0),
  );
}

/**
 * What the way in costs, by level: minutes, parts, and both in money. A wet phone is opened and cleaned before anything that
 * puts current through it: paid once, with the opening. What has been reached already costs nothing more.
 */
export function wayIn(question: SetCaseQuestion, reached: number, cleaning: Remedy | null) {
  const { family, economics } = question;
  const sealPrice =
    family.open.breaks && 'gasket' in family.components ? economics.part('gasket', 'original').price : 0;
  const left = openMinutes(question).map((minutes, k) => (cleaning && k < reached ? 0 : minutes));
  const minutes = [(left[0] ?? 0) + (cleaning?.minutes ?? 0), left[1] ?? 0];
  const parts = [
    (cleaning && reached > 0 ? 0 : sealPrice) + (cleaning ? partsOf(cleaning, economics) : 0),
    0,
  ];
  return {
    ...{ minutes, parts },
    costs: minutes.map((some, k) => some * economics.minute + (parts[k] ?? 0)),
    // With liquid inside, opening alone does not open the way to what needs current.
    level: cleaning ? 0 : reached,
  };
}

export function remedyIn(
  question: SetCaseQuestion,
  belief: BenchBelief,
  { levelOf }: Limits,
  { remedy, open, stateOf }: Layout & { remedy: Remedy },
): SetRemedy {
  const { knowledge, family, economics } = question;
  const can = (): Applies[] =>
    stateOf.flatMap((now, mask) =>
      canTell(remedy.when, now) ? [{ needs: mask, not: ~mask & (stateOf.length - 1) }] : [],
    );
  const fixes = open.map(({ kind, ref }) => (kind === 'damage' ? mendsDamage(question, remedy, ref) : 0));
  return {
    id: remedy.id,
    cost: remedy.minutes * economics.minute + partsOf(remedy, economics),
    level: levelOf(remedy),
    keeps: keepsAfter(knowledge, family, remedy),
    works: belief.faults.map(({ id }) => remedy.works[id] ?? 0),
    ...(remedy.when ? { when: can() } : {}),
    ...(fixes.some((chance) => chance > 0) ? { fixes } : {}),
  };
}

/** Share of the worth that the remedies leave that were done already. */
export const shareLeft = ({ knowledge, family }: SetCaseQuestion, { effective }: BenchBelief): number =>
  effective.reduce((keeps, id) => {
    const remedy = knowledge.remedies.get(id);
    return remedy ? keeps * keepsAfter(knowledge, family, remedy) : keeps;
  }, 1);
