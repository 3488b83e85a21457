/** What was done at the bench, in anybody's words: read back, kept once. */
import { beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { type TestBot, testBot } from '../test-bot.ts';

let tin: TestBot;
beforeEach(() => {
  tin = testBot();
  tin.say('/family name model:"Orrin K3" as:gasketed-front-home-sensor');
  tin.say('/job open "Orrin K3" came:given symptoms:dead ownership:shown lock:free stolen:clear');
});
const entries = () => tin.store.jobs.get(1)?.entries.map(({ entry }) => entry) ?? [];
const tap = (reply: Reply, label: RegExp): Reply => {
  const choice = reply.choices.find((one) => label.test(one.label));
  expect(choice, `${label} among ${reply.choices.map((one) => one.label).join(' / ')}`).toBeDefined();
  return tin.say({ token: choice?.token ?? '' });
};

describe('a line of the log in words', () => {
  it('is three components, one sum and one time, shown before it is kept and never counted twice', () => {
    const before = entries().length;
    const reply = tin.say('/job log fitted panel, battery and seal, 60, 45 min');
    expect(reply.data).toEqual({
      kind: 'log',
      fitted: ['display-assembly', 'battery', 'gasket'],
      out: { amount: '60.00', currency: 'AUD' },
      minutes: 45,
      notUnderstood: [],
    });
    expect(entries()).toHaveLength(before);
    expect(tap(reply, /^Yes, copy/).outcome).toBe('answered');
    expect(entries().slice(before)).toEqual([
      { kind: 'fitted', component: 'display-assembly', grade: 'copy' },
      { kind: 'fitted', component: 'battery', grade: 'copy' },
      { kind: 'fitted', component: 'gasket', grade: 'copy' },
      {
        kind: 'money',
        way: 'out',
        amount: { minor: 6000, currency: 'AUD' },
        purpose: 'part',
        component: null,
        grade: null,
      },
      { kind: 'minutes', minutes: 45 },
    ]);
    expect(tap(reply, /^Yes, copy/).outcome).toBe('refused');
    expect(entries()).toHaveLength(before + 5);
  });

  it('is kept as words where that is wanted, and where there is nothing to count', () => {
    tap(tin.say('/job log "fitted a new battery, 14, 20 min"'), /^Keep it as words/);
    tin.say('/job log "port cleaned"');
    expect(entries().slice(-2)).toEqual([
      { kind: 'said', text: 'fitted a new battery, 14, 20 min' },
      { kind: 'said', text: 'port cleaned' },
    ]);
  });
});

describe('an amount', () => {
  const spent = (line: string, locale?: string) => {
    const before = entries().length;
    tin.dispatcher.handle({
      collective: tin.collective.id,
      person: { key: 'terminal:Ines', name: 'Ines', role: 'member' },
      direct: false,
      now: tin.now,
      ...(locale ? { locale } : {}),
      say: { line },
    });
    return entries()
      .slice(before)
      .flatMap((one) => (one.kind === 'money' ? [one.amount.minor] : []));
  };
  it.each([
    ['20', 'en', 2000],
    ['$20', 'en', 2000],
    ['20,50', 'en', 2050],
    ['1.250,00', 'en', 125000],
    ['1,250.00', 'en', 125000],
    ['20,50', 'de', 2050],
    ['1.250', 'de', 125000],
    ['20 AUD', 'de', 2000],
  ])('is read as people write it: %s in %s', (typed, locale, minor) => {
    expect(spent(`/job log out:"${typed}"`, locale)).toEqual([minor]);
  });
  it.each([
    ['1.250', 'en'],
    ['20 €', 'en'],
  ])('is refused where it is not plain: %s in %s', (typed, locale) => {
    expect(spent(`/job log out:"${typed}"`, locale)).toEqual([]);
  });
});

it.each(['25', '25 %', '0.25', '0,25'])('a share of a quarter is said as %s', (typed) => {
  tin.say(`/setup margin:"${typed}"`, { role: 'steward' });
  expect(tin.database.collectives.find(tin.collective.id)?.settings.margin).toBe(0.25);
});
