/** A month of a second collective: what each page says is so, and the money and the parts add up. */
import { beforeAll, describe, expect, it } from 'vitest';
import { recordsListData } from '../../commands/records/list.ts';
import { shelfData } from '../../commands/shelf/options.ts';
import { renderAsText } from '../../src/surfaces/text-render.ts';
import { type Month, playMonth } from './month.ts';

let month: Month;
beforeAll(() => {
  month = playMonth();
});
const lastOf = <T>(list: readonly T[]): T => {
  const last = list.at(-1);
  if (last === undefined) throw new Error('nothing');
  return last;
};

describe('the hand-over pages', () => {
  it('have the readings of the old cell nowhere once another is in, in any page or reply', () => {
    const swapped = month.pages.findIndex(({ said }) => said === '/shelf take 1 job:1');
    const before = month.pages.slice(0, swapped).map(({ reply }) => JSON.stringify(reply));
    expect(before.some((one) => one.includes('79 %') && one.includes('641 cycles'))).toBe(true);
    // The log of the job keeps what was read and when; what is handed out does not.
    const after = month.pages.slice(swapped).filter(({ said }) => !/^\/job (\d|show)/.test(said));
    for (const { said, reply } of after)
      expect(`${said}: ${JSON.stringify(reply)}`).not.toMatch(/capacity: 79|79 %, capacity|641 cycles/);
    expect(month.handOver(1)).toContain('100 %');
  });

  it('say nothing odd of a strange panel that was reported free, also as what may be', () => {
    const page = month.handOver(2);
    expect(page).toContain('display assembly: copy, from Kellner');
    expect(page).toMatch(/## Known oddities\n\n- None known\./);
    expect(page).not.toMatch(/tint|calibrat|to be expected|Reported of phones/);
  });

  it('say what was seen of a part on this phone, and what came after it left with that part', () => {
    expect(month.handOver(1)).toContain('Seen on this phone: the battery that was fitted brings a notice.');
    const again = month.handOver(5);
    expect(again).not.toContain('Seen on this phone');
    expect(again).toContain('Noticed when it was here before (2026-04-02): small scratch by the lens');
  });

  it('promise nothing where nothing was fitted, and say who fitted a cell', () => {
    expect(month.handOver(4)).toContain('someone qualified fitted another (the battery service)');
    expect(month.handOver(4)).not.toContain('What is promised');
    expect(month.handOver(1)).toContain('within 60 days');
  });

  it('have no price, no IMEI and no name of a person', () => {
    for (const job of [1, 2, 4, 5])
      expect(month.handOver(job)).not.toMatch(/EUR|\d{14}|7518|Juno|Mattis|Sanne|Oskar/);
  });
});

describe('money and parts', () => {
  it('add up over the month: each job, its shelf parts and the totals', () => {
    const csv = lastOf(month.to('/job totals')).files[0]?.text ?? '';
    const [header = '', ...rows] = csv.trim().split(/\r?\n/);
    const at = (name: string) => header.split(',').indexOf(name);
    const jobs = rows.map((row) => row.split(','));
    const sum = (name: string) => jobs.reduce((total, row) => total + Number(row[at(name)] || 0), 0);
    for (const row of jobs) {
      const [out, back, worth, net] = ['out', 'back', 'worth', 'net'].map((name) => Number(row[at(name)]));
      expect(net).toBeCloseTo((back ?? 0) + (worth ?? 0) - (out ?? 0), 2);
    }
    // 35 for the phone; two cells at 19, a panel at 48; 25 to the service.
    expect(sum('out')).toBeCloseTo(35 + 2 * 19 + 48 + 25, 2);
    expect(sum('back')).toBeCloseTo(155, 2);
    const said = renderAsText(lastOf(month.to('/job totals')), { width: 100, colour: false });
    expect(said).toContain(`EUR ${sum('net').toFixed(2)} left`);
    // What is a customer's was not taken in to be sold.
    expect(said).toContain('(1 phone that was sold)');
  });

  it('leave on the shelf what was bought and not fitted, and what was stripped', () => {
    const { parts } = shelfData.parse(lastOf(month.to('/shelf list')).data);
    expect(parts.filter(({ state }) => state === 'here').map(({ component }) => component)).toEqual([
      'speaker',
      'rear-camera',
    ]);
    const fitted = [1, 2, 5].flatMap((job) =>
      (month.bot.store.jobs.get(job)?.entries ?? []).flatMap(({ entry }) =>
        entry.kind === 'fitted' && entry.part !== undefined ? [entry.part] : [],
      ),
    );
    expect(fitted).toEqual([1, 3, 2]);
  });

  it('come in again as they went out, with no danger of phones that are elsewhere', () => {
    const { own, providers } = recordsListData.parse(lastOf(month.to('/records list')).data);
    expect(providers).toEqual([{ provider: 'Werkbank Nord', counts: own }]);
    const read = month.pages.find(({ reply }) => /records were read in/.test(reply.title));
    expect(read?.reply.title).toBe('5 records were read in');
    expect(read?.reply.cautions).toEqual([]);
  });

  it('is told with words that fit what was lost or left', () => {
    const titles = month.to('/job finish').map(({ title }) => title);
    expect(titles).toContain('Job 1, Pell 4: restored, EUR 101.00 left');
    expect(titles).toContain('Job 5, Pell 4: restored, it cost EUR 19.00');
    for (const { reply } of month.pages) expect(JSON.stringify(reply)).not.toMatch(/EUR -[\d.]+ is left/);
  });
});
