import type { Economics } from '../../economics/economics.ts';
import type { PhoneState } from '../../phone/state.ts';
import type { BeliefQuestion } from './bench-belief.ts';

/** A phone on the bench, and what things cost there. */
export interface SetCaseQuestion extends BeliefQuestion {
  readonly economics: Economics;
  /** What is settled about the phone, whatever the odds say. */
  readonly state: PhoneState;
}
