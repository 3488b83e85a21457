import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { family } from '../../commands/family/index.ts';
import { defineAction, defineCommand, defineSimpleCommand } from '../../commands/framework/command.ts';
import { completeLine, completeOption } from '../../commands/framework/complete.ts';
import {
  choiceOption,
  integerOption,
  lookupOption,
  manyOption,
  optional,
  textOption,
} from '../../commands/framework/option.ts';
import { Refusal, type RefusalCode } from '../../commands/framework/refusal.ts';
import { type Reply, reply } from '../../commands/framework/reply.ts';
import { prices } from '../../commands/prices/index.ts';
import { components, families, models } from '../../commands/shared/lookups.ts';
import { typed } from '../../shared/language/say.ts';
import { actor } from '../actors.ts';
import { refusalOf, testBot } from '../test-bot.ts';

const start = defineAction({
  summary: typed('Start a trace and offer to end it'),
  who: 'member',
  options: {
    open: optional(choiceOption({ choices: ['yes'], summary: typed('For anyone'), example: 'yes' })),
  },
  examples: ['/try start'],
  data: z.object({ number: z.number() }),
  run: ({ open }, { store, person, now }) => {
    const trace = store.traces.start({
      family: 'x',
      model: null,
      symptoms: [],
      startedBy: { key: person.key, name: person.name },
      at: now,
    });
    return reply({
      title: typed(`Trace ${trace.number}`),
      choices: [
        {
          label: typed('End it'),
          invoke: { command: 'try', action: 'end', options: { number: String(trace.number) } },
          subject: `trace:${trace.number}`,
          revision: trace.revision,
          ...(open ? { open: true } : {}),
        },
      ],
      data: { number: trace.number },
    });
  },
});
const end = defineAction({
  summary: typed('End a trace'),
  options: { number: integerOption({ min: 1, max: 99, summary: typed('Which'), example: '1' }) },
  examples: ['/try end 1'],
  data: z.null(),
  run: ({ number }, { store }) => reply({ title: typed(`Ended ${store.traces.end(number).number}`) }),
});
const save = (kind: 'breaks' | 'refuses') =>
  defineAction({
    summary: typed(`Saves something and then ${kind}`),
    options: { word: optional(textOption({ summary: typed('A word'), example: 'x' })) },
    examples: [`/try ${kind}`],
    data: z.null(),
    refuses: ['wrong-state'],
    run: (_, { store, now }) => {
      store.people.meet('terminal:Nobody', 'Nobody', now);
      if (kind === 'breaks') throw new Error('a secret detail');
      throw new Refusal({ code: 'wrong-state', problem: typed('No.'), option: 'word' });
    },
  });
const only = (more: { where?: 'channel' | 'direct'; who?: 'steward' }) =>
  defineAction({
    summary: typed('Only'),
    options: {},
    examples: [],
    ...more,
    data: z.null(),
    run: () => reply({ title: typed('Done') }),
  });

const attempt = defineCommand({
  name: 'try',
  summary: typed('For these tests'),
  main: 'start',
  actions: {
    start,
    end,
    breaks: save('breaks'),
    refuses: save('refuses'),
    direct: only({ where: 'direct' }),
    channel: only({ where: 'channel' }),
    steward: only({ who: 'steward' }),
  },
});
const find = defineSimpleCommand({
  name: 'find',
  summary: typed('For completion'),
  options: {
    what: manyOption(lookupOption({ lookup: components, summary: typed('What'), example: 'battery' })),
    family: optional(lookupOption({ lookup: families, summary: typed('Family'), example: 'x' })),
    model: optional(lookupOption({ lookup: models, summary: typed('Model'), example: 'x' })),
    how: optional(choiceOption({ choices: ['sold', 'asked'], summary: typed('How'), example: 'sold' })),
  },
  examples: [],
  data: z.null(),
  run: () => reply({ title: typed('Found') }),
});
const mine = () => testBot({ commands: [attempt, find, prices, family] });
const tokenOf = (from: Reply): string => from.choices[0]?.token ?? '';
const pointed = (from: Reply): string | undefined => {
  const block = from.blocks.find(({ kind }) => kind === 'pointer');
  return block?.kind === 'pointer' ? block.line.slice(block.from, block.to) : undefined;
};

