/**
 * Jobs simulated from a truth that differs from the pack, and how well odds foretell them. Brier score: Brier 1950 (here the
 * sum over faults of the squared error); reliability: Murphy 1973. Both from memory.
 */

import { fits } from '../../knowledge/features.ts';
import type { Check, Family } from '../../knowledge/schema.ts';
import { packWeights } from '../../shared/diagnosis/family-facts.ts';
import { learnedModelOf } from '../../shared/diagnosis/learned-model.ts';
import { trainingRecordOf } from '../../shared/diagnosis/training-record.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { type Evidence, oddsOf } from '../oracles/one-fault/one-fault-case.ts';
import { testSealer } from '../sealer.ts';
import { knowledge } from '../test-bot.ts';
import { seeded } from './random-problem.ts';

export const pack = knowledge();
const families = ['glued-front-home-sensor', 'glued-back-under-display', 'glued-front-face-unit'].flatMap(
  (id) => pack.families.get(id) ?? [],
);

export interface SimulatedJob {
  family: Family;
  fault: string;
  symptoms: string[];
  evidence: Evidence[];
}

const draw = (random: () => number, weights: readonly number[]): number => {
  let left = random() * weights.reduce((sum, one) => sum + one, 0);
  return Math.max(
    0,
    weights.findIndex((weight) => {
      left -= weight;
      return left < 0;
    }),
  );
};

/** The bench as it truly is: each fault up to five times as frequent or as rare as in the pack, outcomes blunter. */
function truth(random: () => number): {
  weight: (family: Family) => { id: string; weight: number }[];
  row: (check: Check, fault: string) => number[];
} {
  const factor = new Map([...pack.faults.keys()].map((id) => [id, 5 ** (2 * random() - 1)]));
  return {
    weight: (family) =>
      packWeights(pack, family).map(({ fault, weight }) => ({
        id: fault.id,
        weight: weight * (factor.get(fault.id) ?? 1),
      })),
    row: (check, fault) => {
      const row = check.given.faults[fault] ?? check.given.otherwise;
      return row.map((chance) => 0.85 * chance + 0.15 / row.length);
    },
  };
}

function simulate(random: () => number, real: ReturnType<typeof truth>): SimulatedJob {
  const family = families[Math.floor(random() * families.length)] ?? families[0];
  if (!family) throw new Error('the pack has lost the families of this test');
  const weights = real.weight(family);
  const fault =
    weights[
      draw(
        random,
        weights.map(({ weight }) => weight),
      )
    ]?.id ?? '';
  const checks = [...pack.checks.values()].filter((check) => fits(family, check));
  const evidence: Evidence[] = [];
  for (let turn = 0; turn < 4; turn += 1) {
    const check = checks.splice(Math.floor(random() * checks.length), 1)[0];
    const outcome = check?.outcomes[draw(random, real.row(check, fault))];
    if (check && outcome) evidence.push({ kind: 'check', id: check.id, outcome: outcome.id });
  }
  return { family, fault, symptoms: [], evidence };
}

export type Odds = (job: SimulatedJob) => readonly { fault: { id: string }; share: number }[];
export const byPack: Odds = (job) => oddsOf({ knowledge: pack, ...job }) ?? [];
export const brier = (jobs: readonly SimulatedJob[], odds: Odds): number =>
  jobs.reduce(
    (sum, job) =>
      sum +
      odds(job).reduce((all, { fault, share }) => all + (share - (fault.id === job.fault ? 1 : 0)) ** 2, 0),
    0,
  ) / jobs.length;

/** Of the chances given to the likeliest fault, by tenths: how many, their mean, and how often it was that fault. */
export function reliability(jobs: readonly SimulatedJob[], odds: Odds) {
  const bins = Array.from({ length: 10 }, () => ({ n: 0, said: 0, was: 0 }));
  for (const job of jobs) {
    const [first] = odds(job);
    const bin = first && bins[Math.min(9, Math.floor(first.share * 10))];
    if (!first || !bin) continue;
    bin.n += 1;
    bin.said += first.share;
    bin.was += first.fault.id === job.fault ? 1 : 0;
  }
  return bins.map(({ n, said, was }) => ({ n, said: said / n, was: was / n }));
}

