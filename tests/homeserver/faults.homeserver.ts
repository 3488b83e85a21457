import { setTimeout as pause } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { WrongSetting } from '../../src/environment/program-settings.ts';
import { checkMatrix } from '../../src/surfaces/matrix/check.ts';
import { startMatrix } from '../../src/surfaces/matrix/start.ts';
import { startBot } from './bot.ts';
import { personOf, until } from './people.ts';
import { type BreakingProxy, openProxy } from './proxy.ts';
import { absent, homeserver, openScene, type Scene } from './scene.ts';
import { accountsOf, type Homeserver, openSynapse } from './synapse.ts';

describe.skipIf(absent)('a homeserver of its own', () => {
  let own: Homeserver & { secret: string };
  let proxy: BreakingProxy;
  let scene: Scene;
  beforeAll(async () => {
    own = await openSynapse();
    proxy = await openProxy(own.url);
    scene = await openScene({}, {}, own, proxy.url);
  });
  afterAll(async () => {
    await scene?.end();
    await proxy?.close();
    await own?.close();
  });

  it('may be killed and started again under the bot, in the middle of an answer', async () => {
    const { ines, room, bot, ask, answerTo } = scene;
    const asked = await ines.say(room, '!th worth "Orrin K3" price:20');
    await own.kill();
    await pause(4000);
    await own.start();
    // Whether it had been answered before or not: it is answered once, and the bot goes on by itself.
    expect((await answerTo(ines, room, asked)).content.body).toContain('Orrin K3');
    expect((await ask(ines, room, '!th worth "Orrin K3" price:21')).content.body).toContain('Orrin K3');
    expect(scene.answersTo(ines, asked)).toHaveLength(1);
    expect(bot.logged.filter((line) => line.includes('cannot be reached'))).toHaveLength(1);
    expect(bot.logged.filter((line) => line.includes('is back'))).toHaveLength(1);
  });

  it('may ask for patience: M_LIMIT_EXCEEDED is waited out, and nothing is lost or said twice', async () => {
    const { ines, room, bot, accounts } = scene;
    const admin = await accounts.registerAdmin('warden');
    await accounts.post(
      `/_synapse/admin/v1/users/${encodeURIComponent(bot.surface.id)}/override_ratelimit`,
      { messages_per_second: 1, burst_count: 1 },
      admin.token,
    );
    const before = proxy.log.length;
    const asked: string[] = [];
    for (let number = 1; number <= 4; number += 1)
      asked.push(await ines.say(room, `!th worth "Orrin K3" price:${number}`));
    for (const event of asked) await scene.answerTo(ines, room, event);
    // Choices come after answers: with little room to speak, numbers must do.
    const trace = await scene.ask(ines, room, '!th trace "no charge" model:"Orrin K3"');
    expect((await scene.ask(ines, room, '1')).content.body).toContain('Trace');
    expect(trace.content.body).toContain('Answer with a reaction or a number');
    for (const event of asked) expect(scene.answersTo(ines, event)).toHaveLength(1);
    // It did ask: the same transaction came to it more than once.
    const sent = proxy.log.slice(before).filter((line) => line.includes('/send/m.room.message/'));
    expect(new Set(sent).size).toBeLessThan(sent.length);
    expect(bot.logged.filter((line) => line.includes('LIMIT'))).toEqual([]);
  });
});