describe('choices', () => {
  it('run what was offered, once the asker takes them', () => {
    const { say, store } = mine();
    const token = tokenOf(say('/try'));
    expect(token).not.toBe('');
    expect(say({ token }).title).toBe('Ended 1');
    expect(store.traces.listOpen()).toEqual([]);
  });

  it('are refused when gone, for somebody else, or out of date, and then nothing is saved', () => {
    const { say, store, dump } = mine();
    const token = tokenOf(say('/try'));
    const before = dump();
    expect(say({ token: 'guess' })).toMatchObject({
      outcome: 'refused',
      data: { code: 'stale-choice' },
    });
    expect(say({ token }, { as: 'Sol' })).toMatchObject({
      outcome: 'refused',
      data: { code: 'not-allowed' },
    });
    expect(dump()).toEqual(before);

    store.traces.add(1, {
      kind: 'cannot',
      ref: 'x',
      outcome: null,
      reading: null,
      by: actor('Sol'),
      at: new Date(0),
    });
    const moved = dump();
    const late = say({ token });
    expect(refusalOf(late)).toEqual({ code: 'stale-choice', example: '/trace show 1' });
    expect(late.title).toBe('That choice is out of date: trace 1 has moved on since it was offered.');
    expect(JSON.stringify(late.blocks)).toContain('/trace show 1');
    expect(dump()).toEqual(moved);
  });

  it('that are open may be taken by anybody in the collective', () => {
    const { say } = mine();
    expect(say({ token: tokenOf(say('/try open:yes')) }, { as: 'Sol' }).title).toBe('Ended 1');
  });

  it('of another collective are not there', () => {
    const { say, database, dispatcher, now } = mine();
    database.collectives.create('Loft');
    const token = tokenOf(say('/try open:yes'));
    const person = { key: 'terminal:Ines', name: 'Ines', role: 'steward' as const };
    const from = (collective: string) =>
      dispatcher.handle({ collective, person, direct: false, now, say: { token } });
    expect(refusalOf(from('Loft'))?.code).toBe('stale-choice');
    expect(from('tin shed').title).toBe('Ended 1');
    expect(from('Barn')).toMatchObject({ outcome: 'refused', data: { code: 'no-collective' } });
  });
});

describe('a request', () => {
  it('that arrives twice is answered once, with the same reply', () => {
    const { say, store } = mine();
    const first = say('/try', { requestId: 'm-1' });
    expect(say('/try', { requestId: 'm-1' })).toEqual(first);
    expect(store.traces.listOpen()).toHaveLength(1);
    expect(say('/try', { requestId: 'm-2' }).title).toBe('Trace 2');
  });

  it('that only looks writes nothing once the person is known', () => {
    const { say, dump } = mine();
    say('/prices');
    const before = dump();
    expect(say('/prices').outcome).toBe('answered');
    expect(dump()).toEqual(before);
  });
});

describe('refusals save nothing', () => {
  const cases: [says: string, code: RefusalCode, title: string, pointedAt: string | undefined][] = [
    ['hello', 'bad-line', 'A command begins with /.', undefined],
    ['/tri', 'unknown-command', 'There is no command /tri.', '/tri'],
    ['/try end x', 'bad-option', 'number: "x" is not a whole number from 1 to 99.', 'x'],
    ['/try end number:0', 'bad-option', 'number: "0" is not a whole number from 1 to 99.', 'number:0'],
    ['/try end', 'missing-option', 'number is missing.', ''],
    ['/try end 1 speed:3', 'unknown-option', '/try end has no option "speed".', 'speed:3'],
    ['/try refuses word:abc', 'wrong-state', 'No.', 'word:abc'],
    [
      '/try direct',
      'not-here',
      '/try direct works in a direct message only, so that nobody else reads it.',
      undefined,
    ],
    [
      '/try steward',
      'not-allowed',
      '/try steward is for stewards of the collective; you are a member here.',
      undefined,
    ],
    ['/try refuses word:a\u0007b', 'bad-option', 'word has a control character in it.', 'word:a\uFFFDb'],
    [
      `/try refuses ${'x'.repeat(9_990)}`,
      'bad-line',
      'That is 10003 characters; a command has at most 4000.',
      undefined,
    ],
  ];
  it.each(cases)('%s', (line, code, title, at) => {
    const { say, dump } = mine();
    const before = dump();
    const refused = say(line);
    expect(refused).toMatchObject({ outcome: 'refused', audience: 'asker', title });
    expect(refusalOf(refused)?.code).toBe(code);
    expect(pointed(refused)).toBe(at);
    expect(dump()).toEqual(before);
  });

  it('in a direct message, for what belongs in a room', () => {
    const { say } = mine();
    expect(say('/try channel', { direct: true }).title).toBe('/try channel works in a shared room only.');
    expect(say('/try channel').title).toBe('Done');
    expect(say('/try direct', { direct: true }).title).toBe('Done');
  });

  it('for a visitor, a member and a steward as the action says', () => {
    const { say } = mine();
    expect(say('/try', { role: 'visitor' }).outcome).toBe('refused');
    expect(say('/try', { role: 'member' }).outcome).toBe('answered');
    expect(say('/try steward', { role: 'steward' }).outcome).toBe('answered');
  });

  it('of an invocation that names what there is not', () => {
    const { say } = mine();
    const invoke = (command: string, action: string, options = {}) =>
      say({ invoke: { command, action, options } });
    expect(refusalOf(invoke('tri', 'end'))?.code).toBe('unknown-command');
    expect(refusalOf(invoke('try', 'constructor'))?.code).toBe('unknown-action');
    expect(refusalOf(invoke('try', 'end', { __proto: '1' }))?.code).toBe('unknown-option');
    expect(invoke('try', 'start').outcome).toBe('answered');
  });

  it('with an example of what was tried', () => {
    const words = JSON.stringify(mine().say('/try end x').blocks);
    expect(words).toContain('For example: /try end 1');
    expect(words).toContain('a whole number from 1 to 99');
  });
});

