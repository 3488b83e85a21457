import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { z } from 'zod';
import type { Person, Seen } from './people.ts';
import { absent, openScene, type Scene } from './scene.ts';

const directs = z.record(z.string(), z.array(z.string()));

describe.skipIf(absent)('private answers', () => {
  let scene: Scene;
  /** Someone new in the workshop, with no direct room yet. */
  let bram: Person;
  beforeAll(async () => {
    scene = await openScene();
  });
  beforeEach(async () => {
    bram = await scene.person('bram');
    await scene.ines.client.inviteUser(bram.id, scene.room);
    await bram.joinsInvite((room) => room === scene.room);
  });
  afterAll(() => scene?.end());

  const said = (words: string) => (seen: Seen) =>
    seen.sender === scene.bot.surface.id && (seen.content.body ?? '').includes(words);

  const markedFor = async (person: string): Promise<string[]> => {
    const { url, botAccount } = scene;
    const path = `/_matrix/client/v3/user/${encodeURIComponent(botAccount.id)}/account_data/m.direct`;
    const response = await fetch(`${url}${path}`, {
      headers: { authorization: `Bearer ${botAccount.token}` },
    });
    return directs.parse(await response.json())[person] ?? [];
  };
  /** A direct room as a client makes one. */
  const ownRoom = async (who: Person): Promise<string> => {
    const room = await who.client.createRoom({
      is_direct: true,
      invite: [scene.bot.surface.id],
      preset: 'trusted_private_chat',
    });
    await scene.hears(who, room, 'Thirdhand is here');
    return room;
  };

  it('go to a direct room, which is made where there is none, with a word in the room', async () => {
    const { room, ask } = scene;
    const told = await ask(bram, room, '!th help');
    expect(told.content.body).toContain('I answered you in our direct room');
    const direct = await bram.joinsInvite();
    expect(await markedFor(bram.id)).toEqual([direct]);
    // It stands there from before the invite was taken.
    const help = await bram.sees(
      (seen) => seen.room === direct && said('What you can say')(seen),
      'the help',
    );
    expect(help.content.msgtype).toBe('m.notice');
    expect(help.content.body).toContain('!th room');
    const again = await bram.say(room, '!th help trace');
    await scene.answerTo(bram, room, again);
    await bram.sees((seen) => seen.room === direct && said('trace')(seen), 'more help');
    expect(await markedFor(bram.id)).toEqual([direct]);
    // Commands need no prefix there.
    const bare = await scene.ask(bram, direct, 'worth "Orrin K3" price:20');
    expect(bare.content.body).toContain('Orrin K3');
    expect((await scene.ask(bram, direct, '/caution')).content.body).toContain('caution');
  });

  it('use the direct room that a person made', async () => {
    const direct = await ownRoom(bram);
    expect(await markedFor(bram.id)).toEqual([direct]);
    await scene.ask(bram, scene.room, '!th help');
    await bram.sees((seen) => seen.room === direct && said('What you can say')(seen), 'the help');
    expect(bram.invites).toHaveLength(1);
  });

  it('keep notes: private there, refused and taken away in a shared room, and never repeated', async () => {
    const direct = await ownRoom(bram);
    const kept = await scene.ask(bram, direct, 'note add "the screw is from the second tray"');
    expect(kept.content.body).toMatch(/^✓/);
    expect((await scene.ask(bram, direct, 'note list')).content.body).toContain('second tray');

    const secret = 'Ines owes 40';
    const event = await bram.say(scene.room, `!th note add "${secret}"`);
    const refused = await scene.answerTo(bram, scene.room, event);
    expect(refused.content.body).toContain('direct room only');
    expect(refused.content.body).toContain('take your message away');
    expect(JSON.stringify(refused)).not.toContain(secret);

    // With the power to redact, it takes the message away itself.
    await scene.ines.client.setUserPowerLevel(scene.bot.surface.id, scene.room, 50);
    const second = await bram.say(scene.room, `!th note add "${secret}"`);
    expect((await scene.answerTo(bram, scene.room, second)).content.body).toContain(
      'taken your message away',
    );
    const raw: unknown = await scene.ines.client.getRawEvent(scene.room, second);
    expect(JSON.stringify(raw)).not.toContain(secret);
    await scene.ines.client.setUserPowerLevel(scene.bot.surface.id, scene.room, 0);
    expect(scene.bot.logged.join()).not.toContain(secret);
    // A slip of the finger is no way round it.
    const slip = await bram.say(scene.room, `!th noet add "${secret}"`);
    expect(JSON.stringify(await scene.answerTo(bram, scene.room, slip))).not.toContain(secret);
  });

  it('are not said where a third has come in', async () => {
    const direct = await ownRoom(bram);
    expect((await scene.ask(bram, direct, 'note add "mine alone"')).content.body).toMatch(/^✓/);
    const wren = await scene.person('wren');
    await bram.client.inviteUser(wren.id, direct);
    // Invited is enough: who has been asked in may read.
    const refused = await scene.ask(bram, direct, 'note list');
    expect(refused.content.body).toContain('Somebody else is in this room');
    expect(JSON.stringify(refused)).not.toContain('mine alone');
    const fresh = await bram.joinsInvite((room) => room !== direct);
    expect(await markedFor(bram.id)).toEqual([fresh, direct]);
    expect((await scene.ask(bram, fresh, 'note list')).content.body).toContain('mine alone');

    await wren.joinsInvite();
    const secret = await bram.say(direct, 'note add "not for Wren"');
    expect((await scene.answerTo(bram, direct, secret)).content.body).toContain('Somebody else');
    // Answers from the workshop go to the room that is still private.
    await scene.ask(bram, scene.room, '!th help');
    const help = await bram.sees(said('What you can say'), 'the help');
    expect(help.room).toBe(fresh);
    expect(wren.seen.filter(said('What you can say'))).toEqual([]);
  });

  it('are not said to a third who comes in to the room that the bot made: they see nothing from before', async () => {
    await scene.ask(bram, scene.room, '!th help');
    const direct = await bram.joinsInvite();
    const wren = await scene.person('wren');
    await expect(bram.client.inviteUser(wren.id, direct)).rejects.toThrow(/M_FORBIDDEN/);
  });

  it('ask which collective a direct room is for, where there are two', async () => {
    const { ines, bot } = scene;
    const room = await ines.client.createRoom({ name: 'Second Bench', invite: [bot.surface.id, bram.id] });
    await bram.joinsInvite((invited) => invited === room);
    await scene.hears(ines, room, 'Thirdhand is here');
    await scene.ask(ines, room, '!th setup currency:EUR');
    const direct = await ownRoom(bram);
    const asked = await scene.ask(bram, direct, 'setup');
    expect(asked.content.body).toContain('Which collective is this about?');
    const number = /^(\d+) {2}Second Bench$/m.exec(asked.content.body ?? '')?.[1] ?? '';
    expect((await scene.ask(bram, direct, number)).content.body).toContain('go to Second Bench now');
    expect((await scene.ask(bram, direct, 'setup')).content.body).toContain('EUR');
    // It can be chosen anew, and lasts over a restart.
    await bot.restart();
    const again = await scene.ask(bram, direct, 'home');
    const other = number === '1' ? '2️⃣' : '1️⃣';
    await bram.react(direct, again.event_id, other);
    await scene.answerTo(bram, direct, again.event_id);
    expect((await scene.ask(bram, direct, 'setup')).content.body).toContain('AUD');
  });

  it('are for members: who has left the workshop sees nothing of it', async () => {
    const direct = await ownRoom(bram);
    expect((await scene.ask(bram, direct, 'prices')).content.body).not.toMatch(/^✗/);
    await bram.client.leaveRoom(scene.room);
    expect((await scene.ask(bram, direct, 'prices')).content.body).toContain('do not know you from any room');
    const stranger = await scene.person('stranger');
    const theirs = await ownRoom(stranger);
    expect((await scene.ask(stranger, theirs, 'family list')).content.body).toContain('do not know you');
  });

  it('are for stewards as the rooms say, also in a direct room', async () => {
    const mine = await ownRoom(bram);
    expect((await scene.ask(bram, mine, 'setup rate:31')).content.body).toContain('Only a steward');
    const theirs = await ownRoom(scene.ines);
    // She is in two workshops by now.
    await scene.ask(scene.ines, theirs, 'home');
    await scene.ask(scene.ines, theirs, '1');
    expect((await scene.ask(scene.ines, theirs, 'setup rate:31')).content.body).toContain('Changed: rate');
  });
});
