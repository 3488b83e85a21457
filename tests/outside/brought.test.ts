/** What people bring that no screwdriver mends: updates, networks, eSIM, worn storage, position; and how the pack is measured. */
import { expect } from 'vitest';
import { overlapOf } from '../../knowledge/gaps.ts';
import { divergence } from '../../knowledge/repair-events.ts';
import { outside } from './check.ts';
import { lesson } from './said.ts';

const where = 'knowledge/pack/lessons.yaml';

outside(
  {
    id: 'brought-01',
    what: 'Updates that exist for a smartphone stay free after the last unit was placed on the market',
    value: 'at least 5 years; security updates within 4 months',
    source: 'eu-2023-1670',
    at: 'Annex II Part B 1.2',
    where,
  },
  () => {
    const { says } = lesson('update-years', 'mainboard');
    expect(says).toContain('at least 5 years after the last unit');
    expect(says).toContain('within 4 months');
  },
);
outside(
  {
    id: 'brought-02',
    what: 'Where 3G is shut down, 3G phones and older 4G phones without calls over 4G make no calls, emergency calls included',
    value: 'no calls, no emergency calls',
    source: 'fcc-3g',
    where,
  },
  () => {
    expect(lesson('networks-ended', 'mainboard', 'glued-front-home-sensor').says).toMatch(
      /no more than 3G.*older 4G.*emergency calls included/s,
    );
  },
);
outside(
  {
    id: 'brought-03',
    what: 'Digits of an eSIM chip’s own number (EID), and the remainder that it leaves when divided by 97',
    value: '32 digits, 1',
    source: 'gsma-sgp-29',
    at: 'format of the EID',
    where,
  },
  () => {
    expect(lesson('eid-digits', 'mainboard').says).toMatch(/of 32 digits; divided by 97 it leaves 1/);
  },
);
outside(
  {
    id: 'brought-04',
    what: 'Storage that counts its own wear does so in steps of a tenth of its life; above the tenth it is used up',
    value: '0x01 to 0x0A: 10 % to 100 %; 0x0B: exceeded',
    source: 'jedec-emmc',
    at: 'DEVICE_LIFE_TIME_EST',
    where,
  },
  () => {
    expect(lesson('storage-wear', 'mainboard').says).toMatch(
      /in tenths of its life; past the tenth its life is used up/,
    );
  },
);
outside(
  {
    id: 'brought-05',
    what: 'Horizontal position under an open sky, 95 of 100: as observed, and as promised',
    value: '4.9 m, 9 m',
    source: 'gps-sps-2020',
    at: 'horizontal accuracy',
    where,
  },
  () => {
    expect(lesson('position-metres', 'antenna').says).toMatch(/within about 5 m.*4\.9 m as observed; 9 m/);
  },
);
outside(
  {
    id: 'brought-06',
    what: 'Worked example of a divergence: binomial (2, 0.4) from the uniform of three',
    value: '0.0853 nats',
    source: 'kullback-1959',
    at: 'example 2.1, table 2.1',
    known: 'reported',
    where: 'knowledge/repair-events.ts',
  },
  () => {
    const shares = [0.36, 0.48, 0.16].map((counted) => ({ classes: [], counted, pack: 1 / 3 }));
    expect(divergence(shares)).toBeCloseTo(0.0853, 4);
    // The other way round it is another number: 0.0975.
    const back = [0.36, 0.48, 0.16].map((pack) => ({ classes: [], counted: 1 / 3, pack }));
    expect(divergence(back)).toBeCloseTo(0.0975, 4);
  },
);
outside(
  {
    id: 'brought-07',
    what: 'Overlap of two distributions: one less half the sum of their differences',
    value: '1 - ½ Σ |p - q| = Σ min(p, q)',
    source: 'total-variation',
    known: 'computed',
    where: 'knowledge/gaps.ts',
  },
  () => {
    const rows: [number[], number[]][] = [
      [
        [0.36, 0.48, 0.16],
        [1 / 3, 1 / 3, 1 / 3],
      ],
      [
        [0.9, 0.1],
        [0.2, 0.8],
      ],
      [
        [1, 0],
        [0, 1],
      ],
    ];
    for (const [p, q] of rows) {
      const apart = p.reduce((sum, chance, at) => sum + Math.abs(chance - (q[at] ?? 0)), 0) / 2;
      expect(overlapOf([[p, q]])).toBeCloseTo(1 - apart, 12);
    }
  },
);
