/** What people type in their own words comes back as what was read, before anything is done with it. */
import fc from 'fast-check';
import { beforeEach, describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { plainLine } from '../../commands/shared/plain-line.ts';
import { readData } from '../../commands/shared/read-back.ts';
import { traceData } from '../../commands/trace/trace-data.ts';
import { worthData } from '../../commands/worth/worth-data.ts';
import { type Saying, type TestBot, testBot, wordsOf } from '../test-bot.ts';

let tin: TestBot;
beforeEach(() => {
  tin = testBot();
  tin.say('/family name model:"Orrin K3" as:glued-front-home-sensor launched:2017-09 new-price:649');
});
const words = (text: string, how: Saying = {}) => tin.say({ invoke: plainLine(text) }, how);
const data = (reply: Reply) => readData.parse(reply.data);
const labels = (reply: Reply) => reply.choices.map(({ label }) => label);
const tap = (reply: Reply, label: RegExp, how: Saying = {}): Reply => {
  const choice = reply.choices.find((one) => label.test(one.label));
  expect(choice, `${label} among ${labels(reply).join(' / ')}`).toBeDefined();
  return tin.say({ token: choice?.token ?? '' }, how);
};
const SENTENCE = 'Orrin K3: given, dead, 0 A, cracked corner, boots on my test cell';

describe('a sentence', () => {
  it('is read back whole, and keeps nothing before a yes', () => {
    const before = { ...tin.dump(), choices: [], people: [], surface_state: [] };
    const reply = words(SENTENCE);
    expect(reply.title).toMatch(/^I read: Orrin K3; .*Right\?$/);
    expect(data(reply)).toMatchObject({
      complaints: ['dead', 'cracked-glass'],
      found: ['test-cell/boots', 'charge-current/none'],
      came: 'given',
      newModel: null,
      unsure: [],
      notUnderstood: [],
    });
    expect({ ...tin.dump(), choices: [], people: [], surface_state: [] }).toEqual(before);
  });

  it('is at the first check with one tap, with what was read as evidence and a job for how it came', () => {
    const trace = traceData.parse(tap(words(SENTENCE), /^Yes: take it in/).data);
    expect(trace).toMatchObject({ state: 'asking', symptoms: ['dead', 'cracked-glass'] });
    expect(trace.evidence.map(({ kind, id, outcome }) => [kind, id, outcome])).toEqual([
      ['check', 'test-cell', 'boots'],
      ['check', 'charge-current', 'none'],
    ]);
    const job = tin.store.jobs.get(1);
    expect(job).toMatchObject({ came: 'given', symptoms: ['dead', 'cracked-glass'] });
    expect(job?.entries.map(({ entry }) => entry)).toContainEqual({ kind: 'said', text: SENTENCE });
  });

  it('has each thing taken out with one tap', () => {
    const reply = tap(words(SENTENCE), /^Take out: cracked front glass/);
    expect(data(reply).complaints).toEqual(['dead']);
    expect(data(reply).found).toEqual(['test-cell/boots', 'charge-current/none']);
    const trace = traceData.parse(tap(reply, /^Yes/).data);
    expect(trace.symptoms).toEqual(['dead']);
  });

  it('asks what is unsure, and leaves it out unless it is said', () => {
    const reply = words('Orrin K3, dead, battery');
    expect(data(reply)).toMatchObject({ complaints: ['dead'], unsure: [{ text: 'battery' }] });
    expect(wordsOf(reply)).toContain('It is left out unless you say.');
    expect(traceData.parse(tap(reply, /^Yes: find/).data).damage).toEqual([]);
    const said = tap(reply, /^“battery”: battery broken/);
    expect(data(said)).toMatchObject({ damage: ['battery'], unsure: [] });
    expect(traceData.parse(tap(said, /^Yes: find/).data).damage).toEqual(['battery']);
  });

  it('shows what it does not understand, and offers the commonest where it understood nothing', () => {
    const reply = words('blorp the frob');
    expect(reply.outcome).toBe('answered');
    expect(data(reply)).toMatchObject({ complaints: [], notUnderstood: ['blorp', 'frob'] });
    expect(reply.choices).toHaveLength(12);
    expect(data(tap(reply, /^dead/)).complaints).toEqual(['dead']);
  });

  it('says a shared sign in the currency of the collective, and leaves another currency out', () => {
    expect(data(words('Orrin K3, dead, $20')).price).toEqual({ amount: '20.00', currency: 'AUD' });
    const other = words('Orrin K3, dead, 20 €');
    expect(data(other).price).toBeNull();
    expect(wordsOf(other)).toContain('“20 €” is left out');
  });

  it('asks for the phone where none is named, with the models here to tap', () => {
    const reply = words('won’t turn on, touch ok');
    expect(labels(reply).slice(0, 2)).toEqual(['Yes, and it is: Orrin K3', 'Yes, and it is another phone']);
    const trace = traceData.parse(tap(reply, /Orrin K3/).data);
    expect(trace).toMatchObject({ model: 'Orrin K3', symptoms: ['dead'] });
    expect(trace.evidence).toMatchObject([
      { kind: 'words', reading: 'won’t turn on, touch ok' },
      { kind: 'denied', id: 'no-touch' },
    ]);
  });

  it('has danger first', () => {
    const reply = words('Orrin K3, battery is swollen');
    expect(reply.cautions[0]).toMatchObject({ id: 'swollen-cell', tone: 'danger' });
    expect(traceData.parse(tap(reply, /^Yes: find/).data).state).toBe('danger');
  });

  it('is read in German too', () => {
    const reply = tin.say({ invoke: plainLine('Orrin K3, geschenkt, geht nicht an, Display gesprungen') });
    expect(data(reply)).toMatchObject({ complaints: ['dead', 'cracked-glass'], came: 'given' });
  });

  it('may be pasted with line breaks', () => {
    expect(data(words('Orrin K3\nscreen cracked\r\n\r\nwont charge')).complaints).toEqual([
      'cracked-glass',
      'no-charge',
    ]);
  });

  it('is never refused, whatever it is', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme', minLength: 1, maxLength: 300 }), (text) => {
        fc.pre(text.trim() !== '' && plainLine(text).options.text?.trim() !== '');
        expect(words(text).outcome).toBe('answered');
      }),
      { numRuns: 60 },
    );
  });
});