describe.skipIf(absent)('a connection that breaks', () => {
  let scene: Scene;
  let proxy: BreakingProxy;
  beforeAll(async () => {
    if (!homeserver) return;
    proxy = await openProxy(homeserver.url);
    scene = await openScene({}, {}, homeserver, proxy.url);
  });
  afterAll(async () => {
    await scene?.end();
    await proxy?.close();
  });

  it.each(['before', 'after', 502] as const)('is tried again, and nothing is said twice: %s', async (how) => {
    const { ines, room, ask, answerTo } = scene;
    const path = /\/send\/m\.room\.message\//;
    const puts = () => proxy.log.filter((line) => line.startsWith('PUT') && path.test(line)).length;
    const before = puts();
    proxy.break({ method: 'PUT', path, how, times: 2 });
    const asked = await ines.say(room, '!th worth "Orrin K3" price:20');
    await answerTo(ines, room, asked);
    // Twice broken, and then whole: what could be said twice has been.
    await until(
      () => (puts() >= before + 3 ? true : undefined),
      () => 'the third try',
    );
    await ask(ines, room, '!th worth "Orrin K3" price:21');
    expect(scene.answersTo(ines, asked)).toHaveLength(1);
  });

  it('does not lose what a sync brought', async () => {
    const { ines, room, answerTo } = scene;
    proxy.break({ method: 'GET', path: /\/sync$/, how: 'after', times: 2 });
    const asked = await ines.say(room, '!th worth "Orrin K3" price:20');
    await answerTo(ines, room, asked);
    expect(scene.answersTo(ines, asked)).toHaveLength(1);
  });

  it('does not carry private words to a third who comes in while they are on their way', async () => {
    const { room, ines, bot } = scene;
    const bram = await scene.person('bram');
    const wren = await scene.person('wren');
    await ines.client.inviteUser(bram.id, room);
    await bram.joinsInvite();
    const direct = await bram.client.createRoom({ is_direct: true, invite: [bot.surface.id] });
    await scene.hears(bram, direct, 'Thirdhand is here');
    expect((await scene.ask(bram, direct, 'note add "mine alone"')).content.body).toMatch(/^✓/);
    proxy.break({ method: 'PUT', path: /\/send\/m\.room\.message\//, how: 'before', times: 1000 });
    const before = proxy.log.filter((line) => line.includes('/send/m.room.message/')).length;
    await bram.say(direct, 'note list');
    await until(
      () =>
        proxy.log.filter((line) => line.includes('/send/m.room.message/')).length > before ? true : undefined,
      () => 'the answer on its way',
    );
    await bram.client.inviteUser(wren.id, direct);
    proxy.mend();
    const fresh = await bram.joinsInvite((invited) => invited !== room);
    await scene.hears(bram, fresh, 'mine alone');
    await scene.hears(bram, direct, 'in our direct room');
    await wren.joinsInvite();
    expect(
      bram.seen.filter((seen) => seen.room === direct).map(({ content }) => content.body),
    ).not.toContainEqual(expect.stringMatching(/▸.*mine alone/s));
  });

  it('does not keep it out of a room whose server needs a moment to know of the invite', async () => {
    const { ines, bot } = scene;
    proxy.break({ method: 'POST', path: /\/join\//, how: 404, times: 2 });
    const room = await ines.client.createRoom({ name: 'Far Away', invite: [bot.surface.id] });
    await scene.hears(ines, room, 'Thirdhand is here');
  });

  it('tells in the room where no direct room can be had', async () => {
    const { room } = scene;
    const bram = await scene.person('bram');
    await scene.ines.client.inviteUser(bram.id, room);
    await bram.joinsInvite();
    proxy.break({ method: 'POST', path: /\/createRoom$/, how: 403, times: 1 });
    const told = await scene.ask(bram, room, '!th help');
    expect(told.content.body).toContain('I cannot open a direct room with you');
    expect(JSON.stringify(told)).not.toContain('What you can say');
  });
});

describe.skipIf(absent)('a token', () => {
  it('that is not accepted stops the start with one clear line, without the token in it', async () => {
    if (!homeserver) return;
    const token = 'syt_bm90aGluZw_notATokenAtAll_0abcde';
    const started = startBot(homeserver.url, { id: '@nobody:shed.test', token, device: 'X' });
    await expect(started).rejects.toThrow(WrongSetting);
    await expect(started).rejects.toThrow(/^MATRIX_TOKEN: http:\/\/127\.0\.0\.1:\d+ does not accept it/);
    await expect(started).rejects.not.toThrow(token);
    const settings = {
      homeserver: homeserver.url,
      token,
      allow: null,
      prefix: '!th',
      stewardLevel: 50,
      recoveryKey: null,
      adminRoom: null,
    };
    const checked = await checkMatrix(settings);
    expect(checked.sound).toBe(false);
    expect(checked.lines.join('\n')).toContain('does not accept it');
    expect(checked.lines.join('\n')).not.toContain(token);
    expect(typeof startMatrix).toBe('function');
  });

  it('that runs out ends the surface with the same line', async () => {
    const scene = await openScene();
    const { bot, botAccount, url } = scene;
    await fetch(`${url}/_matrix/client/v3/logout`, {
      method: 'POST',
      headers: { authorization: `Bearer ${botAccount.token}` },
    });
    await scene.ines.say(scene.room, '!th caution');
    expect(await bot.surface.ended).toMatch(/^MATRIX_TOKEN: .* does not accept it/);
    expect(bot.logged.join('\n')).toContain('does not accept it');
    expect(bot.logged.join('\n')).not.toContain(botAccount.token);
    await scene.end();
  });

  it('that is good is told of by the check, with whether encryption works', async () => {
    if (!homeserver) return;
    const account = await accountsOf(homeserver.url, homeserver.secret).register('checked');
    const settings = {
      homeserver: homeserver.url,
      token: account.token,
      allow: null,
      prefix: '!th',
      stewardLevel: 50,
      recoveryKey: null,
      adminRoom: null,
    };
    const { sound, lines } = await checkMatrix(settings);
    expect(sound).toBe(true);
    expect(lines[0]).toContain(account.id);
    expect(lines.join('\n')).toMatch(/encrypted rooms will work|is cross-signed|encrypted rooms work/);
    const away = await checkMatrix({ ...settings, homeserver: 'http://127.0.0.1:2' });
    expect(away.sound).toBe(false);
    expect(away.lines[0]).toContain('ECONNREFUSED');
    const person = await personOf(homeserver.url, account);
    person.stop();
  });
});
