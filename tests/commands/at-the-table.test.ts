/** `/worth` at the seller's table: looks of a minute, one tap each, and the highest price that runs along. */
import { beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { worthData } from '../../commands/worth/worth-data.ts';
import { fits } from '../../knowledge/features.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { type TestBot, testBot } from '../test-bot.ts';

const knowledge = loadKnowledge();
let tin: TestBot;
const dataOf = (reply: Reply) => worthData.parse(reply.data);
const ask = (line: string): Reply => {
  const reply = tin.say(line);
  expect(reply, reply.title).toMatchObject({ outcome: 'answered' });
  return reply;
};
const highest = (reply: Reply): number => Number(dataOf(reply).highest?.amount ?? 0);
const tap = (reply: Reply, label: RegExp): Reply => {
  const choice = reply.choices.find((one) => label.test(one.label));
  if (!choice?.token) throw new Error(`no choice ${label}: ${reply.choices.map((one) => one.label)}`);
  return tin.say({ token: choice.token });
};

beforeEach(() => {
  tin = testBot({ knowledge });
  tin.say('/setup rate:30', { role: 'steward' });
  tin.say('/family name model:"Orrin K3" as:glued-front-home-sensor launched:2023-09 new-price:749');
});

describe('the looks', () => {
  it('take a minute, open nothing, put no current in, and are allowed on the phone: for every symptom', {
    timeout: 240_000,
  }, () => {
    const families = [...knowledge.families.values()];
    let offered = 0;
    let most = 0;
    [...knowledge.symptoms.values()].forEach((symptom, i) => {
      const family = families
        .slice(i)
        .concat(families)
        .find((one) => fits(one, symptom));
      if (!family || i % 2) return;
      for (const also of i % 4 ? [''] : ['', ', got-wet']) {
        const reply = ask(`/worth ${family.id} price:40 value:200 symptoms:"${symptom.id}${also}"`);
        const { table, verdict } = dataOf(reply);
        if (verdict === 'hand-on') expect(table).toEqual([]);
        most = Math.max(most, table.length);
        for (const { check: id, minutes, moves, outcomes } of table) {
          offered += 1;
          const check = knowledge.checks.get(id);
          if (!check) throw new Error(id);
          expect(minutes, id).toBeLessThanOrEqual(1);
          expect(check, id).toMatchObject({ access: 'closed', minutes });
          expect(check.hazards, id).not.toContain('charges');
          expect(fits(family, check), id).toBe(true);
          if (also || symptom.means.includes('wet')) expect(check.powers, id).toBe(false);
          expect(Number(moves.amount)).toBeGreaterThan(0);
          const sum = outcomes.reduce((all, one) => all + one.chance, 0);
          expect(sum).toBeCloseTo(1, 6);
          for (const { id: outcome } of outcomes) {
            const says = check.outcomes.find((one) => one.id === outcome)?.says;
            expect(reply.choices.map(({ label }) => label)).toContain(`${check.name}: ${says}`);
          }
        }
        const moved = table.map(({ moves }) => Number(moves.amount));
        expect(moved).toEqual([...moved].sort((a, b) => b - a));
      }
    });
    expect(offered).toBeGreaterThan(30);
    expect(most).toBeLessThanOrEqual(5);
  });

  it('move it by about as much as they say: by the whole answers to each outcome', () => {
    for (const symptoms of ['dead', 'no charge', 'no signal', 'drains fast']) {
      const first = ask(`/worth "Orrin K3" price:60 value:200 symptoms:"${symptoms}"`);
      const [look] = dataOf(first).table;
      if (!look) throw new Error('no look');
      const moved = look.outcomes.reduce((sum, { id, chance }) => {
        const after = ask(
          `/worth "Orrin K3" price:60 value:200 symptoms:"${symptoms}" seen:"${look.check}=${id}"`,
        );
        return sum + chance * Math.abs(highest(after) - highest(first));
      }, 0);
      expect(Number(look.moves.amount)).toBeGreaterThan(0.5 * moved);
      expect(Number(look.moves.amount)).toBeLessThan(2 * moved);
    }
  });

  it('are not offered of a phone on the bench, nor where no price is known', () => {
    tin.say('/trace dead model:"Orrin K3"');
    expect(dataOf(ask('/worth trace:1 price:20')).table).toEqual([]);
    expect(dataOf(ask('/worth glued-front-home-sensor symptoms:dead')).table).toEqual([]);
  });
});

describe('a tap', () => {
  it('is the same command with what was seen, and the highest price runs along', () => {
    const first = ask('/worth "Orrin K3" price:60 value:200 condition:good symptoms:"no charge"');
    const second = tap(first, /^Liquid mark.*: dry$/);
    expect(dataOf(second)).toMatchObject({
      seen: [{ check: 'liquid-mark', outcome: 'dry' }],
      before: dataOf(first).highest,
    });
    expect(highest(second)).toBeGreaterThan(highest(first));
    expect(JSON.stringify(second.blocks)).toContain(
      `Most to pay: AUD ${dataOf(first).highest?.amount} before the last look, AUD ${dataOf(second).highest?.amount} now.`,
    );
    const third = tap(second, /^Lay it on flat glass: flat$/);
    expect(dataOf(third).seen).toHaveLength(2);
    expect(dataOf(third).before).toEqual(dataOf(second).highest);
    expect(dataOf(third).table.map(({ check }) => check)).not.toContain('liquid-mark');
    const typed = ask(
      '/worth "Orrin K3" price:60 value:200 condition:good symptoms:"no charge" seen:"Liquid mark in the tray opening=dry, rock-on-glass=flat"',
    );
    expect(typed.data).toEqual(third.data);
  });

  it('on a screen that stands up ends it: the cell comes first, and nothing more is looked at', () => {
    const first = ask('/worth "Orrin K3" price:60 value:200 symptoms:"drains fast"');
    const reply = tap(first, /^Lay it on flat glass: it rocks/);
    expect(dataOf(reply)).toMatchObject({ table: [], verdict: 'pass' });
    expect(
      dataOf(reply)
        .ways.map(({ way }) => way)
        .sort(),
    ).toEqual(['hand-on', 'pass']);
    expect(reply.cautions[0]?.tone).toBe('danger');
    expect(reply.choices).toEqual([]);
  });

  it('on a mark that has turned colour leaves nothing that switches it on', () => {
    const first = ask('/worth "Orrin K3" price:60 value:200 symptoms:dead');
    expect(dataOf(first).table.map(({ check }) => check)).toContain('forced-restart');
    const reply = tap(first, /^Liquid mark.*turned colour/);
    expect(dataOf(reply).table.every(({ check }) => knowledge.checks.get(check)?.powers === false)).toBe(
      true,
    );
    expect(reply.cautions.length).toBeGreaterThan(0);
  });
});

it.each([
  ['seen:"liquid-mark=wet, forced-restart=starts"', /is not done on this phone/],
  ['seen:"liquid-mark=dry, liquid-mark=wet"', /given twice/],
  ['seen:"liquid-mark=purple"', /is no answer to Liquid mark/],
  ['seen:"cell-voltage=3.8 V"', /no check of a closed phone/],
  ['seen:"fold-look=smooth"', /has no/],
])('refuses %s', (seen, problem) => {
  const before = tin.dump();
  const refused = tin.say(`/worth "Orrin K3" price:60 value:200 symptoms:dead ${seen}`);
  expect(refused.outcome).toBe('refused');
  expect(refused.title).toMatch(problem);
  expect(tin.dump()).toEqual(before);
});