describe('words in a command', () => {
  it('are read back with what was exact, and the command is run with one tap', () => {
    const reply = tin.say('/worth "Orrin K3" symptoms:"screen cracked and wont charge" price:20 storage:64');
    expect(data(reply).complaints).toEqual(['cracked-glass', 'no-charge']);
    const worth = tap(reply, /^Yes$/);
    const exact = tin.say('/worth "Orrin K3" symptoms:"cracked-glass, no-charge" price:20 storage:64');
    expect(worthData.parse(worth.data)).toEqual(worthData.parse(exact.data));
  });

  it.each([
    ['/trace dead model:"Orrin K3"', traceData],
    ['/trace "no-charge, got wet" model:"Orrin K3"', traceData],
    ['/worth "Orrin K3" symptoms:dead', worthData],
  ])('are not asked about where all is exact: %s', (line, schema) => {
    expect(schema.safeParse(tin.say(line).data).success).toBe(true);
  });

  it('open a job with the same tap, and keep what was said', () => {
    const reply = tin.say('/job open "Orrin K3" symptoms:"phone dead, given, photos first, touch ok"');
    expect(tin.store.jobs.get(1)).toBeNull();
    const opened = tap(reply, /^Yes$/);
    expect(opened.title).toBe('Job 1 is open: Orrin K3');
    expect(tin.store.jobs.get(1)).toMatchObject({ came: 'given', symptoms: ['dead', 'data-first'] });
    // What else was said is kept with the job.
    expect(opened.outcome).toBe('answered');
    expect(tin.store.phoneEvents.list({ kind: 'job', number: 1 }).map(({ event }) => event)).toContainEqual({
      kind: 'told',
      what: 'denied',
      id: 'no-touch',
      outcome: null,
      after: null,
    });
  });

  it('damage said in words is worth the same as damage named', () => {
    const said = tap(tin.say('/worth "Orrin K3" symptoms:"needs a new charging port" price:20'), /^Yes$/);
    const named = tin.say('/worth "Orrin K3" damage:"charging port" price:20');
    expect(worthData.parse(said.data).ways).toEqual(worthData.parse(named.data).ways);
  });
});

