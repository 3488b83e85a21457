/**
 * Jobs simulated from a truth that differs from the pack: what is learnt from them must foretell new jobs of that truth
 * better than the pack does, and be calibrated.
 */
import { describe, expect, it } from 'vitest';
import { learnedModelOf } from '../../shared/diagnosis/learned-model.ts';
import { trainingRecordOf } from '../../shared/diagnosis/training-record.ts';
import { openDatabase } from '../../shared/store/index.ts';
import { oddsOf } from '../oracles/one-fault/one-fault-case.ts';
import { testSealer } from '../sealer.ts';
import {
  brier,
  byPack,
  learntOdds,
  type Odds,
  pack,
  reliability,
  seenIn,
  simulatedJobs,
} from './simulated-jobs.ts';

describe('learning from closed jobs', () => {
  const { closed, later } = simulatedJobs(800, 2000);
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
        const taught = trainingRecordOf({
          ...{ knowledge: pack, odds: [], fault: job.fault, remedy: null },
          seen: seenIn(job.evidence),
        });
        if (taught) database.transaction(() => store.outcomeCounts.record(job.family.id, taught, true, sign));
      }
    };
    const [job] = later;
    if (!job) throw new Error('no job');
    const odds = () => {
      const learnt = learnedModelOf(pack, database.of(collective).outcomeCounts.read());
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
