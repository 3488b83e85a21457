/** What is said of a phone at any time: at intake, in its job, in the middle of a trace. */
import { beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { jobData } from '../../commands/job/job-data.ts';
import { traceData } from '../../commands/trace/trace-data.ts';
import { loadKnowledge } from '../../knowledge/load.ts';
import { beliefOf } from '../../shared/diagnosis/sets/bench-belief.ts';
import { type TestBot, testBot, wordsOf } from '../test-bot.ts';

const knowledge = loadKnowledge();
const PHONE = 'glued-front-home-sensor';
let tin: TestBot;
const say = (line: string, as = 'Ines'): Reply => {
  const reply = tin.say(line, { as });
  expect(reply, reply.title).toMatchObject({ outcome: 'answered' });
  return reply;
};
const tap = (reply: Reply, label: RegExp, as = 'Ines'): Reply => {
  const choice = reply.choices.find((one) => label.test(one.label));
  expect(choice, `${label} among ${reply.choices.map((one) => one.label).join(' / ')}`).toBeDefined();
  return tin.say({ token: choice?.token ?? '' }, { as });
};
const data = (reply: Reply) => traceData.parse(reply.data);
const labels = (reply: Reply) => reply.choices.map(({ label }) => label).join(' | ');

beforeEach(() => {
  tin = testBot({ knowledge });
});

describe('what anybody would see', () => {
  it('is asked once at intake; that there is nothing else is evidence and changes what leads', () => {
    const first = say(`/trace "no touch" model:${PHONE}`);
    expect(data(first).unsaid).toEqual(
      ['swollen', 'black-screen', 'cracked-glass', 'back-broken', 'fog', 'bent'].filter((id) =>
        data(first).unsaid.includes(id),
      ),
    );
    expect(data(first).unsaid).toHaveLength(6);
    expect(data(first).odds[0]?.fault).toBe('display-cracked');
    const then = tap(first, /^Nothing else to see$/);
    expect(data(then).odds[0]?.fault).toBe('touch-layer');
    // The same by the core alone, from the events themselves.
    const family = knowledge.families.get(PHONE);
    if (!family) throw new Error('no family');
    const belief = beliefOf({
      ...{ knowledge, family },
      events: [
        { kind: 'shown', id: 'no-touch' },
        ...data(first).unsaid.map((id) => ({ kind: 'denied', id }) as const),
      ],
    });
    expect(data(then).odds[0]?.chance).toBeCloseTo(belief?.odds[0]?.share ?? 0, 12);
    expect(belief?.odds[0]?.share).toBeGreaterThan(0.65);
    expect(data(then).unsaid).toEqual([]);
    expect(labels(then)).not.toContain('Nothing else');
    expect(wordsOf(then)).toContain('nothing else to see (Ines)');
  });

  it('is skipped by any step, and one tap says what is seen', () => {
    const first = say(`/trace dead model:${PHONE}`);
    // A dead phone shows no picture either way.
    expect(data(first).unsaid).not.toContain('black-screen');
    const seen = tap(first, /^Seen: cracked front glass$/);
    expect(data(seen).damage).toEqual(['display-assembly']);
    expect(data(seen).unsaid).not.toContain('cracked-glass');
    const step = tap(first, /^Can't do that$/);
    expect(step.outcome).toBe('refused');
    expect(data(tap(seen, /^Can't do that$/)).unsaid).toEqual([]);
  });

  it('is taken back by one answer', () => {
    const first = say(`/trace "no touch" model:${PHONE}`);
    tap(first, /^Nothing else to see$/);
    const back = say('/trace back');
    expect(data(back).odds).toEqual(data(first).odds);
    expect(data(back).unsaid).toEqual(data(first).unsaid);
  });

  it('never stands before a cell that may be dangerous, and brings its card when it is seen', () => {
    expect(labels(say(`/trace swollen model:${PHONE}`))).not.toContain('Seen:');
    const reply = tap(say(`/trace "no sound" model:${PHONE}`), /^Seen: swollen cell/);
    expect(data(reply)).toMatchObject({ state: 'danger', unsaid: [] });
    expect(reply.cautions.length).toBeGreaterThan(0);
    expect(labels(reply)).not.toContain('Seen:');
    // In words, and not as odds: it stays when the answer is taken back.
    say('/trace back');
    expect(data(say('/trace show 2')).state).toBe('danger');
  });

  it('is asked where a job is opened, kept with the phone, and not asked again in its trace', () => {
    const opened = say(`/job open ${PHONE} came:given symptoms:"no touch"`);
    const cracked = tap(opened, /^Seen: back cracked$/);
    const done = tap(cracked, /^Nothing else to see$/, 'Bram');
    expect(labels(done)).not.toContain('Seen:');
    const begun = say('/trace start job:1');
    expect(data(begun)).toMatchObject({ unsaid: [], damage: ['back-cover'] });
    expect(data(begun).denied).toEqual(expect.arrayContaining(['cracked-glass', 'bent', 'swollen', 'fog']));
    expect(data(begun).odds[0]?.fault).toBe('touch-layer');
    expect(labels(say(`/job open ${PHONE} came:given symptoms:swollen`))).not.toContain('Seen:');
  });

  it('begins a trace by what was seen where a job came without a symptom', () => {
    tap(say(`/job open ${PHONE} came:given`), /^Seen: fog/);
    expect(jobData.parse(say('/job show 1').data).wet).toBe('wet');
    expect(data(say('/trace start job:1')).symptoms).toEqual(['fog']);
  });
});

describe('/trace note', () => {
  it('is taken at any time and shown back, with who said it', () => {
    say(`/trace "no charge, cracked glass" model:${PHONE}`);
    const open = say('/trace note open:open', 'Bram');
    expect(data(open).reached).toBe(1);
    expect(wordsOf(open)).toContain('it lies open (Bram)');
    expect(data(open).state).not.toBe('opening');
    const good = say('/trace note good:battery denied:"no vibration" shown:"muffled speaker"');
    expect(data(good)).toMatchObject({ good: ['battery'], denied: ['no-vibration'] });
    expect(data(good).standing).toEqual([
      { id: 'no-charge', stands: 'to-find', by: null },
      { id: 'display-assembly', stands: 'known', by: null },
      { id: 'muffled-speaker', stands: 'to-find', by: null },
    ]);
    expect(wordsOf(good)).toMatch(/display assembly: known, to do/);
    const chance = (reply: Reply, id: string) =>
      data(reply).odds.find(({ fault }) => fault === id)?.chance ?? 0;
    for (const id of ['battery-open', 'battery-connector'])
      expect(chance(good, id)).toBeLessThan(0.2 * chance(open, id));
    expect(data(good).evidence.map(({ kind, by }) => `${kind} ${by}`)).toEqual([
      'reached Bram',
      'shown Ines',
      'denied Ines',
      'good Ines',
    ]);
    const closed = say('/trace note open:closed');
    expect(data(closed).reached).toBe(0);
  });

  it('that it charges fine is evidence, and what is said twice counts once', () => {
    const first = say(`/trace "no sound" model:${PHONE}`);
    const fine = say('/trace note denied:"does not charge"');
    const chance = (reply: Reply, id: string) =>
      data(reply).odds.find(({ fault }) => fault === id)?.chance ?? 0;
    expect(chance(fine, 'port-worn')).toBeLessThan(0.5 * chance(first, 'port-worn'));
    expect(data(say('/trace note denied:"does not charge"')).odds).toEqual(data(fine).odds);
    // Overlooked: what is shown after all counts, and not the denial.
    const after = say('/trace note shown:"does not charge"');
    expect(data(after).open).toContain('no-charge');
    expect(data(after).denied).not.toContain('no-charge');
  });

  it.each([
    ['/trace note', /nothing to write down/],
    ['/trace note denied:"no sound"', /said to show/],
    ['/trace note shown:"foil lifting at the fold"', /cannot show/],
    ['/trace note good:hinge', /has no/],
    ['/trace note shown:purple', /no symptom is called/],
  ])('refuses %s and saves nothing', (line, problem) => {
    say(`/trace "no sound" model:${PHONE}`);
    const before = tin.dump();
    const reply = tin.say(line);
    expect(reply.outcome).toBe('refused');
    expect(reply.title).toMatch(problem);
    expect(tin.dump()).toEqual(before);
  });
});
