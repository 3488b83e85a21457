/** What the pack says of a family's phones: the weights of its faults, what a remedy leaves, what parts fetch. */

import { fits } from '../../knowledge/features.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import type { Check, Family, Fault, Remedy } from '../../knowledge/schema.ts';
import type { Economics } from '../economics/economics.ts';
import { pairingOf } from '../pairing/pairing.ts';
import { type barOn, isCellFact } from '../phone/state.ts';

/** Minutes to take a sound component out for stock, beyond getting to the board. Common practice, no source. */
export const STRIP_MINUTES = 2;
/** Share of stripped components that find a use. Assumed. */
const STRIP_SOLD = 0.4;
/** At this share of faults that make a cell dangerous the cell is treated as dangerous. Chosen on the safe side. */
export const CELL_SUSPECT = 0.2;
/** What a pairing effect takes from the phone's worth. Common practice, no source. */
const pairingKeeps = { free: 1, notice: 0.97, calibrate: 0.97, reduced: 0.9, lost: 0.8 } as const;

export const CELL = 'battery';

/** What a check or remedy does to a phone, for the bars of its state. */
export const safetyOf = (step: Check | Remedy): Parameters<typeof barOn>[1] =>
  'outcomes' in step ? step : { ...step, endsOn: true };

/** Faults that a symptom of a dangerous cell is a sign of. */
export function cellFaults(knowledge: Knowledge): Set<string> {
  const found = new Set<string>();
  for (const symptom of knowledge.symptoms.values()) {
    if (!symptom.means.some(isCellFact)) continue;
    for (const [fault, chance] of Object.entries(symptom.seen.faults)) if (chance >= 0.5) found.add(fault);
  }
  return found;
}

export const hasAll = (family: Family, remedy: Remedy): boolean =>
  remedy.parts.every(({ component }) => component in family.components);

/**
 * Share of a sound phone's worth that is left after a remedy: its own `keeps`, times what the pairing of the fitted
 * components takes, by the chance of seeing it.
 */
export function keepsAfter(knowledge: Knowledge, family: Family, remedy: Remedy): number {
  let keeps = remedy.keeps;
  for (const { component } of remedy.parts) {
    for (const { effect, likely } of pairingOf(knowledge, family, component).statements) {
      keeps *= 1 - likely * (1 - pairingKeeps[effect]);
    }
  }
  return keeps;
}

/** What sound components fetch when the phone is stripped, by component; paired ones are worth nothing elsewhere. */
export function salvage(question: {
  knowledge: Knowledge;
  family: Family;
  economics: Economics;
}): Map<string, number> {
  const { knowledge, family, economics } = question;
  const worth = new Map<string, number>();
  for (const id of Object.keys(family.components)) {
    const component = knowledge.components.get(id);
    if (!component) continue;
    const tied = pairingOf(knowledge, family, id).statements.some(
      (one) => one.travels || one.effect === 'lost',
    );
    if (!tied) worth.set(id, component.salvage * economics.part(id, 'original').price * STRIP_SOLD);
  }
  return worth;
}

/** The faults that a family can have, with the pack's weights for it: only their ratios matter. */
export const packWeights = (knowledge: Knowledge, family: Family): { fault: Fault; weight: number }[] =>
  [...knowledge.faults.values()]
    .filter((fault) => fits(family, fault) && fault.component in family.components)
    .map((fault) => ({
      fault,
      weight: Object.entries(fault.times ?? {}).reduce(
        (weight, [feature, factor]) => (family.features.includes(feature) ? weight * factor : weight),
        fault.weight,
      ),
    }));
