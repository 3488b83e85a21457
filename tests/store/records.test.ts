import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { money } from '../../shared/money/money.ts';
import { type NewSighting, openDatabase } from '../../shared/store/index.ts';
import { actor } from '../actors.ts';
import { testSealer } from '../sealer.ts';

const now = new Date('2026-03-02T09:00:00Z');
const daysOn = (days: number) => new Date(now.getTime() + days * 24 * 3600 * 1000);

function two() {
  const database = openDatabase(':memory:', testSealer);
  const shed = database.of(database.collectives.create('Tin Shed'));
  const loft = database.of(database.collectives.create('Loft'));
  return { database, shed, loft };
}
const k3 = {
  name: 'Orrin K3',
  family: 'glued-front-home-sensor',
  launched: '2017-09-21',
  newPrice: money(64_900, 'AUD'),
  by: actor('Ines'),
  at: now,
};
const phone = (model: number, more: Partial<NewSighting> = {}): NewSighting => ({
  kind: 'phone',
  model,
  component: null,
  partGrade: null,
  grade: 1,
  storage: 64,
  price: money(18_000, 'AUD'),
  how: 'sold',
  seen: '2026-02-20',
  note: '',
  by: actor('Ines'),
  at: now,
  ...more,
});

describe('models', () => {
  it('are found whatever the case, spaces, hyphens and accents, and saved once under a name', () => {
    const { shed } = two();
    const saved = shed.models.save(k3);
    for (const name of ['orrin k3', 'ORRIN  K3', 'Orrín-k3', ' orrin_k3 '])
      expect(shed.models.findByName(name)).toEqual(saved);
    const again = shed.models.save({ ...k3, name: 'ORRIN K3', newPrice: null });
    expect(again).toMatchObject({ id: saved.id, name: 'ORRIN K3', newPrice: null });
    expect(shed.models.list()).toHaveLength(1);
  });

  it('go with their sightings, and leave their traces', () => {
    const { shed, database } = two();
    const { id } = shed.models.save(k3);
    shed.sightings.add(phone(id));
    const trace = shed.traces.start({
      family: k3.family,
      model: id,
      symptoms: [],
      startedBy: actor('Ines'),
      at: now,
    });
    shed.models.remove(id);
    expect(shed.models.list()).toEqual([]);
    expect(shed.sightings.count()).toBe(0);
    expect(shed.traces.get(trace.number)).toMatchObject({ model: null, family: k3.family });
    expect(database.check()).toEqual([]);
    expect(shed.models.save(k3).id).not.toBe(id);
  });
});

describe('sightings', () => {
  it('come back as they went in', () => {
    const { shed } = two();
    const { id } = shed.models.save(k3);
    fc.assert(
      fc.property(
        fc.record({
          grade: fc.integer({ min: -2, max: 2 }),
          storage: fc.option(fc.integer({ min: 1, max: 8192 })),
          price: fc.integer({ min: 1, max: 100_000_000_000 }).map((minor) => money(minor, 'AUD')),
          how: fc.constantFrom('sold' as const, 'asked' as const),
          note: fc.string(),
        }),
        (more) => {
          const added = shed.sightings.add(phone(id, more));
          expect(shed.sightings.get(added.number)).toEqual(added);
        },
      ),
      { numRuns: 50 },
    );
  });

  it('have numbers that are never given twice, and come newest first', () => {
    const { shed } = two();
    const { id } = shed.models.save(k3);
    shed.sightings.addMany([
      phone(id, { seen: '2026-01-05' }),
      phone(id, { seen: '2026-02-20' }),
      phone(id, { seen: '2025-11-30' }),
    ]);
    expect(shed.sightings.list().map(({ number }) => number)).toEqual([2, 1, 3]);
    shed.sightings.remove(3);
    expect(shed.sightings.add(phone(id)).number).toBe(4);
    expect(shed.sightings.list({ limit: 1 }).map(({ number }) => number)).toEqual([4]);
    expect(shed.sightings.count({ model: id, kind: 'part' })).toBe(0);
    expect(shed.sightings.count({ notIn: 'AUD' })).toBe(0);
    expect(shed.sightings.count({ notIn: 'EUR' })).toBe(3);
  });

  it('are refused by the file itself when they make no sense', () => {
    const { shed } = two();
    const { id } = shed.models.save(k3);
    expect(() => shed.sightings.add(phone(id, { grade: null }))).toThrow('CHECK');
    expect(() => shed.sightings.add(phone(id, { kind: 'part' }))).toThrow('CHECK');
    expect(() => shed.sightings.add(phone(id, { price: money(0, 'AUD') }))).toThrow('CHECK');
    expect(() => shed.sightings.add(phone(id + 1))).toThrow('FOREIGN KEY');
  });
});

