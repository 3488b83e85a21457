import { beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { pricesAddData } from '../../commands/prices/add.ts';
import { worthData } from '../../commands/worth.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { type TestBot, testBot } from '../test-bot.ts';

const knowledge = loadKnowledge();
let tin: TestBot;
const say = (line: string): Reply => tin.say(line, { role: 'member' });
const worth = (line: string) => {
  const reply = say(line);
  expect(reply, reply.title).toMatchObject({ outcome: 'answered' });
  return worthData.parse(reply.data);
};
const wayOf = (data: ReturnType<typeof worth>, name: string) => data.ways.find(({ way }) => way === name);
const setup = (line: string) => expect(tin.say(line, { role: 'steward' }).outcome).toBe('answered');

beforeEach(() => {
  tin = testBot({ knowledge });
  setup('/setup rate:30');
  setup('/family name model:"Orrin K3" as:glued-front-home-sensor launched:2023-09 new-price:749');
});

describe('/worth', () => {
  it('answers from a model and a price alone, and says that it is rough', () => {
    const reply = say('/worth "Orrin K3" price:60');
    const data = worthData.parse(reply.data);
    expect(data.rough).toBe(true);
    expect(reply.blocks.some((block) => block.kind === 'text' && block.text.startsWith('Rough:'))).toBe(true);
    // Nothing was said to be wrong: it is counted as working.
    expect(data.ways.map(({ way }) => way)).toEqual(['restore', 'pass']);
    const broken = worth('/worth "Orrin K3" price:60 symptoms:"drains fast"').ways.map(({ way }) => way);
    expect(broken.sort()).toEqual(['look-first', 'pass', 'sell-as-is', 'strip']);
  });

  it('puts the verdict first and the most worth paying beside it', () => {
    const reply = say('/worth "Orrin K3" price:20 symptoms:"dead, no charge"');
    const data = worthData.parse(reply.data);
    expect(data.verdict).toBe('restore');
    expect(reply.title).toContain(`restore it (worth up to AUD ${data.highest?.amount})`);
    expect(data.highest).toEqual(wayOf(data, 'restore')?.highest);
  });

  it('turns its verdict just at the highest price', () => {
    const line = (price: string) => `/worth "Orrin K3" price:${price} damage:"back cover" value:200`;
    const { highest } = worth(line('1'));
    expect(highest).not.toBeNull();
    const most = Number(highest?.amount);
    expect(worth(line((most - 0.02).toFixed(2))).verdict).not.toBe('pass');
    expect(worth(line((most + 0.02).toFixed(2))).verdict).toBe('pass');
  });

  it('falls with the price, and its chance of a loss rises', () => {
    const at = (price: number) => wayOf(worth(`/worth "Orrin K3" price:${price} symptoms:dead`), 'restore');
    const rows = [0, 25, 50, 100, 200].map(at);
    const means = rows.map((row) => Number(row?.mean.amount));
    const losses = rows.map((row) => row?.loss ?? 0);
    expect(means).toEqual([...means].sort((a, b) => b - a));
    expect(losses).toEqual([...losses].sort((a, b) => a - b));
  });

  it('expects less of a phone whose parts are dearer', () => {
    const mean = () =>
      Number(wayOf(worth('/worth "Orrin K3" price:20 damage:battery'), 'restore')?.mean.amount);
    const before = mean();
    for (const grade of ['original', 'copy']) {
      setup(`/prices add what:"Orrin K3" component:battery grade:${grade} price:150 sure:yes`);
    }
    expect(mean()).toBeLessThan(before);
  });

  it('works known damage out by hand: value less fee, part and time', () => {
    // A part's price is given, so the sum can be done beside it: mean = E[min(V, cap)] (1 - 5 %) keeps - part - minutes x rate - price.
    setup('/prices add what:"Orrin K3" component:"vibration motor" grade:original price:12');
    const data = worth('/worth "Orrin K3" price:40 damage:"vibration motor" value:200');
    const remedy = knowledge.remedies.get('new-motor');
    const family = knowledge.families.get('glued-front-home-sensor');
    const minutes = (remedy?.minutes ?? 0) + (family?.open.minutes ?? 0) + (family?.close.minutes ?? 0);
    // Once in so often the new part does not mend it, and it is stripped.
    const works = wayOf(data, 'restore')?.chanceRestored ?? 0;
    expect(works).toBe(Math.max(...Object.values(remedy?.works ?? {})));
    expect(works).toBeGreaterThan(0.9);
    const strip = wayOf(data, 'strip');
    expect(wayOf(data, 'restore')?.minutes).toBeCloseTo(minutes + (1 - works) * (strip?.minutes ?? 0), 9);
    const stripped = Number(strip?.mean.amount) + 40;
    const rest =
      (Number(wayOf(data, 'restore')?.mean.amount) + 40 + 12 + (minutes * 30) / 60 - (1 - works) * stripped) /
      works;
    // E[min(V, cap)] of a median of 200 with a spread of .1 lies a little above 200.
    expect(rest / 0.95).toBeGreaterThan(200);
    expect(rest / 0.95).toBeLessThan(204);
  });

  it('takes the tax on the margin off: never more than its fraction of the takings, nothing at a loss', () => {
    const line = '/worth "Orrin K3" price:40 damage:"vibration motor" value:200';
    const before = wayOf(worth(line), 'restore');
    setup('/setup margin-tax:20');
    const after = wayOf(worth(line), 'restore');
    // One sixth of about 160 (Directive 2006/112/EC art. 315: r/(100 + r)), as often as it is mended.
    const sold = before?.chanceRestored ?? 0;
    expect(sold).toBeGreaterThan(0.9);
    expect(Number(before?.mean.amount) - Number(after?.mean.amount)).toBeCloseTo((sold * 161) / 6, 0);
    const dear = '/worth "Orrin K3" price:900 damage:"vibration motor" value:200';
    const taxed = wayOf(worth(dear), 'restore')?.mean.amount;
    setup('/setup margin-tax:0');
    expect(taxed).toBe(wayOf(worth(dear), 'restore')?.mean.amount);
  });

  it('is the same for the same question', () => {
    const line = '/worth "Orrin K3" price:60 symptoms:"dead, got wet"';
    expect(say(line)).toEqual(say(line));
  });

  it('names a check worth doing before buying where one could change the mind', () => {
    const prices = [10, 30, 50, 70, 90, 120].map((price) =>
      worth(`/worth "Orrin K3" price:${price} symptoms:"no charge"`),
    );
    const named = prices.flatMap(({ nextCheck }) => nextCheck ?? []);
    expect(named.length).toBeGreaterThan(0);
    for (const { id, gain } of named) {
      expect(knowledge.checks.get(id)).toMatchObject({ access: 'closed', hazards: [] });
      expect(Number(gain.amount)).toBeGreaterThan(0);
    }
  });

  it('gives every input its ground', () => {
    const { inputs } = worth('/worth "Orrin K3" price:60 symptoms:dead condition:good');
    for (const name of [
      'price asked',
      'hourly rate',
      'margin wanted',
      'what can be borne on one phone',
      'selling cost',
      'base of part prices',
    ]) {
      expect(inputs.find((one) => one.name === name)?.ground, name).toBeDefined();
    }
  });

  it('takes the base of part prices as the geometric mean of new and now', () => {
    const { inputs } = worth('/worth "Orrin K3" price:60 symptoms:dead');
    const value = (name: string) => Number(inputs.find((one) => one.name === name)?.value);
    expect(value('base of part prices')).toBeCloseTo(
      Math.sqrt(749 * value('value when working (median)')),
      1,
    );
  });

  it.each([
    ['/worth "Orrin K4" price:60', /no model or family is called/],
    ['/worth "Orrin K3" price:-5', /price/],
    ['/worth "Orrin K3" price:"60 EUR"', /price/],
    ['/worth "Orrin K3" price:60.005', /price/],
    ['/worth "Orrin K3" price:1e3', /price/],
    ['/worth price:60', /Which phone/],
    ['/worth trace:7', /no trace 7/],
    ['/worth "Orrin K3" prise:60', /no option "prise"/],
    ['/worth "Orrin K3" price:60 price:70', /given twice/],
    ['/worth "Orrin K3" price:60 damage:"hinge assembly"', /has no/],
    ['/worth "Orrin K3" price:60 condition:lovely', /condition/],
  ])('refuses %s, saying what would be right', (line, problem) => {
    const before = tin.dump();
    const reply = say(line);
    expect(reply.outcome).toBe('refused');
    expect(reply.title).toMatch(problem);
    expect(
      reply.blocks.some(
        (block) => block.kind === 'text' && /^(Expected|For example|Did you mean)/.test(block.text),
      ),
    ).toBe(true);
    expect(tin.dump()).toEqual(before);
  });

  it('gives no verdict where no price is known, and says what is needed', () => {
    const reply = say('/worth glued-front-home-sensor symptoms:dead');
    expect(worthData.parse(reply.data)).toMatchObject({ verdict: null, highest: null });
    expect(reply.title).toContain('no verdict yet');
    expect(JSON.stringify(reply.blocks)).toMatch(/value:.*\/prices add.*\/family name/);
    expect(JSON.stringify(reply.blocks)).toContain('Most to pay');
  });

  it('says the risk in plain words: what one is out, one time in ten, and in what', () => {
    setup('/setup rate:60');
    const reply = say('/worth "Orrin K3" price:20 symptoms:dead value:220');
    const [first] = reply.blocks;
    const data = worthData.parse(reply.data);
    const way = wayOf(data, data.verdict ?? '');
    expect(Number(way?.atRisk.total.amount)).toBeGreaterThan(20);
    expect(first?.kind === 'text' && first.text).toContain(
      `One time in ten you are out AUD ${way?.atRisk.total.amount}: AUD 20.00 for the phone, AUD ${way?.atRisk.parts.amount} in parts and ${Math.round(way?.atRisk.minutes ?? 0)} min of work`,
    );
  });

  it('has the service’s fee in a swollen phone, named as assumed until it is set', () => {
    const line = '/worth "Orrin K3" price:80 symptoms:swollen value:300';
    const reply = say(line);
    expect(reply.title).toContain('hand it to someone qualified first');
    expect(JSON.stringify(reply.blocks)).toMatch(/Service’s fee.*assumed/);
    setup('/setup service:500');
    expect(worth(line)).toMatchObject({ verdict: 'pass', highest: null });
    expect(JSON.stringify(say(line).blocks)).not.toMatch(/assumed: an hour/);
  });

  it('asks what an hour is worth while nobody has said, with choices and an answer all the same', () => {
    const fresh = testBot({ knowledge });
    const line = '/worth glued-front-home-sensor price:20 symptoms:dead value:200';
    const asked = fresh.say(line, { role: 'steward' });
    expect(JSON.stringify(asked.blocks)).toContain('0 is a fine answer');
    expect(worthData.parse(asked.data).verdict).not.toBeNull();
    expect(asked.choices.map(({ invoke }) => invoke)).toContainEqual({
      ...{ command: 'setup', action: 'change' },
      options: { rate: '0' },
    });
    const setups = (choices: Reply['choices']) => choices.filter(({ invoke }) => invoke.command === 'setup');
    expect(setups(fresh.say(line, { role: 'member' }).choices)).toEqual([]);
    fresh.say('/setup rate:0', { role: 'steward' });
    expect(JSON.stringify(fresh.say(line, { role: 'steward' }).blocks)).not.toContain('0 is a fine answer');
  });

  it('four absurd prices of one member, kept on a yes, do not turn the verdict', () => {
    const line = (price: number) => `/worth "Orrin K3" price:${price} symptoms:dead`;
    const told = (as: string, price: number, day: number) =>
      tin.say(`/prices add "Orrin K3" price:${price} seen:2026-02-${10 + day} sure:yes`, { as });
    [210, 222, 204, 216].forEach((price, i) => {
      told(`p${i % 2}`, price, i);
    });
    const before = worth(line(20));
    const most = Number(before.highest?.amount);
    expect(most).toBeGreaterThan(50);
    const at = [0, Math.round(0.85 * most), Math.round(1.15 * most)];
    const honest = at.map((price) => worth(line(price)).verdict);
    expect(new Set(honest).size).toBeGreaterThan(1);
    for (const price of [2, 45, 1100, 5500]) {
      const odd = [1, 2, 3, 4].map((i) => told('odd', price + i / 10, 10 + i));
      expect(at.map((asked) => worth(line(asked)).verdict)).toEqual(honest);
      expect(Math.abs(Number(worth(line(20)).highest?.amount) / most - 1)).toBeLessThan(0.1);
      for (const { data } of odd) {
        const number = pricesAddData.parse(data).added?.number;
        expect(tin.say(`/prices remove ${number}`, { as: 'odd' }).outcome).toBe('answered');
      }
    }
  });

  it('points at what was wrong', () => {
    const pointer = say('/worth "Orrin K3" price:sixty').blocks.find((block) => block.kind === 'pointer');
    expect(pointer && 'line' in pointer && pointer.line.slice(pointer.from, pointer.to)).toBe('price:sixty');
  });
});