it('a store that cannot even be read is told of, not thrown', () => {
  const tin = testBot();
  tin.database.close();
  const reply = tin.say('/help');
  expect(reply).toMatchObject({ outcome: 'fault', language: 'en' });
  expect(tin.faults).toHaveLength(1);
});

it('a fault saves nothing, tells only its id, and logs the whole', () => {
  const { say, dump, faults } = mine();
  const before = dump();
  const fault = say('/try breaks');
  expect(fault).toMatchObject({ outcome: 'fault', audience: 'asker', data: { fault: 'id-1' } });
  expect(JSON.stringify(fault)).not.toContain('secret');
  expect(faults).toMatchObject([{ id: 'id-1', error: { message: 'a secret detail' } }]);
  expect(dump()).toEqual(before);
});

it('no line at all makes it throw or fault', () => {
  const { say } = mine();
  fc.assert(
    fc.property(
      fc.oneof(
        fc.string({ maxLength: 60 }),
        fc
          .array(
            fc.constantFrom(
              '/try',
              '/find',
              '/prices',
              'end',
              'what:',
              '"',
              '\\',
              'a,b',
              'how:sold',
              ' ',
              ':',
              '\n',
            ),
          )
          .map((parts) => parts.join('')),
      ),
      (line) => {
        expect(say(line).outcome).not.toBe('fault');
      },
    ),
    { numRuns: 300 },
  );
});

describe('completion', () => {
  const ready = () => {
    const made = mine();
    made.say('/family name "Orrin K3" as:glued-front-home-sensor');
    made.say('/family name "Orrin K5" as:glued-front-home-sensor');
    const at = (line: string) =>
      completeLine(line, line.length, [attempt, find, prices, family], made.context());
    /** The lines that it leads to. */
    const lines = (line: string) => {
      const { from, to, items } = at(line);
      return items.map(({ text }) => line.slice(0, from) + text + line.slice(to));
    };
    return { ...made, lines };
  };

  it('offers commands, actions, options and values', () => {
    const { lines } = ready();
    expect(lines('/f')).toEqual(['/find', '/family']);
    expect(lines('')).toHaveLength(4);
    expect(lines('/prices imp')).toEqual(['/prices import']);
    expect(lines('/find how:')).toEqual(['/find how:sold', '/find how:asked']);
    expect(lines('/find battery how:a')).toEqual(['/find battery how:asked']);
    expect(lines('/find battery ho')).toContain('/find battery how:');
    expect(lines('/find battery how:sold ')).not.toContain('/find battery how:sold how:');
    expect(lines('/nothing ')).toEqual([]);
  });

  it('offers names whole, in quotes where they need them', () => {
    const { lines } = ready();
    const both = ['/find model:"Orrin K3"', '/find model:"Orrin K5"'];
    expect(lines('/find model:or')).toEqual(both);
    expect(lines('/find model:"Orrin ')).toEqual(both);
    expect(lines('/find model:Orrin K')).toEqual(both);
    expect(lines('/prices add orr')).toEqual(['/prices add "Orrin K3"', '/prices add "Orrin K5"']);
  });

  it('keeps the earlier values of a list', () => {
    const { lines } = ready();
    expect(lines('/find what:"battery, vibr')).toEqual(['/find what:"battery, vibration motor"']);
  });

  it('leads to lines that are understood', () => {
    const { lines, say } = ready();
    const found = lines('/prices "Orrin');
    expect(found).toHaveLength(2);
    for (const line of found) expect(say(line).outcome).toBe('answered');
  });

  it('gives at most 25 values for one option', () => {
    const { context, store, now } = ready();
    for (let n = 0; n < 40; n += 1) {
      store.models.save({
        name: `Vell ${n}`,
        family: 'x',
        launched: null,
        newPrice: null,
        by: actor('Ines'),
        at: now,
      });
    }
    const offered = completeOption(find, '', 'model', 'vel', context());
    expect(offered).toHaveLength(25);
    expect(offered[0]).toEqual({ name: 'Vell 0', value: 'Vell 0' });
    expect(completeOption(find, '', 'nothing', '', context())).toEqual([]);
  });
});
