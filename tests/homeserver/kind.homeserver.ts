/** What people do by mistake, or on the way: nothing is lost by it. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { z } from 'zod';
import type { Seen } from './people.ts';
import { absent, openScene, type Scene } from './scene.ts';

describe.skipIf(absent)('a slip', () => {
  let scene: Scene;
  beforeAll(async () => {
    scene = await openScene();
  });
  afterAll(() => scene?.end());

  it('takes nobody’s message away unless it surely was a private command', async () => {
    const { ines, room, bot } = scene;
    await ines.client.setUserPowerLevel(bot.surface.id, room, 50);
    const near = await ines.say(room, '!th node the battery is in the drawer');
    const told = await scene.answerTo(ines, room, near);
    expect(told.content.body).toContain('If you meant !th note');
    expect(told.content.body).not.toContain('drawer');
    const raw: unknown = await ines.client.getRawEvent(room, near);
    expect(JSON.stringify(raw)).toContain('drawer');
    await scene.staysSilent(ines, room, () => ines.say(room, '!th 👍'));
    expect((await scene.ask(ines, room, '!th ?')).content.body).toContain(
      'I answered you in our direct room',
    );
    await ines.client.setUserPowerLevel(bot.surface.id, room, 0);
  });

  it('that was refused is run when the message is edited, by whoever wrote it', async () => {
    const { ines, moss, room } = scene;
    const edit = (who: typeof ines, event: string, body: string) =>
      who.say(room, `* ${body}`, {
        'm.new_content': { msgtype: 'm.text', body },
        'm.relates_to': { rel_type: 'm.replace', event_id: event },
      });
    const slip = await ines.say(room, '!th worth "Orrin K3" prize:20');
    expect((await scene.answerTo(ines, room, slip)).content.body).toMatch(/^✗/);
    await scene.staysSilent(ines, room, () => edit(moss, slip, '!th worth "Orrin K3" price:20'));
    const at = ines.seen.length;
    await edit(ines, slip, '!th worth "Orrin K3" price:20');
    const mended = await ines.sees(
      (seen) => seen.content['m.relates_to']?.['m.in_reply_to']?.event_id === slip,
      'the answer',
      at,
    );
    expect(mended.content.body).toContain('worth up to');
    // It has been answered: another edit is only an edit.
    await scene.staysSilent(ines, room, () => edit(ines, slip, '!th worth "Orrin K3" price:30'));
  });

  it('is not made of several commands: none is run, and that is said', async () => {
    const { ines, room } = scene;
    const told = await scene.ask(ines, room, '!th prices add "Orrin K3" price:77\n!th family list');
    expect(told.content.body).toContain('several commands in one message');
    expect((await scene.ask(ines, room, '!th prices list')).content.body).not.toContain('77.00');
  });

  it('leaves the next missing option to be asked for, also after a tap', async () => {
    const { ines, room } = scene;
    const first = await scene.ask(ines, room, '!th prices add');
    expect(first.content.body).toMatch(/Which/);
    const number = /^(\d+) {2}Orrin K3$/m.exec(first.content.body ?? '')?.[1] ?? '';
    await ines.react(room, first.event_id, `${number}\uFE0F\u20E3`);
    const next = await scene.answerTo(ines, room, first.event_id);
    expect(next.content.body).toContain('Which price?');
    const typed = await ines.reply(room, next.event_id, '131.50');
    expect((await scene.answerTo(ines, room, typed)).content.body).toContain('131.50');
  });

  it('of the place does not hide a mention, nor a file in a thread', async () => {
    const { ines, room, bot } = scene;
    const beside = await ines.say(room, `worth "Orrin K3" price:20, ${bot.surface.id}`, {
      'm.mentions': { user_ids: [bot.surface.id] },
    });
    expect((await scene.answerTo(ines, room, beside)).content.body).toContain('worth up to');
    const file = await ines.client.uploadContent(Buffer.from('a,b\n1,2\n'), 'text/csv', 'prices.csv');
    const root = await ines.say(room, 'Our old prices');
    const inThread = {
      'm.relates_to': {
        rel_type: 'm.thread',
        event_id: root,
        is_falling_back: true,
        'm.in_reply_to': { event_id: root },
      },
    };
    await ines.say(room, 'prices.csv', { msgtype: 'm.file', url: file, ...inThread });
    const asked = await ines.say(room, '!th prices import', inThread);
    expect((await scene.answerTo(ines, room, asked)).content.body).not.toContain('There is no file');
  });

  it('after slip, as of a bot that answers everything, ends in silence', async () => {
    const { ines, moss, room } = scene;
    const told: Seen[] = [];
    for (let n = 0; n < 5; n += 1) told.push(await scene.ask(moss, room, `!th echo ${n}`));
    expect(told.map(({ content }) => (content.body ?? '').includes('I am silent to you'))).toEqual([
      false,
      false,
      false,
      false,
      true,
    ]);
    await scene.staysSilent(ines, room, () => moss.say(room, '!th echo again'));
    // Others are answered as before.
    expect((await scene.ask(ines, room, '!th family list')).content.body).not.toMatch(/^✗/);
  });
});

describe.skipIf(absent)('a room', () => {
  let scene: Scene;
  beforeAll(async () => {
    scene = await openScene();
  });
  afterAll(() => scene?.end());

  it('is told of danger in a message of its own weight, and of the rest in a notice', async () => {
    const { ines, room, ask } = scene;
    expect((await ask(ines, room, '!th caution swollen-cell')).content.msgtype).toBe('m.text');
    expect((await ask(ines, room, '!th family list')).content.msgtype).toBe('m.notice');
  });

  it('has its stewards by the state whose key is empty, and by none that has another', async () => {
    const { ines, moss, room, ask } = scene;
    // Who made the room has all power and is not named (room version 12).
    const powers = { users: { [moss.id]: 100 } };
    await ines.client.sendStateEvent(room, 'm.room.power_levels', 'elsewhere', powers);
    // Said after it by the same person: the bot has seen both.
    await ask(ines, room, '!th family list');
    expect((await ask(moss, room, '!th setup currency:EUR')).content.body).toContain('Only a steward');
    await ines.client.sendStateEvent(room, 'm.room.power_levels', '', powers);
    await ask(ines, room, '!th family list');
    expect((await ask(moss, room, '!th setup margin:20')).content.body).not.toContain('Only a steward');
  });
});

describe.skipIf(absent)('limits', () => {
  let scene: Scene;
  beforeAll(async () => {
    scene = await openScene();
  });
  afterAll(() => scene?.end());
  /** Ines alone is allowed. */
  const settingsWith = (adminRoom: string | null) => ({
    homeserver: scene.url,
    token: scene.botAccount.token,
    allow: [scene.ines.id],
    prefix: '!th',
    stewardLevel: 50,
    recoveryKey: null,
    adminRoom,
  });
  const leftBy = (room: string, who: string) => (seen: Seen) =>
    seen.room === room && seen.state_key === who && seen.content.membership === 'leave';

  it('keep the bot out of spaces, and out of direct rooms that their person has left', async () => {
    const { ines, bot } = scene;
    const space = await ines.client.createRoom({
      name: 'All our rooms',
      creation_content: { type: 'm.space' },
      invite: [bot.surface.id],
    });
    expect((await ines.sees(leftBy(space, bot.surface.id), 'a refusal')).content.reason).toContain('space');
    const direct = await ines.client.createRoom({ is_direct: true, invite: [bot.surface.id] });
    await scene.hears(ines, direct, 'Thirdhand is here');
    await ines.client.leaveRoom(direct);
    const rooms = async (): Promise<string[]> => {
      const headers = { authorization: `Bearer ${scene.botAccount.token}` };
      const answer = await fetch(`${scene.url}/_matrix/client/v3/joined_rooms`, { headers });
      return z.object({ joined_rooms: z.array(z.string()) }).parse(await answer.json()).joined_rooms;
    };
    for (let tries = 0; tries < 400 && (await rooms()).includes(direct); tries += 1)
      await new Promise((resolve) => setTimeout(resolve, 50));
    expect(await rooms()).not.toContain(direct);
  });

  it('of who is allowed hold for those whom others let into a room, too', async () => {
    const { ines, moss, room, bot } = scene;
    await bot.stop();
    await bot.start({ settings: settingsWith(null) });
    expect((await scene.ask(moss, room, '!th family list')).content.body).toContain('has not allowed me');
    await scene.staysSilent(ines, room, () => moss.say(room, '!th family list'));
    expect((await scene.ask(ines, room, '!th family list')).content.body).toContain('Orrin K3');
  });

  it('are told in the admin room, from which rooms are listed and left', async () => {
    const { ines, moss, bot } = scene;
    const admin = await ines.client.createRoom({ name: 'Office', invite: [bot.surface.id] });
    await scene.hears(ines, admin, 'Thirdhand is here');
    await bot.stop();
    await bot.start({ settings: settingsWith(admin) });
    await moss.client.createRoom({ name: 'Not allowed', invite: [bot.surface.id] });
    await scene.hears(ines, admin, `declined an invite by ${moss.id}`);
    const listed = await scene.ask(ines, admin, '!th rooms');
    expect(listed.content.body).toContain(scene.room);
    expect((await scene.ask(ines, admin, `!th leave ${scene.room}`)).content.body).toContain('I have left');
    await ines.sees(leftBy(scene.room, bot.surface.id), 'the bot leave');
  });

  it('of an account without a name and a picture do not last', async () => {
    const response = await fetch(
      `${scene.url}/_matrix/client/v3/profile/${encodeURIComponent(scene.bot.surface.id)}`,
    );
    expect(await response.json()).toMatchObject({
      displayname: 'Thirdhand',
      avatar_url: expect.stringMatching(/^mxc:/),
    });
  });
});