describe('traces', () => {
  const begin = () => {
    const { shed } = two();
    const trace = shed.traces.start({
      family: k3.family,
      model: null,
      symptoms: ['dead', 'wet'],
      startedBy: actor('Ines'),
      at: now,
    });
    const step = {
      kind: 'check' as const,
      ref: 'usb-current',
      outcome: 'none',
      reading: '0.00 A',
      by: actor('Sol'),
      at: now,
    };
    return { shed, trace, step };
  };

  it('take steps, take them back without losing them, and end; the revision goes up each time', () => {
    const { shed, trace, step } = begin();
    expect(trace).toMatchObject({
      number: 1,
      state: 'open',
      revision: 1,
      steps: [],
      symptoms: ['dead', 'wet'],
    });
    shed.traces.add(1, step);
    shed.traces.add(1, { ...step, ref: 'test-cell', outcome: 'boots', reading: null });
    const back = shed.traces.undoLast(1);
    expect(back.steps.map(({ seq, ref, undone }) => [seq, ref, undone])).toEqual([
      [1, 'usb-current', false],
      [2, 'test-cell', true],
    ]);
    expect(shed.traces.undoLast(1).steps.every(({ undone }) => undone)).toBe(true);
    expect(shed.traces.add(1, step).steps.at(-1)).toMatchObject({ seq: 3, undone: false, at: now });
    expect(shed.traces.end(1)).toMatchObject({ state: 'ended', revision: 7 });
    expect(shed.traces.listOpen()).toEqual([]);
  });

  it('take nothing once ended, and nothing back when there is nothing', () => {
    const { shed, step } = begin();
    expect(() => shed.traces.undoLast(1)).toThrow('no step to take back');
    shed.traces.end(1);
    expect(() => shed.traces.add(1, step)).toThrow('not open');
    expect(() => shed.traces.end(1)).toThrow('not open');
    expect(() => shed.traces.end(2)).toThrow('not open');
  });
});

describe('choices, requests and people', () => {
  const choice = {
    token: 'tok-1',
    person: null,
    label: 'Go back',
    invoke: { command: 'trace', action: 'back', options: { trace: '1' } },
    subject: 'trace:1',
    revision: 4,
  };

  it('a choice is taken as it was saved, and dropped after 60 days', () => {
    const { shed, database } = two();
    shed.choices.save([choice], now);
    // A clock that leaps is not believed.
    for (let day = 0; day < 60; day += 20) database.clock.trusts(daysOn(day));
    expect(shed.choices.take('tok-1', daysOn(1))).toEqual({ ...choice, made: now, used: daysOn(1) });
    shed.choices.save([], daysOn(60));
    expect(shed.choices.take('tok-1', daysOn(60))).not.toBeNull();
    shed.choices.save([], daysOn(61));
    expect(shed.choices.take('tok-1', daysOn(61))).toBeNull();
  });

  it('a reply is kept for its request for 7 days', () => {
    const { shed } = two();
    expect(shed.requests.answered('r-1')).toBeUndefined();
    shed.requests.save('r-1', { title: 'Hello' }, now);
    expect(shed.requests.answered('r-1')).toEqual({ title: 'Hello' });
    shed.requests.save('r-2', {}, daysOn(8));
    expect(shed.requests.answered('r-1')).toBeUndefined();
  });

  it('a person is known by the name they went by last', () => {
    const { shed } = two();
    shed.people.meet('terminal:1', 'Ines', now);
    shed.people.meet('terminal:1', 'Ines B', daysOn(1));
    expect(shed.people.get('terminal:1')).toEqual({ key: 'terminal:1', name: 'Ines B', seen: daysOn(1) });
  });
});

it('a collective reaches nothing of another', () => {
  const { shed, loft, database } = two();
  const { id } = shed.models.save(k3);
  const { number } = shed.sightings.add(phone(id));
  shed.traces.start({ family: k3.family, model: id, symptoms: [], startedBy: actor('Ines'), at: now });
  shed.choices.save(
    [
      {
        token: 'tok',
        person: null,
        label: 'x',
        invoke: { command: 'x', action: '', options: {} },
        subject: null,
        revision: null,
      },
    ],
    now,
  );
  shed.requests.save('r', 1, now);
  shed.people.meet('p', 'Ines', now);

  expect(loft.models.list()).toEqual([]);
  expect(loft.models.get(id)).toBeNull();
  expect(loft.models.findByName(k3.name)).toBeNull();
  expect(loft.sightings.get(number)).toBeNull();
  expect(loft.sightings.list()).toEqual([]);
  expect(loft.traces.get(1)).toBeNull();
  expect(loft.traces.listOpen()).toEqual([]);
  expect(loft.choices.take('tok', now)).toBeNull();
  expect(loft.requests.answered('r')).toBeUndefined();
  expect(loft.people.get('p')).toBeNull();
  expect(() => loft.sightings.add(phone(id))).toThrow('FOREIGN KEY');

  loft.sightings.remove(number);
  loft.models.remove(id);
  expect(() => loft.traces.end(1)).toThrow();
  loft.saveSettings({ ...loft.collective.settings, currency: 'EUR' });
  expect(shed.models.get(id)).not.toBeNull();
  expect(shed.sightings.count()).toBe(1);
  expect(database.collectives.find('Tin Shed')?.settings.currency).toBe('AUD');
  expect(loft.models.save(k3).name).toBe(k3.name);
});
