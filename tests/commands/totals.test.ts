/** A month and a year add up, however they are parted. Invented jobs; no outside source. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { jobTotalsData } from '../../commands/job/totals.ts';
import type { EndedAs } from '../../shared/jobs/job.ts';
import { formatPeriod, readPeriod, spanOfPeriod } from '../../shared/jobs/period.ts';
import { finishJob } from '../clock/finished.ts';
import { refusalOf, testBot } from '../test-bot.ts';

const dataOf = (made: ReturnType<typeof testBot>, line: string) => {
  const reply = made.say(line);
  expect(reply.outcome, reply.title).toBe('answered');
  return { reply, data: jobTotalsData.parse(reply.data) };
};
const minor = ({ amount }: { amount: string }): number => Math.round(Number(amount) * 100);

describe('/job totals', () => {
  it('has what ended in the month of the collective’s clocks, in words and as a line each', () => {
    const made = testBot();
    // The last minute of February in Sydney, the first of March, and a kept one.
    finishJob(made.store, { endedAt: '2026-02-28T12:59:59Z', by: 'Moss' });
    finishJob(made.store, { endedAt: '2026-02-28T13:00:00Z', minutes: 90, by: 'Ines' });
    finishJob(made.store, { endedAt: '2026-03-05T00:00:00Z', sold: null, as: 'stripped', by: '=Wren' });
    const { reply, data } = dataOf(made, '/job totals 2026-03');
    expect(reply.title).toBe('2026-03: 1 phone back in use, AUD 98.00 left');
    expect(data.sum).toMatchObject({ restored: 1, stripped: 1, minutes: 125, estimated: 1 });
    expect(data.sum.expected.amount).toBe('40.00');
    expect(data.members.map(({ of }) => of)).toEqual(['Ines', '=Wren']);
    const csv = reply.files[0]?.text ?? '';
    expect(csv.split('\r\n')).toHaveLength(4);
    expect(csv).toContain(
      '2,2026-03-01,restored,Ines,glued-front-home-sensor,90,AUD,20.00,138.00,0.00,118.00,40.00,60',
    );
    expect(csv).toContain("'=Wren");
    expect(dataOf(made, '/job totals').data.period).toBe('2026-03');
    expect(dataOf(made, '/job totals 2025').reply.title).toBe('2025: no job was closed');
    expect(refusalOf(made.say('/job totals 2026-13'))?.code).toBe('bad-option');
    expect(refusalOf(made.say('/job totals', { role: 'visitor' }))?.code).toBe('not-allowed');
  });

  it('adds up: members, families and months each make the whole, and the months make the year', () => {
    const job = fc.record({
      as: fc.constantFrom<EndedAs>('restored', 'stripped', 'passed', 'handed-back'),
      paid: fc.integer({ min: 0, max: 300 }),
      sold: fc.integer({ min: 0, max: 500 }),
      kept: fc.boolean(),
      minutes: fc.integer({ min: 1, max: 400 }),
      by: fc.constantFrom('Ines', 'Moss', 'Wren'),
      endedAt: fc.date({
        min: new Date('2026-01-02T00:00:00Z'),
        max: new Date('2026-12-30T00:00:00Z'),
        noInvalidDate: true,
      }),
    });
    fc.assert(
      fc.property(fc.array(job, { minLength: 1, maxLength: 12 }), (jobs) => {
        const made = testBot();
        for (const { endedAt, kept, sold, ...one } of jobs)
          finishJob(made.store, {
            ...one,
            endedAt: endedAt.toISOString(),
            openedAt: '2026-01-01T00:00:00Z',
            kept: kept && one.as === 'restored',
            sold: one.as === 'restored' && !kept ? sold : null,
          });
        const { data } = dataOf(made, '/job totals 2026');
        expect(data.sum.restored + data.sum.stripped + data.sum.passed + data.sum.handedBack).toBe(
          jobs.length,
        );
        const money = ['out', 'back', 'worth', 'net', 'after', 'expected', 'came'] as const;
        const counts = [
          'restored',
          'kept',
          'stripped',
          'passed',
          'handedBack',
          'minutes',
          'estimated',
        ] as const;
        const apart = Array.from({ length: 12 }, (_, month) => ({
          of: '',
          sum: dataOf(made, `/job totals 2026-${String(month + 1).padStart(2, '0')}`).data.sum,
        }));
        for (const parts of [data.members, data.families, data.months, apart]) {
          for (const field of money)
            expect(parts.reduce((sum, one) => sum + minor(one.sum[field]), 0)).toBe(minor(data.sum[field]));
          for (const field of counts)
            expect(parts.reduce((sum, one) => sum + one.sum[field], 0)).toBe(data.sum[field]);
        }
        expect(minor(data.sum.net)).toBe(minor(data.sum.back) + minor(data.sum.worth) - minor(data.sum.out));
      }),
      { numRuns: 15 },
    );
  });

  it('months follow each other without a gap, in any zone', () => {
    for (const zone of ['Australia/Sydney', 'UTC', 'America/St_Johns', 'Pacific/Apia']) {
      for (let month = 1; month <= 12; month += 1) {
        const next = month === 12 ? { year: 2027, month: 1 } : { year: 2026, month: month + 1 };
        expect(spanOfPeriod({ year: 2026, month }, zone).to).toEqual(spanOfPeriod(next, zone).from);
      }
    }
    expect(readPeriod('2026-00')).toBeNull();
    expect(formatPeriod(readPeriod('2026-04') ?? { year: 0, month: null })).toBe('2026-04');
  });
});
