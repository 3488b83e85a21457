/**
 * What a pack lacks, beyond what is wrong with it: faults that no check parts, checks that nothing asks for, symptoms that no
 * words name, families with no way in, remedies without minutes of their own family, and where its rows come from. Pure.
 */
import { fits } from './features.ts';
import type { Knowledge } from './load.ts';
import { noisyMaxFall } from './noisy-max.ts';
import type { Check, Family, Fault, Ground, Symptom } from './schema.ts';

/** Two faults of a family whose outcomes, after every check that the family can have, overlap by more than this are not parted. */
export const MOST_OVERLAP = 0.5;
/** Chances that differ by less say the same. */
const SAME = 1e-9;
/** Ratios of chances are taken together within this share of each other: an overlap is then right to about as much. */
const RATIO_STEP = 1e-3;

/** The faults that a family can have. */
export const faultsOf = (knowledge: Knowledge, family: Family): Fault[] =>
  [...knowledge.faults.values()].filter(
    (fault) => fits(family, fault) && fault.component in family.components,
  );

const rowOf = ({ given }: Check, fault: string): readonly number[] => given.faults[fault] ?? given.otherwise;
const differ = (a: readonly number[], b: readonly number[]): boolean =>
  a.some((chance, at) => Math.abs(chance - (b[at] ?? 0)) > SAME);

/**
 * Sum over all ways in which these checks can come out together of the smaller of the two chances: 1 where they say nothing,
 * 0 where they always part the two. Each further check can only lower it: counting stops once it is no more than `enough`.
 */
export function overlapOf(
  pairs: readonly (readonly [readonly number[], readonly number[]])[],
  enough = 0,
): number {
  let ways = new Map<number, [number, number]>([[0, [1, 1]]]);
  let overlap = 1;
  for (const [a, b] of pairs) {
    const next = new Map<number, [number, number]>();
    for (const [p, q] of ways.values()) {
      a.forEach((chance, at) => {
        const left = p * chance;
        const right = q * (b[at] ?? 0);
        if (left === 0 || right === 0) return;
        // Ways of one ratio are one way: what comes after adds to both alike.
        const key = Math.round(Math.log(left / right) / RATIO_STEP);
        const held = next.get(key);
        if (held) {
          held[0] += left;
          held[1] += right;
        } else next.set(key, [left, right]);
      });
    }
    ways = next;
    overlap = 0;
    for (const [p, q] of ways.values()) overlap += Math.min(p, q);
    if (overlap <= enough) break;
  }
  return overlap;
}

/** Sum of the square roots of the products: never below the overlap, and quick. */
const affinity = ([a, b]: readonly [readonly number[], readonly number[]]): number =>
  a.reduce((sum, chance, at) => sum + Math.sqrt(chance * (b[at] ?? 0)), 0);

export interface Unparted {
  /** What both of them show, with the checks that can be asked then; null: any two, with all checks. */
  symptom: string | null;
  faults: readonly [string, string];
  overlap: number;
  /** The families in which they overlap by more than half. */
  families: string[];
  /** Why they cannot be parted, as the pack says. */
  because: string | null;
}

/** A fault counts as one of a symptom's where it shows it so much more often than nothing does, and at least so often. */
const SHOWS_MORE = 3;
const SHOWS_OFTEN = 0.2;
const shows = ({ seen }: Symptom, fault: string): boolean => {
  const chance = seen.faults[fault] ?? 0;
  return chance >= SHOWS_OFTEN && chance >= SHOWS_MORE * seen.otherwise;
};

/**
 * Pairs of faults that show the same symptom and overlap by more than half after every check that the family can have and
 * that can be asked with it, the least parted first.
 */
export function unparted(knowledge: Knowledge): Unparted[] {
  const checks = [...knowledge.checks.values()];
  const known = new Map<string, number>();
  const found = new Map<string, Unparted>();
  const overlapOn = (one: string, other: string, asked: readonly Check[]): number => {
    const telling = asked.filter((check) => differ(rowOf(check, one), rowOf(check, other)));
    const key = [one, other, ...telling.map(({ id }) => id)].join(' ');
    const before = known.get(key);
    if (before !== undefined) return before;
    const rows = telling
      .map((check) => [rowOf(check, one), rowOf(check, other)] as const)
      .sort((a, b) => affinity(a) - affinity(b));
    const bound = rows.reduce((product, pair) => product * affinity(pair), 1);
    const overlap = bound <= MOST_OVERLAP ? bound : overlapOf(rows, MOST_OVERLAP);
    known.set(key, overlap);
    return overlap;
  };
  for (const symptom of [null, ...knowledge.symptoms.values()]) {
    if (symptom?.history) continue;
    for (const family of knowledge.families.values()) {
      if (symptom && !fits(family, symptom)) continue;
      const asked = checks.filter((check) => fits(family, check) && (!symptom || canAsk(check, symptom)));
      const faults = faultsOf(knowledge, family).filter(({ id }) => !symptom || shows(symptom, id));
      faults.forEach((one, at) => {
        for (const other of faults.slice(at + 1)) {
          const overlap = overlapOn(one.id, other.id, asked);
          if (overlap <= MOST_OVERLAP) continue;
          const key = `${symptom?.id} ${one.id} ${other.id}`;
          const held = found.get(key);
          if (held) {
            held.families.push(family.id);
            held.overlap = Math.max(held.overlap, overlap);
          } else
            found.set(key, {
              symptom: symptom?.id ?? null,
              faults: [one.id, other.id],
              overlap,
              families: [family.id],
              because: one.unparted?.[other.id] ?? other.unparted?.[one.id] ?? null,
            });
        }
      });
    }
  }
  return [...found.values()].sort((a, b) => b.overlap - a.overlap);
}

