/**
 * The state of a phone: what is settled about it, whatever the odds say. A pure value, folded from its events; every command
 * reads it, so that no two of them can disagree.
 */
import { accessLevels, type Hazard, type SeenFact } from '../../knowledge/schema.ts';
import type { FactGround, LoggedPhoneEvent, SafetyStep, SaidFact } from './event.ts';

/**
 * `suspect`: its cell may be dangerous. `isolated`: it is set apart, and only handing it over is left. `handed-over`: it is
 * with whoever deals with such cells.
 */
export const dangers = ['none', 'suspect', 'isolated', 'handed-over'] as const;
type DangerLevel = (typeof dangers)[number];
export const wetnesses = ['no', 'wet', 'cleaned'] as const;
type Wetness = (typeof wetnesses)[number];
/** What can be observed at all: nothing of a phone that is dead, a start, or everything. */
const powerStates = ['unknown', 'dead', 'starts', 'runs'] as const;
export type PowerState = (typeof powerStates)[number];

/** A fact, and who knows it since when. */
export interface KnownFact {
  fact: SaidFact;
  ground: FactGround;
  ref: string;
  by: string;
  at: Date;
}

/** What was done to make a phone safe: `who` did it, where that is not the person who wrote it down. */
interface MadeSafe {
  step: SafetyStep;
  who: string;
  by: string;
  at: Date;
}

export interface PhoneState {
  /** All facts that were ever stated, oldest first: what a phone was stays to be told. */
  facts: readonly KnownFact[];
  /** What was done to make it safe, oldest first. */
  madeSafe: readonly MadeSafe[];
  danger: DangerLevel;
  wet: Wetness;
  /** True once someone qualified has fitted another cell. */
  newCell: boolean;
  power: PowerState;
  /** How far it is taken apart: an index of `accessLevels`. */
  access: number;
}

/** Facts that put the cell under suspicion. */
const cellFacts = ['swollen', 'hot', 'leaking', 'hurt', 'lifted', 'unsafe'] as const;
export const isCellFact = (fact: SaidFact): boolean => cellFacts.some((one) => one === fact);

/** What is asked of a step before it is done on a phone in some state. */
export interface StepSafety {
  hazards: readonly Hazard[];
  /** The phone has to be on for it, or is switched on by it. */
  powers: boolean;
  /** A remedy: it ends with switching the phone on to see whether it works. */
  endsOn?: boolean;
  /** It cleans the inside, so that the phone is dry after it. */
  cleans?: boolean;
}

/** No step that uses, powers, opens or warms a phone whose cell is suspect: only steps that hand it over. */
const HANDS_OVER: Hazard = 'unsafe-cell';
const CURRENT: readonly Hazard[] = ['charges', 'live-supply'];

/** True where a step puts current through the phone. */
const putsCurrent = ({ hazards, powers, endsOn = false }: StepSafety): boolean =>
  powers || endsOn || hazards.some((hazard) => CURRENT.includes(hazard));

/**
 * Why a step must not be done on a phone in this state; null when nothing of its state speaks against it. A suspect cell
 * leaves nothing but handing the phone over; liquid leaves what puts no current through it, and the cleaning.
 */
export function barOn(state: Pick<PhoneState, 'danger' | 'wet'>, step: StepSafety): 'cell' | 'wet' | null {
  if (state.danger !== 'none') return step.hazards.includes(HANDS_OVER) ? null : 'cell';
  // A cleaning ends with the phone dry, and only then switched on.
  const current = step.cleans ? { ...step, endsOn: false } : step;
  if (state.wet === 'wet' && putsCurrent(current)) return 'wet';
  return null;
}

/** Folds events, oldest first, into a state. Withdrawn ones count no more. */
export function stateAfter(
  events: readonly LoggedPhoneEvent[],
  { power = 'unknown', access = 0 }: { power?: PowerState; access?: number } = {},
): PhoneState {
  const standing = events.filter(({ withdrawn }) => withdrawn === null);
  const state = { danger: 'none' as DangerLevel, wet: 'no' as Wetness, newCell: false };
  const facts: KnownFact[] = [];
  const madeSafe: MadeSafe[] = [];
  let markIsDry = false;
  let sealIsWhole = false;
  for (const { event, by, at } of standing) {
    if (event.kind === 'fact') {
      const { fact, ground, ref } = event;
      facts.push({ fact, ground, ref, by: by.name, at });
      if (isCellFact(fact)) {
        // A new sign asks for the cell to be set apart again, whatever was said of it before.
        state.danger = 'suspect';
        state.newCell = false;
      }
      if (fact === 'wet') {
        state.wet = 'wet';
        markIsDry = false;
        sealIsWhole = false;
      }
      markIsDry ||= fact === 'mark-dry';
      sealIsWhole ||= fact === 'seal-whole';
      if (state.wet === 'wet' && markIsDry && sealIsWhole) state.wet = 'no';
      continue;
    }
    if (event.kind !== 'safety') continue;
    madeSafe.push({ step: event.step, who: event.who, by: by.name, at });
    if (event.step === 'cleaned') {
      if (state.wet === 'wet') state.wet = 'cleaned';
    } else if (event.step === 'new-cell') {
      state.danger = 'none';
      state.newCell = true;
    } else if (event.step === 'handed-over') {
      if (state.danger !== 'none') state.danger = 'handed-over';
    } else if (state.danger === 'suspect') {
      state.danger = 'isolated';
    }
  }
  return { facts, madeSafe, ...state, power, access: Math.min(Math.max(access, 0), accessLevels.length - 1) };
}

/** True where a cell that is hot, hisses or smokes was seen since it was last made safe: the gravest card. */
export const isHot = ({ danger, facts }: PhoneState): boolean =>
  danger !== 'none' && facts.some(({ fact }) => fact === 'hot');

/** The facts about the cell, each once, in the order in which they were first stated. */
export const cellFactsOf = ({ facts }: Pick<PhoneState, 'facts'>): KnownFact[] => {
  const seen = new Set<SaidFact>();
  return facts.filter(({ fact }) => {
    if (!isCellFact(fact) || seen.has(fact)) return false;
    seen.add(fact);
    return true;
  });
};

/** What said that it is wet. */
export const wetFactsOf = ({ facts }: Pick<PhoneState, 'facts'>): KnownFact[] =>
  facts.filter(({ fact }) => fact === 'wet');

/** A symptom or an outcome as facts. */
export const factsOf = (
  means: readonly SeenFact[],
  ground: FactGround,
  ref: string,
): { kind: 'fact'; fact: SeenFact; ground: FactGround; ref: string }[] =>
  means.map((fact) => ({ kind: 'fact', fact, ground, ref }));
