import { beforeEach, describe, expect, it } from 'vitest';
import type { Role } from '../../commands/framework/context.ts';
import type { Reply } from '../../commands/framework/reply.ts';
import type { Request } from '../../commands/framework/request.ts';
import { linkData } from '../../commands/setup/link.ts';
import type { Collective } from '../../shared/collective/collective-settings.ts';
import { type TestBot, testBot, wordsOf } from '../test-bot.ts';

const server = { platform: 'discord', id: '100200300400500600' };
const room = { platform: 'matrix', id: '!shed:example.org' };

let tin: TestBot;
let other: Collective;
beforeEach(() => {
  tin = testBot();
  other = tin.database.collectives.create('Back Room', { currency: 'AUD' });
  tin.database.channelBindings.bind({ ...server, collective: tin.collective.id, kind: 'server' }, tin.now);
  tin.database.channelBindings.bind({ ...room, collective: other.id, kind: 'room' }, tin.now);
});

interface At {
  of: Collective;
  place?: { platform: string; id: string };
  role?: Role;
  direct?: boolean;
  minutes?: number;
}
const say = (
  what: string | Request['say'],
  { of, place, role = 'steward', direct = false, minutes = 0 }: At,
) =>
  tin.dispatcher.handle({
    collective: of.id,
    person: { key: 'matrix:@moss:example.org', name: 'Moss', role },
    direct,
    now: new Date(tin.now.getTime() + minutes * 60_000),
    ...(place ? { place } : {}),
    say: typeof what === 'string' ? { line: what } : what,
  });
const wordIn = (reply: Reply): string => linkData.parse(reply.data).word ?? 'none';
const collectiveOf = (place: { platform: string; id: string }) =>
  tin.database.channelBindings.bindingOf(place.platform, place.id)?.collective;

describe('/setup link', () => {
  it('gives a steward a word that nobody else sees, and keeps a hash of it alone', () => {
    const given = say('/setup link', { of: tin.collective, place: server });
    expect(given.audience).toBe('asker');
    const word = wordIn(given);
    expect(word).toMatch(/^[A-Z2-9]{4}-[A-Z2-9]{4}-[A-Z2-9]{4}$/);
    expect(given.title).toContain(word);
    expect(JSON.stringify(tin.dump())).not.toContain(word);
    expect(wordIn(say('/setup link', { of: tin.collective, place: server }))).not.toBe(word);
  });

  it('joins the other place, where jobs, prices and traces are then the same', () => {
    tin.say('/family name model:"Orrin K3" as:glued-front-home-sensor');
    tin.say('/trace "no charge" model:"Orrin K3"');
    const word = wordIn(say('/setup link', { of: tin.collective, place: server }));
    // As people type it: without the hyphens, and small.
    const joined = say(`/setup link word:${word.toLowerCase().replaceAll('-', '')}`, {
      of: other,
      place: room,
    });
    expect(joined.outcome).toBe('answered');
    expect(linkData.parse(joined.data).joined).toBe('Tin Shed');
    expect(collectiveOf(room)).toBe(tin.collective.id);
    expect(tin.database.channelBindings.bindingOf('matrix', room.id)?.kind).toBe('room');
    expect(collectiveOf(server)).toBe(tin.collective.id);
    const goesOn = say('/trace show 1', { of: tin.collective, place: room });
    expect(goesOn.title).toContain('Orrin K3');
  });

  it('takes a word once, and for 15 minutes', () => {
    const refusedAfter = (minutes: number, again: boolean) => {
      const word = wordIn(say('/setup link', { of: tin.collective, place: server }));
      if (again) say(`/setup link word:${word}`, { of: other, place: room });
      tin.database.channelBindings.bind({ ...room, collective: other.id, kind: 'room' }, tin.now);
      const before = tin.dump();
      const refused = say(`/setup link word:${word}`, { of: other, place: room, minutes });
      if (refused.outcome === 'refused') expect(tin.dump()).toEqual(before);
      return refused;
    };
    expect(refusedAfter(1, true).title).toContain('not any more');
    expect(refusedAfter(15, false).title).toContain('not any more');
    expect(refusedAfter(14, false).outcome).toBe('answered');
    const guess = say('/setup link word:ABCD-EFGH-JKLM', { of: other, place: room });
    expect(guess.title).toContain('not any more');
  });

  it('is for stewards, at both ends', () => {
    const before = tin.dump();
    expect(say('/setup link', { of: tin.collective, place: server, role: 'member' }).outcome).toBe('refused');
    expect(tin.dump()).toEqual(before);
    const word = wordIn(say('/setup link', { of: tin.collective, place: server }));
    expect(say(`/setup link word:${word}`, { of: other, place: room, role: 'member' }).outcome).toBe(
      'refused',
    );
    expect(collectiveOf(room)).toBe(other.id);
  });

  it('joins a shared place only', () => {
    const word = wordIn(say('/setup link', { of: tin.collective, place: server }));
    const refused = say(`/setup link word:${word}`, { of: other, direct: true });
    expect(refused.title).toContain('shared place');
    expect(say(`/setup link word:${word}`, { of: other, place: room }).outcome).toBe('answered');
  });

  it('asks before it leaves records behind, and says what they are', () => {
    say('/family name model:"Tarn 8" as:budget-port-on-board', { of: other, place: room });
    say('/prices add what:"Tarn 8" price:100', { of: other, place: room });
    const word = wordIn(say('/setup link', { of: tin.collective, place: server }));
    const asked = say(`/setup link word:${word}`, { of: other, place: room });
    expect(asked.title).toBe('Join Tin Shed, and leave 1 price of Back Room behind?');
    expect(collectiveOf(room)).toBe(other.id);
    expect(wordsOf({ ...asked, choices: [] })).not.toContain(word);
    const token = asked.choices[0]?.token ?? 'none';
    const joined = say({ token }, { of: other, place: room });
    expect(joined.title).toContain('Tin Shed');
    expect(wordsOf(joined)).toContain('Left behind with Back Room: 1 price');
    expect(collectiveOf(room)).toBe(tin.collective.id);
  });

  it('uses the word up where the place belongs to that collective already', () => {
    const word = wordIn(say('/setup link', { of: tin.collective, place: server }));
    expect(say(`/setup link word:${word}`, { of: tin.collective, place: server }).outcome).toBe('answered');
    expect(say(`/setup link word:${word}`, { of: other, place: room }).outcome).toBe('refused');
  });

  it('tells which collective a word is of, for a place that has none yet', () => {
    const word = wordIn(say('/setup link', { of: tin.collective, place: server }));
    const at = (minutes: number) => new Date(tin.now.getTime() + minutes * 60_000);
    expect(tin.database.linkedBy(word, at(14))).toEqual({ id: tin.collective.id, name: 'Tin Shed' });
    expect(tin.database.linkedBy(word, at(15))).toBeNull();
    const fresh = { platform: 'matrix', id: '!new:example.org' };
    expect(say(`/setup link word:${word}`, { of: tin.collective, place: fresh }).outcome).toBe('answered');
    expect(collectiveOf(fresh)).toBe(tin.collective.id);
  });
});