/** True where a phone with this symptom may be in a state of power that the check wants. */
function canAsk(check: Check, symptom: Symptom): boolean {
  const { power, open, not } = check.when ?? {};
  const states =
    symptom.id === 'dead'
      ? ['dead']
      : symptom.id === 'boot-loop' || symptom.id === 'stuck-at-start'
        ? ['starts']
        : (symptom.when?.power ?? ['dead', 'starts', 'runs']);
  if (power && !power.some((state) => states.includes(state))) return false;
  if (open && !open.includes(symptom.id) && !symptom.history) return false;
  return !not?.includes(symptom.id);
}

/** Checks that tell nothing about any symptom with which they can be asked: of what shows it, none is parted from the rest. */
export function unasked(knowledge: Knowledge): string[] {
  const symptoms = [...knowledge.symptoms.values()];
  const named = new Set(symptoms.flatMap(({ first }) => first ?? []));
  return [...knowledge.checks.values()].flatMap((check) => {
    if (named.has(check.id)) return [];
    const asks = [...knowledge.families.values()].some((family) => {
      if (!fits(family, check)) return false;
      const faults = faultsOf(knowledge, family);
      return symptoms.some((symptom) => {
        if (!fits(family, symptom) || !canAsk(check, symptom)) return false;
        const own = faults.filter(({ id }) => (symptom.seen.faults[id] ?? 0) > symptom.seen.otherwise);
        const [first] = own;
        return first !== undefined && own.some(({ id }) => differ(rowOf(check, first.id), rowOf(check, id)));
      });
    });
    return asks ? [] : [check.id];
  });
}

/** Symptoms that no rule for people's words names. */
export const unnamed = ({ symptoms, wordRules }: Knowledge): string[] =>
  [...symptoms.keys()].filter(
    (id) => ![wordRules.symptoms, wordRules.history, wordRules.wishes].some((rules) => rules[id]?.length),
  );

/** Features that say how a phone opens. */
const OPENINGS = new Set(['removable-back', 'clipped-back', 'screwed-frame', 'glued-front', 'glued-back']);

/** Families none of whose features says how they open, or whose steps leave the cell connected. */
export const closedFamilies = ({ families }: Knowledge): string[] =>
  [...families.values()].flatMap(({ id, features, open }) => {
    const way = features.some((feature) => OPENINGS.has(feature));
    const cell = open.steps.some((step) =>
      /(disconnect|lift|take) (the|both) batter(y|ies)|batter(y|ies)[^.]* out/i.test(step),
    );
    return way && cell ? [] : [id];
  });

/** Remedies that fit a part of which the family does not say how it comes out: their minutes are the same in each. */
export function withoutOwnMinutes({
  families,
  remedies,
}: Knowledge): { remedy: string; families: string[] }[] {
  return [...remedies.values()].flatMap((remedy) => {
    const lacking = [...families.values()].filter(
      (family) =>
        remedy.access !== 'closed' &&
        fits(family, remedy) &&
        remedy.parts.some(({ component }) => component in family.components) &&
        remedy.parts.every(({ component }) => !family.components[component]),
    );
    return lacking.length ? [{ remedy: remedy.id, families: lacking.map(({ id }) => id) }] : [];
  });
}

/** Rows of symptoms, checks, faults and remedies, by where they come from. */
export function rowsByGround({
  symptoms,
  checks,
  faults,
  remedies,
}: Knowledge): Record<'source' | 'practice' | 'memory', number> {
  const counts = { source: 0, practice: 0, memory: 0 };
  const add = (ground: Ground, rows: number) => {
    counts[typeof ground === 'string' ? ground : 'source'] += rows;
  };
  for (const { ground, seen } of symptoms.values()) add(ground, 1 + Object.keys(seen.faults).length);
  for (const { ground, given } of checks.values()) add(ground, 1 + Object.keys(given.faults).length);
  for (const { ground } of faults.values()) add(ground, 1);
  for (const { ground, works } of remedies.values()) add(ground, Object.keys(works).length);
  return counts;
}

/** Rows of checks that are no part of a noisy-MAX, with how far they fall; a check whose strongest fault decides has none. */
export const unevenRows = ({ checks }: Knowledge): { check: string; fault: string; fall: number }[] =>
  [...checks.values()].flatMap(({ id, given, masks, substitutes }) =>
    masks || substitutes
      ? []
      : Object.entries(given.faults).flatMap(([fault, row]) => {
          const fall = noisyMaxFall(given.otherwise, row);
          return fall > 0 ? [{ check: id, fault, fall }] : [];
        }),
  );
