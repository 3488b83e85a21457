/** `/lot`: several phones at one price, typed or from a file. */
import { beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { lotData } from '../../commands/lot/reply.ts';
import { worthData } from '../../commands/worth/worth-data.ts';
import { fits } from '../../knowledge/features.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { type TestBot, testBot } from '../test-bot.ts';

const knowledge = loadKnowledge();
const HEADER = 'model,symptoms,damage,condition,storage,count';
let tin: TestBot;
const ask = (line: string): Reply => {
  const reply = tin.say(line);
  expect(reply, reply.title).toMatchObject({ outcome: 'answered' });
  return reply;
};
const lot = (line: string) => lotData.parse(ask(line).data);
const load = (file: string, price = '0') =>
  tin.say({ invoke: { command: 'lot', action: '', options: { file, price } } });
const fail = (): never => {
  throw new Error('not there');
};
const amountOf = (money: { amount: string } | null | undefined): number => Number(money?.amount ?? 0);

beforeEach(() => {
  tin = testBot({ knowledge });
  tin.say('/setup rate:30', { role: 'steward' });
  for (const [name, price] of [
    ['Orrin K3', 749],
    ['Orrin K4', 499],
  ])
    tin.say(`/family name model:"${name}" as:glued-front-home-sensor launched:2023-09 new-price:${price}`);
});

describe('a lot', () => {
  it('typed: the whole and each, and what to bid', () => {
    const reply = ask('/lot Orrin K3 dead; 3x Orrin K4 cracked, no charge price:60');
    const data = lotData.parse(reply.data);
    expect(data).toMatchObject({ phones: 4, price: { amount: '60.00' } });
    expect(data.rows).toMatchObject([
      { place: 1, model: 'Orrin K3', symptoms: ['dead'], count: 1 },
      { place: 2, model: 'Orrin K4', symptoms: ['cracked-glass', 'no-charge'], count: 3 },
    ]);
    const adds = data.rows.reduce((sum, one) => sum + one.count * amountOf(one.adds), 0);
    const parts = data.rows.reduce((sum, one) => sum + one.count * amountOf(one.ofBid), 0);
    expect(Math.abs(parts - amountOf(data.bid))).toBeLessThan(0.05);
    expect(amountOf(data.bid)).toBeLessThanOrEqual(adds + 0.05);
    expect(reply.title).toContain(`bid up to AUD ${data.bid?.amount}`);
    expect(amountOf(data.atRisk.independent)).toBeLessThanOrEqual(amountOf(data.atRisk.together) + 0.5);
  });

  it('is bought at its bid, and not above it', () => {
    const line = (price: string) => `/lot "Orrin K3 dead; 2x Orrin K4 no charge" price:${price}`;
    const { bid } = lot(line('10'));
    expect(lot(line(bid?.amount ?? ''))).toMatchObject({ buy: true });
    const above = ask(line((amountOf(bid) + 0.01).toFixed(2)));
    expect(above.title).toContain('pass at');
    expect(lotData.parse(above.data)).toMatchObject({ buy: false, bid });
  });

  it('of one phone bids what /worth says of it; one among many may be planned for more shortly', () => {
    const others = [...knowledge.symptoms.values()]
      .filter((one) => fits(knowledge.families.get('glued-front-home-sensor') ?? fail(), one))
      .slice(20, 34)
      .map(({ name }) => `Orrin K4 ${name.replaceAll(',', '')}`)
      .filter((line) => tin.say(`/lot "${line}"`).outcome === 'answered');
    expect(others.length).toBeGreaterThan(11);
    for (const symptoms of ['dead', 'no charge', 'drains fast', 'no signal']) {
      const alone = amountOf(worthData.parse(ask(`/worth "Orrin K3" symptoms:"${symptoms}"`).data).highest);
      const bid = amountOf(lot(`/lot "Orrin K3 ${symptoms}"`).bid);
      expect(bid).toBeCloseTo(alone, 1);
      const many = `Orrin K3 ${symptoms}; ${others.join('; ')}`;
      const [row] = lot(`/lot "${many}"`).rows;
      expect(amountOf(row?.highest)).toBeLessThan(alone * 1.001);
      expect(amountOf(row?.highest)).toBeGreaterThan(alone * 0.8);
    }
  });

  it('from a file is the same as typed', () => {
    const file = [HEADER, 'Orrin K3,dead,,,,', '', 'Orrin K4,"cracked front glass, no charge",,fair,,3'].join(
      '\r\n',
    );
    const data = lotData.parse(load(file, '60').data);
    const typed = lot('/lot Orrin K3 dead; 3x Orrin K4 cracked, no charge price:60');
    expect({ ...data, rows: data.rows.map(({ place: _, ...one }) => one) }).toEqual({
      ...typed,
      rows: typed.rows.map(({ place: _, ...one }) => one),
    });
    expect(data.rows.map(({ place }) => place)).toEqual([2, 4]);
    const damaged = lotData.parse(load(`${HEADER}\nOrrin K3,,back cover,good,64,`).data);
    expect(damaged.rows[0]).toMatchObject({ damage: ['back-cover'], symptoms: [] });
  });

  it('with a swollen phone in it brings its caution first, and it is handed on or left', () => {
    const reply = ask('/lot "Orrin K3 dead; Orrin K4 swollen" price:20');
    expect(reply.cautions[0]?.tone).toBe('danger');
    expect(['hand-on', 'pass']).toContain(lotData.parse(reply.data).rows[1]?.way);
  });

  it('names what it cannot count, and gives no bid on nothing', () => {
    const some = ask('/lot "Orrin K3 dead; keypad-removable-back dead" price:20');
    expect(JSON.stringify(some.blocks)).toMatch(/Not counted, no price is known.*(keypad|Keypad)/);
    expect(lotData.parse(some.data).rows[1]).toMatchObject({ way: null, adds: null });
    const none = ask('/lot "keypad-removable-back dead" price:20');
    expect(none.title).toContain('no bid yet');
    expect(lotData.parse(none.data)).toMatchObject({ buy: false, bid: null });
  });
});

it.each([
  ['/lot', /Which phones/],
  ['/lot "Orrin K9 dead" price:20', /Phone 1, "Orrin K9 dead": no model or family/],
  ['/lot "Orrin K3 dead; Orrin K4 singing" price:20', /Phone 2.*no symptom is called "singing"/],
  ['/lot "0x Orrin K3 dead"', /"0" is no count/],
  [`/lot "${'Orrin K3 dead; '.repeat(61)}"`, /61 rows are too many/],
  ['/lot ";" price:20', /no phone in it/],
])('refuses %s', (line, problem) => {
  const before = tin.dump();
  const refused = tin.say(line);
  expect(refused.outcome).toBe('refused');
  expect(refused.title).toMatch(problem);
  expect(tin.dump()).toEqual(before);
});

it.each([
  ['a,b\nOrrin K3,dead', /header/],
  [`${HEADER}\nOrrin K3,dead,,lovely,,`, /Line 2: "lovely" is not one of the choices/],
  [`${HEADER}\nOrrin K3,dead,,,64 GB,`, /Line 2.*storage/],
  [`${HEADER}\n\nOrrin K3,dead,hinge assembly,,,`, /Line 3.*has no/],
  [`${HEADER}\nOrrin K3,dead,,,,2.5`, /no count/],
  [HEADER, /no phone in it/],
])('refuses a file that is not right', (file, problem) => {
  expect(load(file)).toMatchObject({ outcome: 'refused', title: expect.stringMatching(problem) });
});
