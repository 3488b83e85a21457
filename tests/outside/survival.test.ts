/** How long things last, against published tables. */
import fc from 'fast-check';
import { expect } from 'vitest';
import { lastingOf, productLimit, type Watched } from '../../shared/jobs/survival.ts';
import { outside } from './check.ts';

const where = 'shared/jobs/survival.ts';
/** "6, 6+": failed after 6, watched for 6. */
const watched = (line: string): Watched[] =>
  line.split(', ').map((one) => ({ days: Number.parseInt(one, 10), failed: !one.endsWith('+') }));

outside(
  {
    id: 'survival-01',
    what: 'Eight patients, two of them censored: cumulative share that survives',
    value: '0.750, 0.625, 0.500, 0.333, 0',
    source: 'bewick-2004',
    at: 'table 2',
    where,
  },
  () => {
    const steps = productLimit(watched('1, 1, 4, 5, 6+, 9, 9+, 22'));
    expect(steps.map(({ days, atRisk, failed }) => [days, atRisk, failed])).toEqual([
      [1, 8, 2],
      [4, 6, 1],
      [5, 5, 1],
      [9, 3, 1],
      [22, 1, 1],
    ]);
    expect(steps.map(({ lasts }) => Number(lasts.toFixed(3)))).toEqual([0.75, 0.625, 0.5, 0.333, 0]);
  },
);

const remission = watched(
  '6, 6, 6, 7, 10, 13, 16, 22, 23, 6+, 9+, 10+, 11+, 17+, 19+, 20+, 25+, 32+, 32+, 34+, 35+',
);
const column = (field: 'lasts' | 'error' | 'low' | 'high', digits: number): number[] =>
  productLimit(remission).map((step) => Number(step[field].toFixed(digits)));

outside(
  {
    id: 'survival-02',
    what: 'Remission under 6-MP after 6, 7, 10, 13, 16, 22 and 23 weeks',
    value: '0.8571 ... 0.4482',
    source: 'remission-6mp',
    where,
  },
  () => {
    expect(column('lasts', 4)).toEqual([0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482]);
  },
);
outside(
  {
    id: 'survival-03',
    what: 'Greenwood’s standard errors of these',
    value: '0.076 ... 0.135',
    source: 'remission-6mp',
    where,
  },
  () => {
    expect(column('error', 3)).toEqual([0.076, 0.087, 0.096, 0.107, 0.114, 0.128, 0.135]);
  },
);
outside(
  {
    id: 'survival-04',
    what: '95 % intervals of these on the log(-log) scale',
    value: '0.6197180 to 0.9515517 ... 0.1880520 to 0.6801426',
    source: 'remission-6mp',
    where,
  },
  () => {
    expect(column('low', 6)).toEqual([0.619718, 0.563147, 0.5032, 0.43161, 0.367511, 0.267779, 0.188052]);
    expect(column('high', 6)).toEqual([0.951552, 0.922809, 0.889362, 0.849066, 0.804912, 0.746791, 0.680143]);
  },
);
outside(
  {
    id: 'survival-05',
    what: 'Without a censored one the estimate is the share that is left, on any data',
    value: 'the same to 1e-12',
    source: 'remission-6mp',
    known: 'computed',
    where,
  },
  () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 400 }), { minLength: 1, maxLength: 40 }), (all) => {
        for (const { days, lasts, low, high } of productLimit(
          all.map((one) => ({ days: one, failed: true })),
        )) {
          const left = all.filter((one) => one > days).length / all.length;
          expect(lasts).toBeCloseTo(left, 12);
          expect(low <= lasts && lasts <= high && low >= 0 && high <= 1).toBe(true);
        }
      }),
    );
    // Nothing is told of a few, nor of what nobody watched for a month.
    expect(lastingOf(watched('40, 40, 40, 40, 40, 40, 40'))).toBeNull();
    expect(lastingOf(watched('4, 4, 4, 4, 4, 4, 4+, 4+'))).toBeNull();
    expect(lastingOf(watched('10, 95+, 95+, 95+, 95+, 95+, 95+, 95+'))).toMatchObject({
      ...{ fitted: 8, failed: 1, days: 90 },
      lasts: 0.875,
    });
  },
);
