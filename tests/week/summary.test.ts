/** The figures are worked out by hand from invented jobs; there is no outside source for them. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { money } from '../../shared/money/money.ts';
import {
  type FinishedJob,
  summariseWeek,
  type WeekQuestion,
  type WeekSwap,
} from '../../shared/week/summary.ts';

const aud = (major: number) => money(Math.round(major * 100), 'AUD');
const at = (text: string): Date => new Date(text);

const job = (number: number, change: Partial<FinishedJob> = {}): FinishedJob => ({
  number,
  model: 'Orrin K3',
  family: 'glued-front-home-sensor',
  ended: 'restored',
  openedAt: at('2026-02-20T10:00:00Z'),
  endedAt: at('2026-02-24T10:00:00Z'),
  minutes: 90,
  out: aud(44),
  back: aud(150),
  kept: false,
  worth: null,
  promised: { mean: aud(40), minutes: 60 },
  fault: 'battery-open',
  faultChanceAtIntake: 0.6,
  reusedParts: 1,
  by: 'Ines',
  ...change,
});
const swap = (number: number, effect: WeekSwap['effect']): WeekSwap => ({
  number,
  component: 'battery',
  phone: 'Tarn 8',
  effect,
});
const question = (jobs: FinishedJob[], change: Partial<WeekQuestion> = {}): WeekQuestion => ({
  week: '2026-W09',
  from: at('2026-02-22T13:00:00Z'),
  to: at('2026-03-01T13:00:00Z'),
  jobs,
  swaps: [],
  currency: 'AUD',
  hour: 30,
  ...change,
});

describe('the summary of a week', () => {
  it('rounds days, and does not cut them', () => {
    const days = (hours: number) =>
      summariseWeek(
        question([
          job(1, {
            openedAt: at('2026-02-23T10:00:00Z'),
            endedAt: new Date(at('2026-02-23T10:00:00Z').getTime() + hours * 3600_000),
          }),
        ]),
      ).restored.map((one) => one.days);
    expect([11, 13, 35, 37].map(days)).toEqual([[0], [1], [1], [2]]);
  });

  it('adds up the restored phones alone, and counts the rest', () => {
    const summary = summariseWeek(
      question([
        job(3, {
          endedAt: at('2026-02-27T10:00:00Z'),
          out: aud(20),
          back: aud(80),
          minutes: 30,
          reusedParts: 0,
        }),
        job(1),
        job(4, { ended: 'stripped', out: aud(500), back: aud(900), minutes: 300, reusedParts: 4 }),
        job(5, { ended: 'passed', out: aud(7) }),
        job(6, { ended: 'handed-back', minutes: 5 }),
      ]),
    );
    expect(summary.restored.map(({ number, days }) => [number, days])).toEqual([
      [1, 4],
      [3, 7],
    ]);
    expect(summary.totals).toEqual({
      minutes: 120,
      out: aud(64),
      back: aud(230),
      worth: aud(0),
      net: aud(166),
      kept: 0,
      reusedParts: 1,
    });
    expect(summary.others).toEqual({ stripped: 1, partsKept: 4, passed: 1, handedBack: 1 });
    expect(summary.days).toEqual({ least: 4, median: 5.5, most: 7 });
  });
  it('holds what was left after the time against the estimate, over phones that were let go and had one', () => {
    const { estimate } = summariseWeek(
      question([
        job(1),
        job(2, { minutes: 30, out: aud(10), back: aud(60), promised: { mean: aud(55), minutes: 45 } }),
        job(3, { kept: true, back: aud(0) }),
        job(4, { promised: null }),
      ]),
    );
    // 150 - 44 + 60 - 10 = 156 left; two hours at 30 an hour are 60.
    expect(estimate).toEqual({
      phones: 2,
      expected: aud(95),
      came: aud(96),
      expectedMinutes: 105,
      minutes: 120,
    });
    expect(summariseWeek(question([job(4, { promised: null })])).estimate).toBeNull();
  });
  it('says of a kept phone what it cost, and that nothing was to come back', () => {
    const summary = summariseWeek(question([job(3, { kept: true, back: aud(0) })]));
    expect(summary.restored[0]).toMatchObject({ out: aud(44), back: null });
    expect(summary.totals).toMatchObject({ kept: 1, back: aud(0), net: aud(0) });
  });
  it('leaves money in another currency out of the sums, and says so', () => {
    const summary = summariseWeek(
      question([job(1), job(2, { out: money(900, 'EUR'), back: money(4000, 'EUR') })]),
    );
    expect(summary.otherCurrency).toBe(1);
    expect(summary.totals).toMatchObject({ out: aud(44), back: aud(150), minutes: 180 });
    expect(summary.estimate?.phones).toBe(1);
  });
  it('of nothing is empty', () => {
    const summary = summariseWeek(question([]));
    expect(summary).toMatchObject({
      restored: [],
      days: null,
      estimate: null,
      learnt: null,
      otherCurrency: 0,
    });
    expect(summary.totals.out).toEqual(aud(0));
  });
});

describe('the most useful thing learnt', () => {
  it('is the restored phone whose fault had the smallest chance at intake', () => {
    const { learnt } = summariseWeek(
      question([
        job(1, { faultChanceAtIntake: 0.2, fault: 'port-worn' }),
        job(2, { faultChanceAtIntake: 0.04, fault: 'board-short', model: 'Tarn 8' }),
        job(3, { ended: 'stripped', faultChanceAtIntake: 0.01, fault: 'battery-open' }),
      ]),
    );
    expect(learnt).toEqual({ kind: 'fault', job: 2, model: 'Tarn 8', fault: 'board-short', chance: 0.04 });
  });
  it('is a swap report where no fault surprised, the gravest first', () => {
    const { learnt } = summariseWeek(
      question([job(1, { faultChanceAtIntake: 0.25 })], {
        swaps: [swap(7, 'notice'), swap(8, 'lost'), swap(9, 'lost'), swap(10, 'free')],
      }),
    );
    expect(learnt).toEqual({ kind: 'swap', ...swap(8, 'lost') });
  });
  it('is nothing where nothing was', () => {
    const quiet = [job(1, { fault: null, faultChanceAtIntake: null }), job(2, { faultChanceAtIntake: null })];
    expect(summariseWeek(question(quiet, { swaps: [swap(1, 'free')] })).learnt).toBeNull();
  });
  it('between equals is the lower number', () => {
    const { learnt } = summariseWeek(
      question([job(9, { faultChanceAtIntake: 0.1 }), job(5, { faultChanceAtIntake: 0.1 })]),
    );
    expect(learnt).toMatchObject({ job: 5 });
  });
});

describe('late changes', () => {
  const jobs = [job(1), job(2, { endedAt: at('2026-02-25T10:00:00Z') }), job(3, { ended: 'passed' })];
  it('the same jobs in any order give the same summary', () => {
    fc.assert(
      fc.property(fc.shuffledSubarray(jobs, { minLength: 3 }), (shuffled) => {
        expect(summariseWeek(question(shuffled))).toEqual(summariseWeek(question(jobs)));
      }),
    );
  });
  it('a job more, a job less, or a struck entry changes it', () => {
    const said = JSON.stringify(summariseWeek(question(jobs)));
    for (const changed of [
      [...jobs, job(4)],
      jobs.slice(1),
      [job(1, { out: aud(43) }), ...jobs.slice(1)],
      [job(1, { minutes: 80 }), ...jobs.slice(1)],
      jobs.slice(0, 2),
    ])
      expect(JSON.stringify(summariseWeek(question(changed)))).not.toBe(said);
  });
});
