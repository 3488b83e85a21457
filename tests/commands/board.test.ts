/** What waits for whom, how long a timer ran, and which job comes next. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { jobData } from '../../commands/job/job-data.ts';
import { jobListData } from '../../commands/job/list.ts';
import { jobNextData } from '../../commands/job/next.ts';
import { type BenchJob, chooseJobs } from '../../shared/jobs/next-jobs.ts';
import { type Saying, type TestBot, testBot, wordsOf } from '../test-bot.ts';

const GOOD = 'ownership:shown lock:free stolen:clear';
const DAY = 24 * 3600_000;
function bench(): TestBot {
  const made = testBot();
  made.say('/family name model:"Orrin K3" as:glued-front-home-sensor new-price:400', { role: 'steward' });
  made.say('/prices add "Orrin K3" price:140 condition:fair');
  return made;
}
function must(made: TestBot, line: string, how: Saying = {}): Reply {
  const reply = made.say(line, how);
  if (reply.outcome !== 'answered') throw new Error(`${line}: ${wordsOf(reply)}`);
  return reply;
}
const job = (reply: Reply) => jobData.parse(reply.data);

describe('the board', () => {
  it('says what each job needs next, what it waits for, and when the day has come', () => {
    const made = bench();
    must(made, `/job open "Orrin K3" symptoms:dead ${GOOD}`);
    must(made, '/job open "Orrin K3" symptoms:dead');
    must(made, `/job open "Orrin K3" symptoms:swollen ${GOOD}`);
    must(made, `/job open "Orrin K3" ${GOOD}`);
    must(made, '/job wait part until:2026-03-09 note:panel job:4');
    expect(job(must(made, '/job 4')).waits).toEqual({ for: 'part', until: '2026-03-09', note: 'panel' });
    const board = must(made, '/job list');
    expect(jobListData.parse(board.data).jobs.map((one) => one.job)).toEqual([3, 2, 1, 4]);
    const rows = wordsOf(board);
    for (const words of [
      'held, cell to isolate',
      'the questions before money',
      'trace the fault',
      'waits for a part until 2026-03-09 (panel)',
    ])
      expect(rows).toContain(words);
    const later = must(made, '/job list', { now: new Date('2026-03-09T09:00:00Z') });
    expect(jobListData.parse(later.data).jobs.map((one) => one.job)).toEqual([3, 4, 2, 1]);
    expect(wordsOf(later)).toContain('look again: it waited for a part');
    must(made, '/job wait nothing job:4');
    expect(job(must(made, '/job 4')).waits).toBeNull();
    expect(made.say('/job wait nothing job:4').outcome).toBe('refused');
    expect(made.say('/job wait part until:2020-01-01 job:4').outcome).toBe('refused');
  });

  it('says that a cell which charges is stayed with', () => {
    const made = bench();
    must(made, `/job open "Orrin K3" ${GOOD}`);
    expect(wordsOf(must(made, '/job wait charge'))).toContain('Stay near a cell that charges');
  });
});

describe('the timer', () => {
  it('writes the minutes down that ran, each person their own, and asks where it was left running', () => {
    const made = bench();
    must(made, `/job open "Orrin K3" ${GOOD}`);
    const at = (minutes: number): Saying => ({ now: new Date(made.now.getTime() + minutes * 60_000) });
    must(made, '/job timer', at(0));
    must(made, '/job timer job:1', { ...at(5), as: 'Wren' });
    expect(must(made, '/job timer', at(25)).title).toContain('25 min written down');
    expect(must(made, '/job timer job:1', { ...at(35), as: 'Wren' }).title).toContain('30 min written down');
    expect(job(must(made, '/job 1')).minutes).toBe(55);
    must(made, '/job timer', at(40));
    const long = made.say('/job timer', at(40 + 600));
    expect(long.outcome).toBe('refused');
    expect(wordsOf(long)).toContain('Was it left running?');
    must(made, '/job timer minutes:20', at(41 + 600));
    expect(job(must(made, '/job 1')).minutes).toBe(75);
    expect(made.say('/job timer minutes:20', at(700)).outcome).toBe('refused');
  });
});

describe('which job comes next', () => {
  const candidates = fc.array(
    fc.record({
      number: fc.integer({ min: 1, max: 1e6 }),
      minutes: fc.integer({ min: 1, max: 90 }),
      gain: fc.integer({ min: 0, max: 400 }),
    }),
    { maxLength: 11 },
  );
  const total = (jobs: readonly BenchJob[], of: 'gain' | 'minutes') =>
    jobs.reduce((sum, one) => sum + one[of], 0);

  it('is exact: no other set of jobs in the time brings more (every set is tried)', () => {
    fc.assert(
      fc.property(candidates, fc.integer({ min: 0, max: 300 }), (jobs, room) => {
        const chosen = chooseJobs(jobs, room);
        expect(total(chosen, 'minutes')).toBeLessThanOrEqual(room);
        let best = 0;
        for (let set = 0; set < 2 ** jobs.length; set += 1) {
          const some = jobs.filter((_, k) => (set >> k) & 1);
          if (total(some, 'minutes') <= room) best = Math.max(best, total(some, 'gain'));
        }
        expect(total(chosen, 'gain')).toBe(best);
        const rates = chosen.map(({ gain, minutes }) => gain / minutes);
        expect(rates).toEqual([...rates].sort((a, b) => b - a));
      }),
      { numRuns: 200 },
    );
  });

  it('is a known instance: values 60, 100, 120, weights 10, 20, 30, room 50 gives 220', () => {
    // The textbook instance of the 0-1 knapsack problem (Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms, 16.2).
    const jobs = [
      { number: 1, minutes: 10, gain: 60 },
      { number: 2, minutes: 20, gain: 100 },
      { number: 3, minutes: 30, gain: 120 },
    ];
    expect(total(chooseJobs(jobs, 50), 'gain')).toBe(220);
  });

  it('leaves out what waits, is held or wet, and counts phones where time is given', () => {
    const made = bench();
    must(made, `/job open "Orrin K3" symptoms:"dead, no charge" ${GOOD}`);
    must(made, `/job open "Orrin K3" symptoms:swollen ${GOOD}`);
    must(made, `/job open "Orrin K3" symptoms:"dead, no charge" ${GOOD}`);
    must(made, '/job wait owner job:3');
    const money = jobNextData.parse(must(made, '/job next hours:6').data);
    expect(money).toMatchObject({ by: 'money', chosen: [{ job: 1 }], left: [] });
    expect(jobNextData.parse(must(made, '/job next hours:0.25').data).chosen).toEqual([]);
    must(made, '/setup rate:0', { role: 'steward' });
    const next = must(made, '/job next hours:6');
    expect(jobNextData.parse(next.data)).toMatchObject({ by: 'phones' });
    expect(wordsOf(next)).toContain('2 jobs wait or are held');
  });

  it('counts what is left to do: minutes that were logged are done', () => {
    const made = bench();
    must(made, `/job open "Orrin K3" symptoms:"dead, no charge" ${GOOD}`);
    const before = jobNextData.parse(must(made, '/job next hours:9').data).chosen[0]?.minutes ?? 0;
    must(made, '/job log minutes:10', { now: new Date(made.now.getTime() + DAY) });
    const after = jobNextData.parse(must(made, '/job next hours:9').data).chosen[0]?.minutes ?? 0;
    expect(before - after).toBe(10);
  });
});
