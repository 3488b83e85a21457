import { beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { traceData } from '../../commands/trace/reply.ts';
import { worthData } from '../../commands/worth.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { barredWhenCellUnsafe } from '../../shared/safety/cautions.ts';
import { type Bench, bench } from '../harness.ts';

const knowledge = loadKnowledge();
let tin: Bench;
const data = (reply: Reply) => traceData.parse(reply.data);
const say = (line: string, as = 'Ines') => tin.say(line, { as, role: 'member' });
const answered = (line: string, as?: string): Reply => {
  const reply = say(line, as);
  expect(reply, reply.title).toMatchObject({ outcome: 'answered' });
  return reply;
};
const pick = (reply: Reply, label: RegExp, as = 'Ines'): Reply => {
  const choice = reply.choices.find((one) => label.test(one.label));
  expect(choice, `${label} among ${reply.choices.map((one) => one.label).join(' / ')}`).toBeDefined();
  return tin.say({ token: choice?.token ?? '' }, { as, role: 'member' });
};

beforeEach(() => {
  tin = bench({ knowledge });
  tin.say('/family name model:"Orrin K3" as:glued-front-home-sensor launched:2023-09 new-price:749', {
    role: 'steward',
  });
});

describe('/trace', () => {
  it('asks one check with its odds, its reason, and every outcome as a choice', () => {
    const reply = answered('/trace dead model:"Orrin K3"');
    const { state, step, odds } = data(reply);
    expect(state).toBe('asking');
    const check = knowledge.checks.get(step?.id ?? '');
    expect(reply.choices.map(({ label }) => label)).toEqual([
      ...(check?.outcomes.map(({ says }) => says) ?? []),
      "Can't do that",
      'Stop here',
    ]);
    expect(odds.reduce((sum, { chance }) => sum + chance, 0)).toBeCloseTo(1, 9);
    expect(reply.blocks.some(({ kind }) => kind === 'bars')).toBe(true);
  });

  it('can be left, and taken up by another person through the same choices', () => {
    const first = answered('/trace dead model:"Orrin K3"');
    const shown = answered('/trace show 1', 'Bram');
    expect(data(shown)).toEqual(data(first));
    const next = pick(shown, /./, 'Bram');
    expect(data(next).evidence).toMatchObject([{ by: 'Bram' }]);
  });

  it('goes back to just where it was', () => {
    const first = answered('/trace dead model:"Orrin K3"');
    const second = pick(first, /./);
    const back = pick(second, /Go back/);
    expect(data(back).odds).toEqual(data(first).odds);
    expect(data(back).step).toEqual(data(first).step);
  });

  it('does not ask again for what cannot be done', () => {
    let reply = answered('/trace dead model:"Orrin K3"');
    const seen = new Set<string>();
    for (let turn = 0; turn < 6; turn += 1) {
      const step = data(reply).step?.id ?? '';
      expect(seen.has(step)).toBe(false);
      seen.add(step);
      reply = pick(reply, /Can't do that/);
    }
  });

  it('refuses a choice that is out of date and saves nothing', () => {
    const first = answered('/trace dead model:"Orrin K3"');
    pick(first, /./);
    const before = tin.dump();
    const stale = pick(first, /Can't/);
    expect(stale.outcome).toBe('refused');
    expect(tin.dump()).toEqual(before);
  });

  it.each([
    ['/trace purple model:"Orrin K3"', /no symptom is called/],
    ['/trace dead model:"Orin K4"', /Orin K4/],
    ['/trace dead', /Which phone is it/],
    ['/trace show 99', /no trace 99/],
    ['/trace answer "0.00 A"', /No trace is open/],
    ['/trace "foil lifting at the fold" model:"Orrin K3"', /cannot show/],
    [`/trace ${'x'.repeat(10_000)}`, /10007 characters/],
    ['/trace dead\u0007 model:"Orrin K3"', /control character/],
  ])('refuses %.40s', (line, problem) => {
    const before = tin.dump();
    const reply = say(line);
    expect(reply.outcome).toBe('refused');
    expect(reply.title).toMatch(problem);
    expect(tin.dump()).toEqual(before);
  });

  it('ends in a reasoned stop where nothing is expected to pay, and can go on anyway', () => {
    tin.say('/family name model:"Old Brick" as:glued-front-home-sensor launched:2009-01 new-price:90', {
      role: 'steward',
    });
    const reply = answered(
      '/trace "boots over and over, got wet" model:"Old Brick"'.replace(
        'boots over and over',
        'restarts over and over',
      ),
    );
    expect(data(reply).state).toBe('stop');
    const on = pick(reply, /Go on anyway/);
    expect(['asking', 'remedy']).toContain(data(on).state);
  });

  it('hands its state to /worth', () => {
    answered('/trace "dead, no charge" model:"Orrin K3"');
    const step = answered('/trace answer boots step:test-cell');
    const worth = answered('/worth trace:1 price:20');
    expect(worthData.parse(worth.data).odds).toEqual(data(step).odds);
  });

  it('carries the inputs and the ground of each', () => {
    const { inputs, plan } = data(answered('/trace dead model:"Orrin K3"'));
    expect(inputs.map(({ name }) => name)).toEqual(
      expect.arrayContaining([
        'hourly rate',
        'value when working (median)',
        'price when new',
        'selling cost',
      ]),
    );
    expect(Number(plan?.limit.amount)).toBeGreaterThanOrEqual(Number(plan?.expected.amount));
  });
});

describe('a swollen cell', () => {
  it('stops everything until the cell is isolated', () => {
    const reply = answered('/trace "swollen, no charge" model:"Orrin K3"');
    expect(reply.tone).toBe('danger');
    expect(reply.cautions[0]?.id).toBe('swollen-cell');
    expect(data(reply).state).toBe('isolate');
    expect(reply.choices.map(({ label }) => label)).toEqual(['The cell is isolated', 'Stop here']);
    expect(say('/trace answer normal step:charge-current').title).toMatch(/The cell comes first/);
  });

  it.each([...knowledge.families.keys()])(
    'is never charged, pressed, heated or pried at after that: %s',
    (family) => {
      const barred = new Set<string>(barredWhenCellUnsafe);
      let reply = pick(answered(`/trace swollen model:${family}`), /isolated/);
      for (let turn = 0; turn < 12; turn += 1) {
        const { state, step } = data(reply);
        if (state !== 'asking' && state !== 'remedy') break;
        const done = knowledge.checks.get(step?.id ?? '') ?? knowledge.remedies.get(step?.id ?? '');
        const opening = done?.access === 'closed' ? [] : (knowledge.families.get(family)?.open.hazards ?? []);
        for (const hazard of [...(done?.hazards ?? []), ...opening])
          expect(barred.has(hazard), `${step?.id}: ${hazard}`).toBe(false);
        reply = pick(reply, state === 'asking' ? /./ : /still faulty/);
      }
      const forced = say('/trace answer normal step:charge-current');
      if (forced.outcome === 'answered') expect(data(forced).state).not.toBe('asking');
      else expect(forced.title).toMatch(/barred|ended|No trace/);
    },
  );

  it('that is hot or smoking waits for someone qualified, not for the person at the bench', () => {
    const reply = answered('/trace cell-hot-or-smoking model:"Orrin K3"');
    expect(reply.cautions[0]).toMatchObject({ id: 'hot-or-smoking-cell', tone: 'danger' });
    expect(reply.choices.map(({ label }) => label)).toEqual([
      'Someone qualified has released it',
      'Stop here',
    ]);
  });
  it('is suspected from a check as well as from a symptom', () => {
    answered('/trace drains-fast model:"Orrin K3"');
    const reply = answered('/trace answer stands step:rock-on-glass');
    expect(data(reply).state).toBe('isolate');
  });
});

describe('a phone that got wet', () => {
  const wet = ['got wet', 'dead, got wet', 'fog behind the glass'];
  const warned = (reply: Reply) => reply.cautions.map(({ id }) => id);

  it('is never charged or switched on while it is closed, and every step begins with the caution', () => {
    let steps = 0;
    for (const family of knowledge.families.keys())
      for (const symptoms of wet) {
        let reply = answered(`/trace "${symptoms}" model:"${family}"`);
        // The outcome that is named first, whatever it is, as far as it goes.
        for (let turn = 0; turn < 6 && data(reply).state === 'asking'; turn += 1) {
          const check = knowledge.checks.get(data(reply).step?.id ?? '');
          steps += 1;
          expect(warned(reply), `${family}: ${check?.id}`).toContain('liquid-damage');
          expect(
            check?.access === 'closed' &&
              (check.hazards.includes('charges') || check.id === 'forced-restart'),
            `${family}: ${check?.id}`,
          ).toBe(false);
          reply = tin.say({ token: reply.choices[0]?.token ?? '' }, { as: 'Ines', role: 'member' });
        }
      }
    expect(steps).toBeGreaterThan(knowledge.families.size);
  });

  it('is warned of before it is bought and where it is taken in', () => {
    for (const line of [
      '/worth "Orrin K3" price:60 symptoms:"dead, got wet"',
      '/job open "Orrin K3" symptoms:"got wet"',
    ])
      expect(warned(answered(line)), line).toContain('liquid-damage');
    expect(warned(answered('/worth "Orrin K3" price:60 symptoms:dead'))).not.toContain('liquid-damage');
  });
});
