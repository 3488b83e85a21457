import { beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { traceData } from '../../commands/trace/trace-data.ts';
import { worthData } from '../../commands/worth/worth-data.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { type TestBot, testBot } from '../test-bot.ts';

const knowledge = loadKnowledge();
let tin: TestBot;
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
  tin = testBot({ knowledge });
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
      ...data(reply).unsaid.map((id) => `Seen: ${knowledge.symptoms.get(id)?.name}`),
      'Nothing else to see',
      "Can't do that",
      'Stop here',
    ]);
    // Chances of being present: at least one fault is, and there may be more.
    for (const { chance } of odds) expect(chance >= 0 && chance <= 1).toBe(true);
    expect(odds.reduce((sum, { chance }) => sum + chance, 0)).toBeGreaterThanOrEqual(1 - 1e-9);
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

  it('that a check alone put right ends as mended, with no word of stripping', () => {
    let reply = answered('/trace dead model:"Orrin K3"');
    while (data(reply).step?.id !== 'long-charge') reply = pick(reply, /^Can't do that$/);
    reply = pick(reply, /^it starts/);
    expect(reply.title.toString()).toContain('all that was wrong is gone');
    const ended = pick(reply, /^It is done$/);
    expect(data(ended).state).toBe('mended');
    expect(ended.tone).toBe('good');
    expect(JSON.stringify(ended.blocks)).not.toMatch(/[Ss]trip|no check or remedy/);
    expect(ended.choices).toEqual([]);
    expect(data(answered('/trace show 1')).state).toBe('mended');
  });

  it('of a phone that lies open does not go back to looks that come before opening', () => {
    answered('/trace "dead, no charge" model:"Orrin K3"');
    answered('/trace answer "0.00 A" step:"Current at the charger"');
    answered('/trace answer boots step:"Known-good test cell"');
    let reply = answered('/trace answer normal step:"Charge with the test cell in"');
    const steps: string[] = [];
    for (let turn = 0; turn < 12 && data(reply).state === 'asking'; turn += 1) {
      steps.push(data(reply).step?.id ?? '');
      reply = pick(reply, /^Can't do that$/);
    }
    expect(data(reply).state).toBe('remedy');
    for (const first of ['long-charge', 'known-good-charger']) expect(steps).not.toContain(first);
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
