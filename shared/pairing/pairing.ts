/** What swapping a component does in a family, from the pack's statements. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { Family, Pairing, PairingEffect } from '../../knowledge/schema.ts';
import type { Message } from '../language/message.ts';
import { say } from '../language/say.ts';

/** What is said where the pack has nothing official: never that a component is not paired. */
export const noStatement = say`No official statement of pairing found.`;

/** "A swap ...". */
export const effectWords: Readonly<Record<PairingEffect, Message>> = {
  free: say`keeps everything`,
  notice: say`brings a notice`,
  reduced: say`takes some function away`,
  calibrate: say`needs setting up again`,
  lost: say`loses a function`,
};

export interface PairingOf {
  component: string;
  /** Those that hold in this family, likeliest first. */
  statements: readonly Pairing[];
  /** The likeliest effect; null without a statement. */
  effect: PairingEffect | null;
  /** The gravest effect that any statement names; null without a statement. */
  worst: PairingEffect | null;
  /** It must stay with the mainboard it came with to keep its function. */
  travels: boolean;
  /** At least one statement cites a source. */
  sourced: boolean;
}

/** From no loss to a lost function. */
const gravity: readonly PairingEffect[] = ['free', 'notice', 'calibrate', 'reduced', 'lost'];
const graver = (a: PairingEffect | null, b: PairingEffect | null): number =>
  (b === null ? -1 : gravity.indexOf(b)) - (a === null ? -1 : gravity.indexOf(a));

const known = new WeakMap<readonly Pairing[], WeakMap<Family, Map<string, PairingOf>>>();

/**
 * Statements on one component that hold in a family: those whose features the family has, all of them. A trace asks for
 * the same ones at every step, so they are found once for each pack and family.
 */
export function pairingOf(
  { pairing }: Pick<Knowledge, 'pairing'>,
  family: Family,
  component: string,
): PairingOf {
  const families = known.get(pairing) ?? new WeakMap<Family, Map<string, PairingOf>>();
  known.set(pairing, families);
  const components = families.get(family) ?? new Map<string, PairingOf>();
  families.set(family, components);
  const found = components.get(component) ?? findPairing(pairing, family, component);
  components.set(component, found);
  return found;
}

function findPairing(pairing: readonly Pairing[], family: Family, component: string): PairingOf {
  const statements = pairing
    .filter((one) => one.component === component && one.when.every((id) => family.features.includes(id)))
    .sort((a, b) => b.likely - a.likely || graver(a.effect, b.effect));
  const [worst] = statements.map(({ effect }) => effect).sort(graver);
  return {
    component,
    statements,
    effect: statements[0]?.effect ?? null,
    worst: worst ?? null,
    travels: statements.some(({ travels }) => travels),
    sourced: statements.some(({ ground }) => typeof ground !== 'string'),
  };
}

/** Every component of a family: what must stay with the board first, then by gravity, those without a statement last. */
export const pairingTable = (knowledge: Pick<Knowledge, 'pairing'>, family: Family): PairingOf[] =>
  Object.keys(family.components)
    .map((component) => pairingOf(knowledge, family, component))
    .sort((a, b) => Number(b.travels) - Number(a.travels) || graver(a.effect, b.effect));

/** How sure a chance from 0 to 1 is, in one word. */
export const chanceOf = (chance: number): Chance =>
  chance >= 0.75 ? 'expect' : chance >= 0.4 ? 'likely' : chance >= 0.15 ? 'possible' : 'seldom';
export type Chance = 'expect' | 'likely' | 'possible' | 'seldom';
const chanceWords: Readonly<Record<Chance, Message>> = {
  expect: say`expect`,
  likely: say`likely`,
  possible: say`possible`,
  seldom: say`seldom`,
};
export const chanceWord = (chance: number): Message => chanceWords[chanceOf(chance)];
