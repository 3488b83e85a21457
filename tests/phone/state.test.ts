import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seenFacts } from '../../knowledge/schema.ts';
import { type LoggedPhoneEvent, type PhoneEvent, safetySteps, saidFacts } from '../../shared/phone/event.ts';
import { barOn, isCellFact, stateAfter } from '../../shared/phone/state.ts';
import { actor } from '../actors.ts';

const logged = (events: readonly PhoneEvent[]): LoggedPhoneEvent[] =>
  events.map((event, index) => ({
    seq: index + 1,
    event,
    by: actor('Ines'),
    at: new Date(Date.UTC(2026, 2, 2, 9, index)),
    withdrawn: null,
  }));
const fact = (name: (typeof saidFacts)[number]): PhoneEvent => ({
  kind: 'fact',
  fact: name,
  ground: 'said',
  ref: '',
});
const did = (step: (typeof safetySteps)[number]): PhoneEvent => ({ kind: 'safety', step, who: '' });
const folded = (...events: PhoneEvent[]) => stateAfter(logged(events));

const anyEvent: fc.Arbitrary<PhoneEvent> = fc.oneof(
  fc.constantFrom(...saidFacts).map(fact),
  fc.constantFrom(...safetySteps).map(did),
);
const step = (over: Partial<Parameters<typeof barOn>[1]> = {}) => ({
  hazards: [],
  powers: false,
  ...over,
});

describe('the state of a phone', () => {
  it('is suspect from any fact about the cell, whatever else was said', () => {
    for (const name of saidFacts.filter(isCellFact)) expect(folded(fact(name)).danger).toBe('suspect');
    expect(folded(fact('wet')).danger).toBe('none');
  });
  it('is cleared by a new cell alone, and a hand-over ends it', () => {
    expect(folded(fact('swollen'), did('isolated')).danger).toBe('isolated');
    expect(folded(fact('swollen'), did('cleaned')).danger).toBe('suspect');
    expect(folded(fact('swollen'), did('isolated'), did('handed-over')).danger).toBe('handed-over');
    expect(folded(fact('swollen'), did('isolated'), did('new-cell'))).toMatchObject({
      danger: 'none',
      newCell: true,
    });
  });
  it('asks for the cell to be set apart again after a new sign', () => {
    expect(folded(fact('swollen'), did('isolated'), fact('hot')).danger).toBe('suspect');
    expect(folded(fact('swollen'), did('new-cell'), fact('hurt'))).toMatchObject({
      danger: 'suspect',
      newCell: false,
    });
  });
  it('stays wet until a cleaning, or until mark and seal were both seen sound after it', () => {
    expect(folded(fact('wet')).wet).toBe('wet');
    expect(folded(fact('wet'), did('cleaned')).wet).toBe('cleaned');
    expect(folded(fact('wet'), did('cleaned'), fact('wet')).wet).toBe('wet');
    expect(folded(fact('wet'), fact('mark-dry')).wet).toBe('wet');
    expect(folded(fact('wet'), fact('mark-dry'), fact('seal-whole')).wet).toBe('no');
    expect(folded(fact('mark-dry'), fact('seal-whole'), fact('wet')).wet).toBe('wet');
  });
  it('never loses danger through anything but a hand-over or a new cell', () => {
    fc.assert(
      fc.property(fc.array(anyEvent, { maxLength: 12 }), anyEvent, (events, last) => {
        const before = folded(...events);
        const now = folded(...events, last);
        const ends = last.kind === 'safety' && (last.step === 'new-cell' || last.step === 'handed-over');
        if (before.danger !== 'none' && !ends) expect(now.danger).not.toBe('none');
        if (last.kind === 'fact' && isCellFact(last.fact)) expect(now.danger).toBe('suspect');
        if (
          before.wet === 'wet' &&
          last.kind === 'fact' &&
          last.fact !== 'mark-dry' &&
          last.fact !== 'seal-whole'
        )
          expect(now.wet).toBe('wet');
      }),
    );
  });
  it('remembers every fact that stands, and none that was withdrawn', () => {
    const events = logged([fact('swollen'), fact('wet')]);
    const [first] = events;
    if (first) first.withdrawn = { by: actor('Wren'), at: new Date(0), why: 'another phone' };
    expect(stateAfter(events)).toMatchObject({ danger: 'none', wet: 'wet' });
    expect(stateAfter(events).facts.map((one) => one.fact)).toEqual(['wet']);
  });
});

describe('bars', () => {
  const anyStep = fc.record({
    hazards: fc.subarray([
      'charges',
      'heats',
      'pries',
      'presses',
      'live-supply',
      'static',
      'broken-glass',
    ] as const),
    powers: fc.boolean(),
    endsOn: fc.boolean(),
    cleans: fc.boolean(),
  });
  it('leave a suspect cell nothing but being handed over', () => {
    fc.assert(
      fc.property(anyStep, fc.constantFrom('suspect', 'isolated', 'handed-over'), (one, danger) => {
        expect(barOn({ danger, wet: 'no' }, one)).toBe('cell');
      }),
    );
    expect(
      barOn({ danger: 'isolated', wet: 'wet' }, step({ hazards: ['unsafe-cell'], endsOn: true })),
    ).toBeNull();
  });
  it('keep current out of a wet phone', () => {
    expect(barOn({ danger: 'none', wet: 'wet' }, step({ hazards: ['charges'] }))).toBe('wet');
    expect(barOn({ danger: 'none', wet: 'wet' }, step({ hazards: ['live-supply'] }))).toBe('wet');
    expect(barOn({ danger: 'none', wet: 'wet' }, step({ powers: true }))).toBe('wet');
    expect(barOn({ danger: 'none', wet: 'wet' }, step({ endsOn: true }))).toBe('wet');
    expect(barOn({ danger: 'none', wet: 'wet' }, step({ powers: true, cleans: true }))).toBe('wet');
    expect(barOn({ danger: 'none', wet: 'wet' }, step({ hazards: ['charges'], cleans: true }))).toBe('wet');
    expect(barOn({ danger: 'none', wet: 'wet' }, step({ endsOn: true, cleans: true }))).toBeNull();
    expect(barOn({ danger: 'none', wet: 'wet' }, step())).toBeNull();
  });
  it('leave a sound or cleaned phone alone', () => {
    fc.assert(
      fc.property(anyStep, fc.constantFrom('no', 'cleaned'), (one, wet) => {
        expect(barOn({ danger: 'none', wet }, one)).toBeNull();
      }),
    );
  });
  it('know each fact of the pack', () => {
    expect(saidFacts).toEqual([...seenFacts, 'unsafe']);
  });
});
