import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import { reply } from '../plain-reply.ts';
import type { Seen } from './people.ts';
import { absent, openScene, type Scene } from './scene.ts';

describe.skipIf(absent)('rooms', () => {
  let scene: Scene;
  beforeAll(async () => {
    // The test server is not on the list; some people are, once they have ids.
    scene = await openScene();
  });
  afterAll(() => scene?.end());

  const left = (room: string) => (seen: Seen) =>
    seen.room === room &&
    seen.type === 'm.room.member' &&
    seen.state_key === scene.bot.surface.id &&
    seen.content.membership === 'leave';

  const upgrade = async (room: string): Promise<string> => {
    const path = `/_matrix/client/v3/rooms/${encodeURIComponent(room)}/upgrade`;
    const made: unknown = await scene.ines.client.doRequest('POST', path, null, { new_version: '12' });
    return z.object({ replacement_room: z.string() }).parse(made).replacement_room;
  };

  it('are entered by allow-list, and declined with the reason', async () => {
    const { ines, moss, bot } = scene;
    const settings = {
      homeserver: scene.url,
      token: scene.botAccount.token,
      prefix: '!th',
      stewardLevel: 50,
      recoveryKey: null,
      adminRoom: null,
    };
    await bot.stop();
    await bot.start({ settings: { ...settings, allow: [ines.id, 'other.test'] } });
    const declined = await moss.client.createRoom({ name: 'Moss alone', invite: [bot.surface.id] });
    const leave = await moss.sees(left(declined), 'a refusal');
    expect(leave.content.reason).toContain('allowed');
    expect(leave.content.reason).toContain(moss.id);
    const taken = await ines.client.createRoom({ name: 'Ines', invite: [bot.surface.id] });
    await scene.hears(ines, taken, 'Thirdhand is here');
    await bot.stop();
    await bot.start({ settings: { ...settings, allow: null } });
  });

  it('are heard from the join on: nothing older is answered', async () => {
    const { ines, bot } = scene;
    const room = await ines.client.createRoom({ name: 'Old Words' });
    const old = await ines.say(room, '!th caution');
    await ines.client.inviteUser(bot.surface.id, room);
    await scene.hears(ines, room, 'Thirdhand is here');
    expect((await scene.ask(ines, room, '!th setup')).content.body).toContain('Old Words');
    expect(scene.answersTo(ines, old)).toEqual([]);
    // The same after it was away from the room.
    await ines.client.kickUser(bot.surface.id, room, 'for a moment');
    const meanwhile = await ines.say(room, '!th caution');
    await ines.client.inviteUser(bot.surface.id, room);
    await ines.sees(
      (seen) =>
        seen.type === 'm.room.member' &&
        seen.state_key === bot.surface.id &&
        seen.content.membership === 'join' &&
        seen.room === room,
      'the bot coming back',
      ines.seen.findIndex((seen) => seen.event_id === meanwhile),
    );
    // It belongs to its collective as before.
    expect((await scene.ask(ines, room, '!th family list')).content.body).not.toMatch(/^✗/);
    expect(scene.answersTo(ines, meanwhile)).toEqual([]);
  });

  it('that are upgraded are followed, and keep what was set', async () => {
    const { ines, bot } = scene;
    const room = await ines.client.createRoom({
      name: 'Upgraded',
      invite: [bot.surface.id],
      room_version: '10',
    });
    await scene.hears(ines, room, 'Thirdhand is here');
    await scene.ask(ines, room, '!th setup rate:33');
    const { channelBindings } = bot.database;
    const before = channelBindings.bindingOf('matrix', room);
    channelBindings.setWeekly('matrix', room, true);
    const collective = bot.database.collectives.find(before?.collective ?? 0);
    const weeks = collective ? bot.database.of(collective).weeks : null;
    weeks?.sending('2026-W20', `matrix:${room}`, '{}', new Date());
    weeks?.sent('2026-W20', `matrix:${room}`, '$before', new Date());
    const fresh = await upgrade(room);
    // Public rooms need no invite; this one is by invite only.
    await ines.client.inviteUser(bot.surface.id, fresh);
    await scene.hears(ines, fresh, 'Thirdhand is here');
    expect((await scene.ask(ines, fresh, '!th setup')).content.body).toContain('33.00');
    expect(channelBindings.bindingOf('matrix', fresh)).toMatchObject({
      collective: before?.collective,
      weekly: true,
    });
    expect(channelBindings.bindingOf('matrix', room)).toBeNull();
    // What was posted before is not posted again, and no edit is tried on what stands in the other room.
    expect(weeks?.newest(`matrix:${fresh}`)).toBe('2026-W20');
    await scene.staysSilent(ines, fresh, () =>
      bot.surface.posterFor(fresh).edit('$before', reply({ title: 'Put right' })),
    );
    // From version 12 on whoever made the room is a steward, though no list of powers names them.
    expect((await scene.ask(ines, fresh, '!th setup rate:34')).content.body).toContain('Changed');

    const open = await ines.client.createRoom({
      name: 'Open',
      preset: 'public_chat',
      invite: [bot.surface.id],
    });
    await scene.hears(ines, open, 'Thirdhand is here');
    await scene.ask(ines, open, '!th setup rate:35');
    const next = await upgrade(open);
    expect((await scene.ask(ines, next, '!th setup')).content.body).toContain('35.00');
  });

  it('that only say they follow another take nothing over', async () => {
    const { ines, moss, bot } = scene;
    const room = await moss.client.createRoom({
      name: 'Usurper',
      invite: [bot.surface.id],
      creation_content: { predecessor: { room_id: scene.room, event_id: '$none' } },
    });
    await scene.hears(moss, room, 'A steward sets this room up');
    expect(bot.database.channelBindings.bindingOf('matrix', room)).toBeNull();
    expect(bot.database.channelBindings.bindingOf('matrix', scene.room)).not.toBeNull();
    expect((await scene.ask(ines, scene.room, '!th family list')).content.body).not.toMatch(/^✗/);
  });

  it('where it may not speak: a steward is told in the direct room, and nothing is done', async () => {
    const { ines, moss, bot } = scene;
    const room = await ines.client.createRoom({ name: 'Quiet', invite: [bot.surface.id, moss.id] });
    await moss.joinsInvite((invited) => invited === room);
    await scene.hears(ines, room, 'Thirdhand is here');
    await scene.ask(ines, room, '!th setup currency:AUD');
    await ines.client.setUserPowerLevel(bot.surface.id, room, -1);
    await moss.say(room, '!th family name model:"Tarn 8" as:budget-port-on-board');
    const direct = await ines.joinsInvite();
    const told = await ines.sees(
      (seen) => seen.room === direct && seen.sender === bot.surface.id && seen.type === 'm.room.message',
      'a word',
    );
    expect(told.content.body).toContain('I may not speak in Quiet');
    await ines.client.setUserPowerLevel(bot.surface.id, room, 0);
    // What was said meanwhile was not carried out.
    const listed = await scene.ask(ines, room, '!th worth "Tarn 8" price:5');
    expect(listed.content.body).toContain('How does Tarn 8 open?');
  });
});
