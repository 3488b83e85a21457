/** The repairability index of a family: from how it is built, and from what the law asks of phones that are still sold. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { Family } from '../../knowledge/schema.ts';
import { pairingOf } from '../pairing/pairing.ts';
import {
  type PartFacts,
  type PriorityPart,
  priorityParts,
  type Repairability,
  repairabilityIndex,
  type Spares,
} from './repairability-index.ts';

/** What the index is worked out from without being read for this family. */
export const assumptions = ['disassembly', 'spares', 'both-pairing-actions'] as const;
export type Assumption = (typeof assumptions)[number];
export type Missing =
  | { what: 'smartphone' | 'spares' | 'updates' | 'information' }
  | { what: 'disassembly'; component: string };

export type FamilyRepairability =
  | {
      known: true;
      /** With the pairing penalty. */
      rated: Repairability;
      /** As if nothing were paired; equal to `rated` where nothing is. */
      unpaired: Repairability;
      /** Components whose swap the maker has to be told of and to authorise. */
      /** Ids. */
      paired: readonly string[];
      spares: Spares;
      assumed: readonly Assumption[];
    }
  /** What is not known. */
  | { known: false; missing: readonly Missing[] };

/** Components that count as a part. */
const componentsOf = (part: PriorityPart): readonly string[] =>
  part === 'folding' ? ['hinge-assembly', 'folding-mechanism'] : [part];

/** Notification and authorisation, the two that Regulation (EU) 2023/1670 lets a maker ask for. */
const PAIRING_ACTIONS = 2;
/** The least that Regulation (EU) 2023/1670, Annex II, asks of smartphones placed on the market from 20 June 2025. */
export const LEAST_UPDATES = 5;

/** A swap of it needs the maker's software in this family: a statement on serialised parts holds for it. */
const isSerialised = (knowledge: Pick<Knowledge, 'pairing'>, family: Family, component: string): boolean =>
  pairingOf(knowledge, family, component).statements.some(({ when }) => when.includes('serialised-parts'));

/**
 * The index of a family. Steps, fasteners and tools are those of the pack; spare parts, updates and information are the
 * law's minimum, for families that are still sold, and unknown for others.
 */
export function familyRepairability(
  knowledge: Pick<Knowledge, 'pairing'>,
  family: Family,
): FamilyRepairability {
  const all = priorityParts.flatMap(componentsOf);
  const unread = all.filter((id) => family.components[id] === null);
  const missing: Missing[] = [
    ...(family.features.includes('mechanical-keys') ? [{ what: 'smartphone' as const }] : []),
    ...unread.map((component) => ({ what: 'disassembly' as const, component })),
    ...(family.era.to === null
      ? []
      : (['spares', 'updates', 'information'] as const).map((what) => ({ what }))),
  ];
  if (missing.length) return { known: false, missing };

  const paired = all.filter((id) => id in family.components && isSerialised(knowledge, family, id));
  const factsOf = (id: string, actions: number): PartFacts[] => {
    const out = family.components[id];
    return out ? [{ ...out, pairingActions: paired.includes(id) ? actions : 0 }] : [];
  };
  // End-users get the back cover where it must come off to reach the battery.
  const backFirst = ['glued-back', 'clipped-back', 'removable-back'].some((id) =>
    family.features.includes(id),
  );
  const spares: Spares = backFirst ? 'display-battery-back' : 'display-battery';
  const rate = (actions: number): Repairability => {
    const parts: Partial<Record<PriorityPart, PartFacts[]>> = {};
    for (const part of priorityParts) parts[part] = componentsOf(part).flatMap((id) => factsOf(id, actions));
    return repairabilityIndex(
      { parts, spares, updates: LEAST_UPDATES, information: 'fee' },
      family.features.includes('folds'),
    );
  };
  return {
    known: true,
    rated: rate(PAIRING_ACTIONS),
    unpaired: rate(0),
    paired,
    spares,
    assumed: ['disassembly', 'spares', ...(paired.length ? (['both-pairing-actions'] as const) : [])],
  };
}
