/** What can be told of a phone as it is at some moment: the applicability of checks and symptoms by its state. */
import type { When } from '../../knowledge/schema.ts';
import type { PowerState } from '../phone/state.ts';

export interface Observable {
  /** `unknown` counts as running: whoever brings a dead phone says so. */
  power: PowerState;
  /** Ids of the symptoms that are open. */
  open: readonly string[];
  /** True where there is liquid inside. Left out where a plan may clean it first. */
  wet?: boolean;
}

/** True where something can be told of the phone now; without `when` always. */
export function canTell(when: When | undefined, { power, open, wet = false }: Observable): boolean {
  if (when === undefined) return true;
  const state = power === 'unknown' ? 'runs' : power;
  if (when.power && !when.power.includes(state)) return false;
  if (when.open && !when.open.some((id) => open.includes(id))) return false;
  return !when.not?.some((id) => (id === WET ? wet : open.includes(id)));
}

/** The one entry of `not` that is a fact and no symptom. */
export const WET = 'wet';