/** Outcomes of checks, and remedies that changed nothing. */
export const seenIn = (evidence: readonly Evidence[]): { id: string; outcome: string }[] =>
  evidence.flatMap((step) =>
    step.kind === 'check'
      ? [{ id: step.id, outcome: step.outcome }]
      : step.kind === 'failed'
        ? [{ id: step.id, outcome: 'failed' }]
        : [],
  );

/** What is known once these jobs are closed. */
export function learntOdds(jobs: readonly SimulatedJob[], confirmed: (index: number) => boolean): Odds {
  const database = openDatabase(':memory:', testSealer);
  const collective = database.collectives.create('Tin Shed');
  const learnt = () => learnedModelOf(pack, database.of(collective).outcomeCounts.read());
  const weightsOf = (family: Family) => {
    const weights = learnt().weights(family);
    return weights ? { weights } : {};
  };
  jobs.forEach((job, index) => {
    const known = confirmed(index);
    const taught = trainingRecordOf({
      knowledge: pack,
      odds: known ? [] : (oddsOf({ knowledge: learnt().knowledge, ...job, ...weightsOf(job.family) }) ?? []),
      seen: seenIn(job.evidence),
      fault: known ? job.fault : null,
      remedy: null,
    });
    if (taught)
      database.transaction(() =>
        database.of(collective).outcomeCounts.record(job.family.id, taught, known, 1),
      );
  });
  const { knowledge: after } = learnt();
  return (job) => oddsOf({ knowledge: after, ...job, ...weightsOf(job.family) }) ?? [];
}

/**
 * What is known once these jobs are closed as people do it: by the advice shown, remedies by their chance to mend until one
 * works. Where none works it is passed on. Nobody says which fault it was but where `told` says so.
 */
export function shippedOdds(
  jobs: readonly SimulatedJob[],
  told: (index: number) => boolean = () => false,
): Odds {
  const random = seeded(7);
  const database = openDatabase(':memory:', testSealer);
  const collective = database.collectives.create('Tin Shed');
  const learnt = () => learnedModelOf(pack, database.of(collective).outcomeCounts.read());
  for (const [index, job] of jobs.entries()) {
    const model = learnt();
    const weights = model.weights(job.family);
    const odds =
      oddsOf({ knowledge: model.knowledge, ...job, ...(weights ? { weights } : {}) }) ?? byPack(job);
    const mends = (works: Readonly<Record<string, number>>) =>
      odds.reduce((sum, { fault, share }) => sum + share * (works[fault.id] ?? 0), 0);
    const order = [...pack.remedies.values()]
      .filter((remedy) => fits(job.family, remedy) && mends(remedy.works) > 0.02)
      .sort((a, b) => mends(b.works) - mends(a.works))
      .slice(0, 4);
    const evidence = [...job.evidence];
    let mendedBy: string | null = null;
    for (const remedy of order) {
      if (random() < (remedy.works[job.fault] ?? 0)) {
        mendedBy = remedy.id;
        break;
      }
      evidence.push({ kind: 'failed', id: remedy.id });
    }
    const taught = trainingRecordOf({
      knowledge: pack,
      odds: oddsOf({ knowledge: pack, ...job, evidence }) ?? [],
      seen: seenIn(evidence),
      fault: told(index) ? job.fault : null,
      remedy: mendedBy,
    });
    if (taught)
      database.transaction(() =>
        database.of(collective).outcomeCounts.record(job.family.id, taught, told(index), 1),
      );
  }
  const { knowledge: after } = learnt();
  return (job) => {
    const weights = learnt().weights(job.family);
    return oddsOf({ knowledge: after, ...job, ...(weights ? { weights } : {}) }) ?? [];
  };
}

/** Closed jobs to learn from and later ones to foretell, of one truth, by a fixed seed. */
export function simulatedJobs(
  closed: number,
  later: number,
): { closed: SimulatedJob[]; later: SimulatedJob[] } {
  const random = seeded(20260302);
  const real = truth(random);
  const make = (n: number) => Array.from({ length: n }, () => simulate(random, real));
  return { closed: make(closed), later: make(later) };
}
