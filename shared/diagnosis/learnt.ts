/** The knowledge pack as closed jobs have moved it: fault weights by family, and chances of outcomes and of success. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { Check, Family, Remedy } from '../../knowledge/schema.ts';
import type { Lessons } from '../store/lessons.ts';
import { packWeights } from './case.ts';
import { chooseStrength, familyWeights, learnOutcomes, learnSuccess, type Pool } from './learning.ts';

/** What the pack weighs against the jobs of other families, in jobs. Common practice (10 to 20), no source. */
export const PACK_STRENGTH = 20;
/** What a row of chances of the pack weighs, in jobs that saw it. Common practice (4 to 10), no source. */
export const OUTCOME_STRENGTH = 8;

export interface Learnt {
  /** The pack with the chances of outcomes and of success that were learnt. */
  knowledge: Knowledge;
  /** Weights of the faults a family can have; they sum to 1. Undefined while no job has been closed. */
  weights: (family: Family) => ReadonlyMap<string, number> | undefined;
  /** Closed jobs behind it: of the family, and of all. */
  jobs: (family: Family) => { family: number; all: number };
}

const known = new WeakMap<Lessons, WeakMap<Knowledge, Learnt>>();

/** The same lessons and pack give the same object, so that it is worked out once a closed job. */
export function learntFrom(knowledge: Knowledge, lessons: Lessons): Learnt {
  const packs = known.get(lessons) ?? new WeakMap<Knowledge, Learnt>();
  known.set(lessons, packs);
  const learnt = packs.get(knowledge) ?? work(knowledge, lessons);
  packs.set(knowledge, learnt);
  return learnt;
}

function work(knowledge: Knowledge, lessons: Lessons): Learnt {
  const all = [...lessons.jobs.values()].reduce((sum, { closed }) => sum + closed, 0);
  const weights = all ? weightsFrom(knowledge, lessons) : () => undefined;
  return {
    knowledge: lessons.outcomes.size ? withOutcomes(knowledge, lessons) : knowledge,
    weights,
    jobs: ({ id }) => ({ family: lessons.jobs.get(id)?.closed ?? 0, all }),
  };
}

function weightsFrom(knowledge: Knowledge, lessons: Lessons): Learnt['weights'] {
  const families = [...knowledge.families.values()];
  const faults = [...knowledge.faults.keys()];
  const means = families.map((family) => {
    const own = new Map(packWeights(knowledge, family).map(({ fault, weight }) => [fault.id, weight]));
    const total = [...own.values()].reduce((sum, weight) => sum + weight, 0);
    return faults.map((fault) => (own.get(fault) ?? 0) / total);
  });
  const counts = families.map(({ id }, g) =>
    // A fault that the family can no longer have, after a change of the pack, is left out.
    faults.map((fault, f) => (means[g]?.[f] ? (lessons.faults.get(id)?.get(fault) ?? 0) : 0)),
  );
  const pool: Pool = { means, strength: PACK_STRENGTH, counts };
  let strength: number | undefined;
  const made = new Map<string, ReadonlyMap<string, number>>();
  return ({ id }) => {
    const found = made.get(id);
    if (found) return found;
    const g = families.findIndex((family) => family.id === id);
    if (g < 0) return undefined;
    strength ??= chooseStrength(pool);
    const weights = familyWeights(pool, g, strength);
    const map = new Map(faults.flatMap((fault, f) => (means[g]?.[f] ? [[fault, weights[f] ?? 0]] : [])));
    made.set(id, map);
    return map;
  };
}

function withOutcomes(knowledge: Knowledge, { outcomes }: Lessons): Knowledge {
  const checks = new Map(knowledge.checks);
  const remedies = new Map(knowledge.remedies);
  for (const [step, byFault] of outcomes) {
    const check = checks.get(step);
    if (check) checks.set(step, learntCheck(check, byFault));
    const remedy = remedies.get(step);
    if (remedy) remedies.set(step, learntRemedy(remedy, byFault));
  }
  return { ...knowledge, checks, remedies };
}

type ByFault = ReadonlyMap<string, ReadonlyMap<string, number>>;

function learntCheck(check: Check, byFault: ByFault): Check {
  const faults = { ...check.given.faults };
  for (const [fault, seen] of byFault) {
    const row = faults[fault] ?? check.given.otherwise;
    faults[fault] = learnOutcomes(
      row,
      OUTCOME_STRENGTH,
      check.outcomes.map(({ id }) => seen.get(id) ?? 0),
    );
  }
  return { ...check, given: { ...check.given, faults } };
}

function learntRemedy(remedy: Remedy, byFault: ByFault): Remedy {
  const works = { ...remedy.works };
  for (const [fault, seen] of byFault) {
    const before = works[fault];
    // A remedy that the pack does not know for a fault is not learnt as one: that is for a person to add.
    if (before === undefined || before === 0) continue;
    const worked = seen.get('works') ?? 0;
    works[fault] = learnSuccess(before, OUTCOME_STRENGTH, worked, worked + (seen.get('failed') ?? 0));
  }
  return { ...remedy, works };
}
