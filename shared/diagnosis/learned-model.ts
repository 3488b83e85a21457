/** The knowledge pack as closed jobs have moved it: fault weights by family, and chances of outcomes and of success. */
import type { Knowledge } from '../../knowledge/load.ts';
import type { Check, Family, Remedy } from '../../knowledge/schema.ts';
import {
  chooseStrength,
  familyWeights,
  learnOutcomes,
  learnSuccess,
  type Pool,
  ROW_STRENGTH,
  type SeenRow,
  trustInRows,
  withSlip,
} from './bayes.ts';
import { packWeights } from './family-facts.ts';

/** What the pack weighs against the jobs of other families, in jobs. Common practice (10 to 20), no source. */
export const PACK_STRENGTH = 20;
export interface LearnedModel {
  /** The pack with the chances of outcomes and of success that were learnt. */
  knowledge: Knowledge;
  /** Weights of the faults a family can have; they sum to 1. Undefined while no job has been closed. */
  weights: (family: Family) => ReadonlyMap<string, number> | undefined;
  /** Closed jobs behind it: of the family, and of all. */
  jobs: (family: Family) => { family: number; all: number };
}

const known = new WeakMap<OutcomeCounts, WeakMap<Knowledge, LearnedModel>>();

/** The same lessons and pack give the same object, so that it is worked out once a closed job. */
export function learnedModelOf(knowledge: Knowledge, lessons: OutcomeCounts): LearnedModel {
  const packs = known.get(lessons) ?? new WeakMap<Knowledge, LearnedModel>();
  known.set(lessons, packs);
  const learnt = packs.get(knowledge) ?? work(knowledge, lessons);
  packs.set(knowledge, learnt);
  return learnt;
}

function work(knowledge: Knowledge, lessons: OutcomeCounts): LearnedModel {
  const all = [...lessons.jobs.values()].reduce((sum, { closed }) => sum + closed, 0);
  const weights = all ? weightsFrom(knowledge, lessons) : () => undefined;
  return {
    knowledge: lessons.outcomes.size ? withOutcomes(knowledge, lessons) : knowledge,
    weights,
    jobs: ({ id }) => ({ family: lessons.jobs.get(id)?.closed ?? 0, all }),
  };
}

function weightsFrom(knowledge: Knowledge, lessons: OutcomeCounts): LearnedModel['weights'] {
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

type Seen = ReadonlyMap<string, number>;
type ByFault = ReadonlyMap<string, Seen>;

const rowOf = (mean: readonly number[], outcomes: readonly string[], seen: readonly Seen[]): SeenRow => ({
  mean,
  counts: outcomes.map((id) => seen.reduce((sum, one) => sum + (one.get(id) ?? 0), 0)),
});

/** The rows of a check that something was seen of. The faults that the pack does not name share one. */
function rowsOf(check: Check, byFault: ByFault): { named: Map<string, SeenRow>; otherwise: SeenRow | null } {
  const ids = check.outcomes.map(({ id }) => id);
  const named = new Map<string, SeenRow>();
  const rest: Seen[] = [];
  for (const [fault, seen] of byFault) {
    const chances = check.given.faults[fault];
    if (chances) named.set(fault, rowOf(chances, ids, [seen]));
    else rest.push(seen);
  }
  return { named, otherwise: rest.length ? rowOf(check.given.otherwise, ids, rest) : null };
}

/** The chances of success that were learnt for the faults that the pack knows it for: others are for a person to add. */
function learntWorks(remedy: Remedy, byFault: ByFault): Remedy['works'] {
  const works = { ...remedy.works };
  for (const [fault, seen] of byFault) {
    const before = works[fault];
    const worked = seen.get('works') ?? 0;
    if (before) works[fault] = learnSuccess(before, ROW_STRENGTH, worked, worked + (seen.get('failed') ?? 0));
  }
  return works;
}

function withOutcomes(knowledge: Knowledge, { outcomes }: OutcomeCounts): Knowledge {
  const checks = new Map(knowledge.checks);
  const remedies = new Map(knowledge.remedies);
  const seenChecks = [...outcomes].flatMap(([id, byFault]) => {
    const check = checks.get(id);
    return check ? [{ check, ...rowsOf(check, byFault) }] : [];
  });
  const { strength, slip } = trustInRows(
    seenChecks.flatMap(({ named, otherwise }) => [...named.values(), ...(otherwise ? [otherwise] : [])]),
  );
  const learn = ({ mean, counts }: SeenRow) => learnOutcomes(withSlip(mean, slip), strength, counts);
  if (slip > 0) {
    for (const check of knowledge.checks.values()) {
      const faults = Object.entries(check.given.faults).map(
        ([id, row]) => [id, withSlip(row, slip)] as const,
      );
      checks.set(check.id, {
        ...check,
        given: { otherwise: withSlip(check.given.otherwise, slip), faults: Object.fromEntries(faults) },
      });
    }
  }
  for (const { check, named, otherwise } of seenChecks) {
    const { given } = checks.get(check.id) ?? check;
    checks.set(check.id, {
      ...check,
      given: {
        otherwise: otherwise ? learn(otherwise) : given.otherwise,
        faults: {
          ...given.faults,
          ...Object.fromEntries([...named].map(([id, row]) => [id, learn(row)])),
        },
      },
    });
  }
  for (const [id, byFault] of outcomes) {
    const remedy = remedies.get(id);
    if (remedy) remedies.set(id, { ...remedy, works: learntWorks(remedy, byFault) });
  }
  return { ...knowledge, checks, remedies };
}

/** What closed jobs taught, as counts. The same object until something is taught or taken back. */
export interface OutcomeCounts {
  /** By family, then fault: how many jobs had it; fractions where a job's fault is not certain. */
  faults: ReadonlyMap<string, ReadonlyMap<string, number>>;
  /** By check or remedy, then fault, then outcome. */
  outcomes: ReadonlyMap<string, ReadonlyMap<string, ReadonlyMap<string, number>>>;
  /** Closed jobs by family, and how many of them ended with a known fault. */
  jobs: ReadonlyMap<string, { closed: number; confirmed: number }>;
}
