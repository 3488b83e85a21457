/**
 * Jobs simulated from a truth that differs from the pack: what is learnt from them must foretell new jobs of that truth
 * better than the pack does, and be calibrated. Brier score: Brier 1950 (here the sum over faults of the squared error);
 * reliability: Murphy 1973.
 */
import { describe, expect, it } from 'vitest';
import type { Knowledge } from '../../knowledge/load.ts';
import type { Check, Family } from '../../knowledge/schema.ts';
import { type Evidence, fits, oddsOf, packWeights } from '../../shared/diagnosis/case.ts';
import { learntFrom } from '../../shared/diagnosis/learnt.ts';
import { taughtBy } from '../../shared/jobs/teach.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { knowledge } from '../harness.ts';
import { testSealer } from '../sealer.ts';
import { seeded } from './random-problem.ts';

interface Job {
  family: Family;
  fault: string;
  symptoms: string[];
  evidence: Evidence[];
}

const pack = knowledge();
const families = ['glued-front-home-sensor', 'glued-back-under-display', 'glued-front-face-unit'].flatMap(
  (id) => pack.families.get(id) ?? [],
);

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

function simulate(random: () => number, real: ReturnType<typeof truth>): Job {
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

type Odds = (job: Job) => readonly { fault: { id: string }; share: number }[];
const byPack: Odds = (job) => oddsOf({ knowledge: pack, ...job }) ?? [];
const brier = (jobs: readonly Job[], odds: Odds): number =>
  jobs.reduce(
    (sum, job) =>
      sum +
      odds(job).reduce((all, { fault, share }) => all + (share - (fault.id === job.fault ? 1 : 0)) ** 2, 0),
    0,
  ) / jobs.length;

/** Of the chances given to the likeliest fault, by tenths: how many, their mean, and how often it was that fault. */
function reliability(jobs: readonly Job[], odds: Odds) {
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

/** What is known once these jobs are closed. */
function learntOdds(jobs: readonly Job[], confirmed: (index: number) => boolean): Odds {
  const database = openDatabase(':memory:', testSealer);
  const collective = database.collectives.create('Tin Shed');
  const learnt = () => learntFrom(pack, database.of(collective).lessons.read());
  const weightsOf = (family: Family) => {
    const weights = learnt().weights(family);
    return weights ? { weights } : {};
  };
  jobs.forEach((job, index) => {
    const known = confirmed(index);
    const taught = taughtBy({
      knowledge: known ? pack : learnt().knowledge,
      ...job,
      ...(known ? {} : weightsOf(job.family)),
      fault: known ? job.fault : null,
      remedy: null,
    });
    if (taught)
      database.transaction(() => database.of(collective).lessons.teach(job.family.id, taught, known, 1));
  });
  const { knowledge: after } = learnt();
  return (job) => oddsOf({ knowledge: after, ...job, ...weightsOf(job.family) }) ?? [];
}

describe('learning from closed jobs', () => {
  const random = seeded(20260302);
  const real = truth(random);
  const closed = Array.from({ length: 800 }, () => simulate(random, real));
  const later = Array.from({ length: 2000 }, () => simulate(random, real));
  const all = learntOdds(closed, () => true);
  const half = learntOdds(closed, (index) => index % 2 === 0);

  it('foretells later jobs better than the pack alone, and the better the more it has seen', () => {
    const unlearnt = brier(later, byPack);
    const few = brier(
      later,
      learntOdds(closed.slice(0, 200), () => true),
    );
    expect(few).toBeLessThan(unlearnt);
    expect(brier(later, all)).toBeLessThan(few);
  });

  it('learns from jobs whose fault nobody confirmed, too', () => {
    expect(brier(later, half)).toBeLessThan(brier(later, byPack));
  });

  it('is calibrated: of the faults it calls p likely, about p are so', () => {
    const table = reliability(later, all).filter(({ n }) => n >= 25);
    expect(table.length).toBeGreaterThanOrEqual(5);
    // Three standard errors of a share, and a twentieth for what is not learnt yet.
    for (const { n, said, was } of table)
      expect(Math.abs(said - was), JSON.stringify(table)).toBeLessThan(
        0.05 + 3 * Math.sqrt((said * (1 - said)) / n),
      );
    const gap = (odds: Odds) =>
      reliability(later, odds).reduce(
        (sum, { n, said, was }) => sum + (n ? n * Math.abs(said - was) : 0),
        0,
      ) / later.length;
    expect(gap(all)).toBeLessThan(gap(byPack));
  });

  it('says the same as before when what a job taught is taken back', () => {
    const database = openDatabase(':memory:', testSealer);
    const collective = database.collectives.create('Tin Shed');
    const teach = (sign: 1 | -1) => {
      const store = database.of(collective);
      for (const job of closed.slice(0, 20)) {
        const taught = taughtBy({ knowledge: pack, ...job, remedy: null });
        if (taught) database.transaction(() => store.lessons.teach(job.family.id, taught, true, sign));
      }
    };
    const [job] = later;
    if (!job) throw new Error('no job');
    const odds = () => {
      const learnt: { knowledge: Knowledge } = learntFrom(pack, database.of(collective).lessons.read());
      return oddsOf({ ...job, knowledge: learnt.knowledge });
    };
    const before = odds();
    teach(1);
    expect(odds()).not.toEqual(before);
    teach(-1);
    const after = odds();
    after?.forEach(({ share }, i) => {
      expect(share).toBeCloseTo(before?.[i]?.share ?? -1, 9);
    });
  });
});