describe('an answer in other words', () => {
  it.each([
    ['charge-current', 'charges fine, 0.9 A', 'normal', '0.9 A'],
    ['test-cell', 'boots on the test battery', 'boots', null],
    ['test-cell', 'it does not boot', 'not', null],
  ])('to %s: %s', (step, says, outcome, reading) => {
    tin.say('/trace dead model:"Orrin K3"');
    const reply = tin.say(`/trace answer "${says}" step:${step}`);
    expect(reply.data).toMatchObject({ kind: 'answer', check: step, outcome, reading });
    expect(tin.store.traces.get(1)?.steps).toEqual([]);
    tap(reply, /^Yes$/);
    expect(tin.store.traces.get(1)?.steps).toMatchObject([{ ref: step, outcome, reading }]);
    // The same tap again counts nothing twice.
    expect(tap(reply, /^Yes$/).outcome).toBe('refused');
    expect(tin.store.traces.get(1)?.steps).toHaveLength(1);
  });

  it('in a plain line answers the open trace of who says it, and nobody else’s', () => {
    tin.say('/trace dead model:"Orrin K3"');
    expect(words('0.9 A').data).toMatchObject({ kind: 'answer', check: 'charge-current', outcome: 'normal' });
    expect(words('boots on the test battery').data).toMatchObject({ kind: 'answer', check: 'test-cell' });
    expect(words('Orrin K3 screen cracked').data).toMatchObject({ kind: 'read' });
    expect(words('boots on the test battery', { as: 'Bram' }).data).toMatchObject({ kind: 'read' });
  });
});

describe('what was put right', () => {
  it('is offered next time, to all of the collective, and goes with an erasure', () => {
    const wrong = words('Orrin K3, blorpy');
    expect(data(wrong)).toMatchObject({ complaints: [], notUnderstood: ['blorpy'] });
    tap(wrong, /^does not charge/);
    const next = words('Orrin K3, dead and BLORPY', { as: 'Bram' });
    expect(data(next)).toMatchObject({
      complaints: ['dead'],
      unsure: [{ text: 'BLORPY', candidates: ['symptom:no-charge'] }],
    });
    tin.say('/mydata erase sure:yes', { direct: true });
    expect(data(words('Orrin K3, dead and blorpy', { as: 'Bram' })).unsure).toEqual([]);
    expect(JSON.stringify(tin.dump().learned_words)).not.toContain('blorpy');
  });

  it('and what was taken out is asked from then on', () => {
    tap(words('Orrin K3 gone dark, cracked'), /^Take out: cracked/);
    expect(data(words('Orrin K3 dead, cracked'))).toMatchObject({
      complaints: ['dead'],
      unsure: [{ text: 'cracked' }],
    });
  });

  it('is kept apart by collective', () => {
    tap(words('Orrin K3, blorpy'), /^does not charge/);
    const other = tin.database.collectives.create('Other Shed', { currency: 'EUR' });
    const reply = tin.dispatcher.handle({
      collective: other.id,
      person: { key: 'terminal:Ines', name: 'Ines', role: 'member' },
      direct: false,
      now: tin.now,
      say: { invoke: plainLine('dead and blorpy') },
    });
    expect(data(reply).unsure).toEqual([]);
  });
});

describe('a model that nobody has named', () => {
  it('is asked after in three questions with taps, and the sentence goes on from there', () => {
    const first = tap(words('Vesper Loam, won’t turn on'), /“Vesper Loam” is new here/);
    expect(first.title).toBe('How does Vesper Loam open?');
    const second = tap(first, /comes out at the front/);
    const third = tap(second, /home button/);
    const kept = tap(third, /2016 to 2018/);
    expect(kept.title).toMatch(/^Vesper Loam is kept as/);
    expect(tin.store.models.findByName('Vesper Loam')?.family).toMatch(/home-sensor$/);
    const trace = traceData.parse(tap(kept, /^Go on$/).data);
    expect(trace).toMatchObject({ model: 'Vesper Loam', symptoms: ['dead'], state: 'asking' });
  });
});
