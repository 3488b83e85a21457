import { describe, expect, it } from 'vitest';
import { openDatabase } from '../../shared/store/index.ts';
import { testSealer } from '../sealer.ts';

const now = new Date('2026-03-02T09:00:00Z');
const later = new Date('2026-03-03T09:00:00Z');

function two() {
  const database = openDatabase(':memory:', testSealer);
  const shed = database.collectives.create('Tin Shed');
  const loft = database.collectives.create('Loft');
  return { database, places: database.channelBindings, surfaceState: database.surfaceState, shed, loft };
}

describe('places', () => {
  it('belong to the collective they were bound to, each platform apart', () => {
    const { places, shed, loft } = two();
    expect(places.bindingOf('discord', '1')).toBeNull();
    const bound = places.bind({ platform: 'discord', id: '1', collective: shed.id, kind: 'server' }, now);
    expect(bound).toEqual({
      platform: 'discord',
      id: '1',
      collective: shed.id,
      kind: 'server',
      weekly: false,
      at: now,
    });
    expect(places.bindingOf('discord', '1')).toEqual(bound);
    expect(places.bindingOf('matrix', '1')).toBeNull();
    places.bind({ platform: 'matrix', id: '1', collective: loft.id, kind: 'room' }, now);
    expect(places.list(shed.id).map(({ platform }) => platform)).toEqual(['discord']);
    expect(places.list(loft.id).map(({ platform }) => platform)).toEqual(['matrix']);
  });

  it('move to another collective without their weekly post, and keep it within their own', () => {
    const { places, shed, loft } = two();
    const room = { platform: 'discord', id: '5', kind: 'room' as const };
    places.bind({ ...room, collective: shed.id }, now);
    expect(places.setWeekly('discord', '5', true)).toBe(true);
    expect(places.bind({ ...room, collective: shed.id }, later).weekly).toBe(true);
    expect(places.weeklyBindings(shed.id).map(({ id }) => id)).toEqual(['5']);
    expect(places.bind({ ...room, collective: loft.id }, later)).toMatchObject({
      weekly: false,
      collective: loft.id,
    });
    expect(places.weeklyBindings(shed.id)).toEqual([]);
    expect(places.weeklyBindings(loft.id)).toEqual([]);
  });

  it('are let go, and say so when there is nothing to let go or to post to', () => {
    const { places, shed } = two();
    places.bind({ platform: 'discord', id: '5', collective: shed.id, kind: 'room' }, now);
    expect(places.unbind('discord', '5')).toBe(true);
    expect(places.unbind('discord', '5')).toBe(false);
    expect(places.setWeekly('discord', '5', true)).toBe(false);
    expect(places.list(shed.id)).toEqual([]);
  });

  it('are of a collective that there is', () => {
    const { places } = two();
    expect(() => places.bind({ platform: 'discord', id: '5', collective: 99, kind: 'room' }, now)).toThrow();
  });
});

describe('where direct messages go', () => {
  it('is what the person chose last', () => {
    const { places, shed, loft } = two();
    expect(places.homeOf('discord:7')).toBeNull();
    places.setHome('discord:7', shed.id);
    places.setHome('discord:7', loft.id);
    expect(places.homeOf('discord:7')).toBe(loft.id);
    expect(places.homeOf('discord:8')).toBeNull();
  });

  it('can be told from where they have spoken', () => {
    const { places, database, shed, loft } = two();
    expect(places.seenIn('discord:7')).toEqual([]);
    database.of(loft).people.meet('discord:7', 'Wren', now);
    database.of(shed).people.meet('discord:7', 'Wren', now);
    database.of(shed).people.meet('discord:8', 'Bram', now);
    expect(places.seenIn('discord:7')).toEqual([shed.id, loft.id]);
  });
});

describe('the state of a surface', () => {
  it('is kept by key, each surface apart', () => {
    const { surfaceState: state } = two();
    expect(state.get('matrix', 'sync')).toBeNull();
    state.set('matrix', 'sync', 'a', now);
    state.set('matrix', 'sync', 'b', now);
    expect(state.get('matrix', 'sync')).toBe('b');
    expect(state.get('discord', 'sync')).toBeNull();
    state.delete('matrix', 'sync');
    expect(state.get('matrix', 'sync')).toBeNull();
  });

  it('is dropped by age within a prefix, read as it is written', () => {
    const { surfaceState: state } = two();
    state.set('matrix', 'event:1', '', now);
    state.set('matrix', 'event:2', '', later);
    state.set('matrix', 'evenx:1', '', now);
    state.set('discord', 'event:1', '', now);
    expect(state.dropBefore('matrix', 'even_:', later, later)).toBe(0);
    expect(state.dropBefore('matrix', 'event:', later, later)).toBe(1);
    expect(state.get('matrix', 'event:1')).toBeNull();
    expect(state.get('matrix', 'event:2')).toBe('');
    expect(state.get('matrix', 'evenx:1')).toBe('');
    expect(state.get('discord', 'event:1')).toBe('');
  });
});
