/** A pack small enough to work through by hand: the real one's sources, and families, faults, checks and remedies made here. */
import { type Knowledge, loadKnowledge } from '../../knowledge/load.ts';
import type { Check, Component, Family, Fault, Pairing, Remedy, Symptom } from '../../knowledge/schema.ts';

const pack = loadKnowledge();
const [family] = pack.families.values();
const [fault] = pack.faults.values();
const [check] = pack.checks.values();
const [remedy] = pack.remedies.values();
const [symptom] = pack.symptoms.values();
const [pairing] = pack.pairing;
if (!family || !fault || !check || !remedy || !symptom || !pairing) throw new Error('the pack is empty');
const bare = { with: undefined, without: undefined };

export const familyOf = (id: string, over: Partial<Family> = {}): Family => ({
  ...family,
  id,
  features: [],
  components: {},
  ...over,
});
export const faultOf = (id: string, weight: number, over: Partial<Fault> = {}): Fault => ({
  ...fault,
  ...bare,
  times: undefined,
  id,
  weight,
  ...over,
});
export const checkOf = (id: string, given: Check['given'], over: Partial<Check> = {}): Check => ({
  ...check,
  ...bare,
  when: undefined,
  masks: undefined,
  substitutes: undefined,
  unit: undefined,
  id,
  minutes: 1,
  access: 'closed',
  hazards: [],
  outcomes: given.otherwise.map((_, i) => ({ id: `o${i + 1}`, says: `outcome ${i + 1}`, means: [] })),
  given,
  ...over,
});
export const remedyOf = (id: string, works: Remedy['works'], over: Partial<Remedy> = {}): Remedy => ({
  ...remedy,
  ...bare,
  id,
  works,
  parts: [],
  consumables: 0,
  minutes: 10,
  access: 'closed',
  hazards: [],
  keeps: 1,
  ...over,
});
export const symptomOf = (id: string, seen: Symptom['seen'], over: Partial<Symptom> = {}): Symptom => ({
  ...symptom,
  ...bare,
  id,
  seen,
  when: undefined,
  keeps: undefined,
  history: undefined,
  damage: undefined,
  first: undefined,
  means: [],
  hazards: [],
  ...over,
});
export const pairingFor = (
  about: string,
  effect: Pairing['effect'],
  over: Partial<Pairing> = {},
): Pairing => ({
  ...pairing,
  component: about,
  effect,
  when: [],
  travels: false,
  likely: 1,
  ...over,
});

const byId = <T extends { id: string }>(list: readonly T[]): Map<string, T> =>
  new Map(list.map((one) => [one.id, one]));

export const smallPack = (parts: {
  families: readonly Family[];
  faults: readonly Fault[];
  checks?: readonly Check[];
  remedies?: readonly Remedy[];
  symptoms?: readonly Symptom[];
  components?: readonly Component[];
  pairing?: readonly Pairing[];
}): Knowledge => ({
  ...pack,
  pairing: parts.pairing ?? [],
  components: byId(parts.components ?? []),
  families: byId(parts.families),
  faults: byId(parts.faults),
  checks: byId(parts.checks ?? []),
  remedies: byId(parts.remedies ?? []),
  symptoms: byId(parts.symptoms ?? []),
});
