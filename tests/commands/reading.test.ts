/** `/reading`: a bench's own tables, by anyone, with who and when, and shown beside the check that is held against them. */
import { beforeEach, describe, expect, it } from 'vitest';
import { readingAddData } from '../../commands/reading/add.ts';
import { readingListData } from '../../commands/reading/list.ts';
import { traceData } from '../../commands/trace/trace-data.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import type { Check } from '../../knowledge/schema.ts';
import { must, mustRefuse } from '../must.ts';
import { type TestBot, testBot, wordsOf } from '../test-bot.ts';

let tin: TestBot;
beforeEach(() => {
  tin = testBot();
  must(tin, '/family name "Orrin K3" as:glued-back-under-display launched:2022-09 new-price:749', {
    role: 'steward',
  });
  must(tin, '/family name "Tarn 8" as:budget-port-on-board launched:2019-03 new-price:299', {
    role: 'steward',
  });
});
const add = (reading: string, as = 'Ines') =>
  must(tin, `/reading add "Orrin K3" reading:"${reading}"`, { as });
const listed = (model = 'Orrin K3') =>
  readingListData.parse(must(tin, `/reading list "${model}"`).data).readings;

describe('/reading', () => {
  it.each([
    ['0.45 V battery 3', { table: 'diode', value: 0.45, place: 'battery 3' }],
    ['450 mV port A6', { table: 'diode', value: 0.45, place: 'port A6' }],
    ['0,38V display pin 12', { table: 'diode', value: 0.38, place: 'display pin 12' }],
    ['OL display 12', { table: 'diode', value: null, place: 'display 12' }],
    ['120 mA two seconds in', { table: 'start', value: 0.12, place: 'two seconds in' }],
  ])('keeps %s with who and when', (reading, expected) => {
    const { saved, before } = readingAddData.parse(add(reading).data);
    expect(saved).toMatchObject({ ...expected, number: 1, model: 'Orrin K3', by: 'Ines' });
    expect(saved.on).toBe(listed()[0]?.on);
    expect(before).toBeNull();
  });

  it.each([
    '0.45 battery 3',
    '0.45 V',
    '5 V battery 3',
    '-0.2 V battery 3',
    '21 A at once',
    '3 ohm coil',
    'OL',
  ])('refuses %s', (reading) => {
    mustRefuse(tin, `/reading add "Orrin K3" reading:"${reading}"`, 'bad-option');
    expect(listed()).toEqual([]);
  });

  it('holds one reading a place, whoever gives it, and says what it took the place of', () => {
    add('0.45 V battery 3', 'Ines');
    const again = add('0.47 V Battery-3', 'Bram');
    expect(readingAddData.parse(again.data)).toMatchObject({
      saved: { number: 1, by: 'Bram' },
      before: 0.45,
    });
    expect(wordsOf(again)).toContain('In place of 0.45 V by Ines.');
    expect(listed()).toHaveLength(1);
    expect(listed('Tarn 8')).toEqual([]);
  });

  it('is taken out by who added it or a steward, by nobody else; the number is not used again', () => {
    add('0.45 V battery 3', 'Ines');
    mustRefuse(tin, '/reading remove 1', 'not-allowed', { as: 'Bram' });
    mustRefuse(tin, '/reading remove 9', 'not-found', { as: 'Ines' });
    must(tin, '/reading remove 1', { as: 'Ines' });
    expect(listed()).toEqual([]);
    expect(readingAddData.parse(add('0.45 V battery 3').data).saved.number).toBe(2);
  });

  it('belongs to the collective: it stays without a name when its person goes, and goes with its model', () => {
    add('0.45 V battery 3', 'Wren');
    must(tin, '/mydata erase sure:yes', { as: 'Wren', direct: true });
    expect(listed()).toMatchObject([{ place: 'battery 3', by: 'someone who left' }]);
    expect(JSON.stringify(tin.dump().bench_readings)).not.toContain('Wren');
    must(tin, '/family forget "Orrin K3"', { role: 'steward' });
    expect(tin.dump().bench_readings).toEqual([]);
  });
});

describe('a check that is held against a table', () => {
  const whole = loadKnowledge();
  const tables = [...whole.checks.values()].filter(({ table }) => table !== undefined);
  /** The words of this check where it is the only one that the pack has. */
  function asked(check: Check, readings: readonly string[]): string {
    const symptoms = new Map([...whole.symptoms].map(([id, { first: _, ...one }]) => [id, one]));
    tin = testBot({ knowledge: { ...whole, symptoms, checks: new Map([[check.id, check]]) } });
    must(tin, '/family name "Orrin K3" as:removable-back-slab launched:2024-09 new-price:749', {
      role: 'steward',
    });
    readings.forEach((reading, at) => {
      add(reading, at % 2 ? 'Bram' : 'Ines');
    });
    let reply = must(tin, '/trace "dead, no charge" model:"Orrin K3" denied:"cracked front glass"');
    for (const open of ['open', 'board'])
      if (traceData.parse(reply.data).state === 'opening') reply = must(tin, `/trace note open:${open}`);
    expect(traceData.parse(reply.data).step?.id).toBe(check.id);
    return wordsOf(reply);
  }
  const heading = "Your bench's table of a sound Orrin K3";

  it.each(tables.map((check) => [check.id, check] as const))(
    '%s shows what the bench has of the model, with who and when, and how to keep one where it has none',
    (_, check) => {
      const words = asked(check, ['0.45 V battery 3', '0.12 A two seconds in']);
      const diode = check.table === 'diode';
      expect(words).toContain(heading);
      expect(words).toMatch(
        diode ? /battery 3: 0\.45 V \(Ines, \d{4}-/ : /two seconds in: 0\.12 A \(Bram, \d{4}-/,
      );
      expect(words).not.toContain(diode ? 'two seconds in' : 'battery 3');
      const none = asked(check, []);
      expect(none).toContain('Your bench has no table of Orrin K3 yet.');
      expect(none).not.toContain(heading);
    },
  );

  it('tables are read by checks of both kinds', () => {
    expect(new Set(tables.map(({ table }) => table))).toEqual(new Set(['diode', 'start']));
  });
});
