/**
 * The repairability index of Delegated Regulation (EU) 2023/1669, Annex IV point 5, of smartphones and slate tablets:
 * R = 0.25 S_DD + 0.15 (S_F + S_T + S_SP + S_SU + S_RI), each score from 1 to 5. Weights, points and classes are the
 * regulation's own; its terms follow EN 45554 (recital 10).
 */

export const priorityParts = [
  'battery',
  'display-assembly',
  'back-cover',
  'front-camera',
  'rear-camera',
  'charging-port',
  'mechanical-button',
  'main-microphone',
  'speaker',
  'folding',
] as const;
/** `folding` is the hinge or the mechanical display folding mechanism. */
export type PriorityPart = (typeof priorityParts)[number];

export type Fasteners = 'reusable' | 'resupplied' | 'removable';
/** with-part, with-product: supplied free with the spare part, or with the phone. */
export type Tools = 'none' | 'basic' | 'with-part' | 'with-product' | 'on-sale';
/** To whom which spare parts go; those not named go to professional repairers. */
export type Spares =
  | 'all'
  | 'display-battery-back-cameras'
  | 'display-battery-back'
  | 'display-battery'
  | 'display';
/** public: free to all but for board diagrams, those free to professionals; then free, or at a fee, to professionals. */
export type Information = 'public' | 'free' | 'fee';

export interface PartFacts {
  /** Steps to take the part out, >= 1, without any pairing. */
  steps: number;
  fasteners: Fasteners;
  tools: Tools;
  /** Remote notification, remote authorisation of its serial number, where needed for full function: 0, 1 or 2 of them. */
  pairingActions: number;
}

export interface RepairabilityFacts {
  /** A part that the phone does not have is left out and scores highest; of several of one kind the lowest score counts. */
  parts: Readonly<Partial<Record<PriorityPart, readonly PartFacts[]>>>;
  spares: Spares;
  /** Years of updates after the last unit is placed on the market, >= 5. */
  updates: number;
  information: Information;
}

export type RepairabilityClass = 'A' | 'B' | 'C' | 'D' | 'E';
export interface Repairability {
  /** 1 to 5. */
  index: number;
  class: RepairabilityClass;
  scores: {
    depth: number;
    fasteners: number;
    tools: number;
    spares: number;
    updates: number;
    information: number;
  };
}

/** Weights of the parts, in hundredths: of a rigid phone, and of one that folds. */
const partWeights: Readonly<Record<PriorityPart, readonly [rigid: number, folds: number]>> = {
  battery: [30, 25],
  'display-assembly': [30, 25],
  'back-cover': [10, 9],
  'front-camera': [5, 4],
  'rear-camera': [5, 4],
  'charging-port': [5, 4],
  'mechanical-button': [5, 4],
  'main-microphone': [5, 4],
  speaker: [5, 4],
  folding: [0, 17],
};
/** Weights of the scores, in hundredths. */
const scoreWeights = {
  depth: 25,
  fasteners: 15,
  tools: 15,
  spares: 15,
  updates: 15,
  information: 15,
} as const;

const HIGHEST = 5;
const fastenerPoints: Readonly<Record<Fasteners, number>> = { reusable: 5, resupplied: 3, removable: 1 };
const toolPoints: Readonly<Record<Tools, number>> = {
  none: 5,
  basic: 4,
  'with-part': 3,
  'with-product': 2,
  'on-sale': 1,
};
const sparePoints: Readonly<Record<Spares, number>> = {
  all: 5,
  'display-battery-back-cameras': 4,
  'display-battery-back': 3,
  'display-battery': 2,
  display: 1,
};
const informationPoints: Readonly<Record<Information, number>> = { public: 5, free: 3, fee: 1 };
/** Steps that each remote notification or authorisation counts for. */
const STEPS_PER_PAIRING_ACTION = 5;

/** Points for disassembly depth: up to 2, 5, 10 and 15 steps give 5, 4, 3 and 2; more give 1. */
export function depthPoints(steps: number): number {
  const limits = [2, 5, 10, 15];
  const at = limits.findIndex((limit) => steps <= limit);
  return at < 0 ? 1 : HIGHEST - at;
}

/** Points for updates: 7 years and more give 5, 6 give 3, fewer 1. */
const updatePoints = (years: number): number => (years >= 7 ? 5 : years >= 6 ? 3 : 1);

/** A from 4.00, B from 3.35, C from 2.55, D from 1.75 (Annex II, table 4). */
export function classOf(index: number): RepairabilityClass {
  const from = [
    ['A', 4],
    ['B', 3.35],
    ['C', 2.55],
    ['D', 1.75],
  ] as const;
  // Sums of hundredths are off by a few units in the last place; a limit that is met is met.
  return from.find(([, least]) => index >= least - 1e-9)?.[0] ?? 'E';
}

/** @param folds the weights of a phone that folds. @throws RangeError for a step count below 1. */
export function repairabilityIndex(facts: RepairabilityFacts, folds: boolean): Repairability {
  const over = (points: (part: PartFacts) => number): number => {
    let hundredths = 0;
    for (const part of priorityParts) {
      const [rigid, folding] = partWeights[part];
      const lowest = Math.min(HIGHEST, ...(facts.parts[part] ?? []).map(points));
      hundredths += (folds ? folding : rigid) * lowest;
    }
    return hundredths / 100;
  };
  for (const part of priorityParts)
    for (const { steps } of facts.parts[part] ?? [])
      if (!(steps >= 1)) throw new RangeError(`${part}: ${steps} steps`);
  const scores = {
    depth: over(({ steps, pairingActions }) =>
      depthPoints(steps + STEPS_PER_PAIRING_ACTION * pairingActions),
    ),
    fasteners: over(({ fasteners }) => fastenerPoints[fasteners]),
    tools: over(({ tools }) => toolPoints[tools]),
    spares: sparePoints[facts.spares],
    updates: updatePoints(facts.updates),
    information: informationPoints[facts.information],
  };
  const index =
    (scoreWeights.depth * scores.depth +
      scoreWeights.fasteners * scores.fasteners +
      scoreWeights.tools * scores.tools +
      scoreWeights.spares * scores.spares +
      scoreWeights.updates * scores.updates +
      scoreWeights.information * scores.information) /
    100;
  return { index, class: classOf(index), scores };
}
