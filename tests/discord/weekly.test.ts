import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { nonceOf } from '../../src/surfaces/discord/poster.ts';
import { facts, type Reply, reply, text } from '../plain-reply.ts';
import { PNG, type Stage, stage, titleOf, wordsOn } from './bot.ts';
import type { Fault } from './loopback/server.ts';
import { type Message, rights } from './loopback/world.ts';

let on: Stage;
beforeEach(async () => {
  on = await stage();
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
});

const KEY = 'collective 1 week 2026-W09';
const post = (title = 'Week 9'): Reply =>
  reply({
    title,
    blocks: [facts([['Restored', '3']])],
    files: [{ name: 'week.png', mime: 'image/png', alt: 'Three restored.', draw: { kind: 'w', data: null } }],
  });
const choose = () => on.ines.use('server', 'weekly', {});
const poster = () => on.bot.posterFor(on.channel.id);
const sends = () => on.loopback.requests('POST', new RegExp(`^/channels/${on.channel.id}/messages$`));
const strike = (fault: Fault) => on.loopback.faults.push(fault);
const posts = (): Message[] =>
  on.loopback.world
    .seenIn(on.channel.id)
    .filter((message) => titleOf(message).includes('Week') && message.askedBy === null);
/** What the bot has said to somebody in a direct message of its own. */
const toldTo = (user: Stage['people']['ines']): string[] =>
  on.loopback.world.seenIn(on.loopback.world.directOf(user).id).map(wordsOn);

describe('the channel of the weekly post', () => {
  it('is chosen by a steward, and told', async () => {
    on.loopback.world.shownToAll.add(`${on.server.id} server`);
    const refused = await on.moss.use('server', 'weekly', {});
    expect(refused.ephemeral).toBe(true);
    expect(wordsOn(refused.message)).toContain('for stewards');
    const seen = await choose();
    expect(titleOf(seen.message)).toBe('✓ The channel is set');
    expect(wordsOn(seen.message)).toContain('\\#workshop');
    expect(on.database.channelBindings.weeklyBindings(1).map(({ id }) => id)).toEqual([on.channel.id]);
    const off = await on.ines.use('server', 'weekly', { off: 'yes' });
    expect(wordsOn(off.message)).toContain('not in this server');
    expect(on.database.channelBindings.weeklyBindings(1)).toEqual([]);
  });

  it('says at once which rights are missing there, by the names of Discord’s settings', async () => {
    on.channel.denied = rights.attach | rights.embed;
    await on.restart();
    const seen = await choose();
    expect(titleOf(seen.message)).toBe('▲ The channel is set');
    expect(wordsOn(seen.message)).toContain('I am missing the rights Embed Links and Attach Files');
  });
});

describe('the weekly post', () => {
  beforeEach(choose);

  it('stands in the channel with its picture, pings nobody, and has a nonce that Discord enforces', async () => {
    const id = await poster().post(KEY, post());
    const [message] = posts();
    expect(message?.id).toBe(id);
    expect(message?.attachments).toMatchObject([{ description: 'Three restored.', bytes: PNG }]);
    expect(message?.embeds[0]?.image).toEqual({ url: 'attachment://week.png' });
    expect(sends()[0]?.body).toMatchObject({
      nonce: nonceOf(KEY),
      enforce_nonce: true,
      allowed_mentions: { parse: [] },
    });
  });

  it('is not said again under the same key, also by a bot that was restarted', async () => {
    const first = await poster().post(KEY, post());
    await on.restart();
    expect(await poster().post(KEY, post())).toBe(first);
    expect(await poster().find(KEY)).toBe(first);
    expect(await poster().find('another week')).toBeNull();
    expect(posts()).toHaveLength(1);
  });

  it.each(['cut before', 'cut after'] as const)(
    'stands there once when the socket is %s it is stored',
    async (how) => {
      strike({ method: 'POST', path: /^\/channels\/\d+\/messages$/, do: how });
      await poster().post(KEY, post());
      expect(posts()).toHaveLength(1);
      // After an uncertain send the channel is looked at before it is sent again.
      const about = on.loopback.log.filter(({ path }) => path === `/channels/${on.channel.id}/messages`);
      const looked = about.map(({ method }) => method);
      expect(looked.slice(0, 2)).toEqual(how === 'cut before' ? ['GET', 'GET'] : ['GET', 'POST']);
      expect(sends()).toHaveLength(1);
    },
  );

  it('waits where Discord says so, and tries again where it is out of order', async () => {
    strike({
      method: 'POST',
      path: /^\/channels\/\d+\/messages$/,
      do: {
        status: 429,
        headers: { 'retry-after': '0.2', 'x-ratelimit-scope': 'user', via: '1.1 loopback' },
        body: { message: 'You are being rate limited.', retry_after: 0.2, global: false, code: 0 },
      },
    });
    strike({ method: 'POST', path: /^\/channels\/\d+\/messages$/, do: { status: 502 } });
    await poster().post(KEY, post());
    expect(posts()).toHaveLength(1);
  });

  it('can be put right, and is found after that', async () => {
    const id = await poster().post(KEY, post());
    await poster().edit(id, post('Week 9, put right'));
    expect(posts().map(titleOf)).toEqual(['▸ Week 9, put right']);
    expect(posts()[0]?.attachments).toHaveLength(1);
    expect(await poster().find(KEY)).toBe(id);
  });

  it('that is longer than a message has the rest in a file', async () => {
    const long = reply({
      ...post(),
      blocks: ['one', 'two', 'three'].map((name) => text(`${'word '.repeat(500)}${name}`)),
    });
    await poster().post(KEY, long);
    const [message] = posts();
    expect(message?.attachments.map(({ filename }) => filename)).toEqual(['week.png', 'whole-post.txt']);
    expect(message?.attachments[1]?.bytes.toString()).toMatch(/one[\s\S]*two[\s\S]*three/);
    expect(wordsOn(message ?? null)).toContain('The rest is in the attached file');
    expect(wordsOn(message ?? null)).not.toContain('Page 1');
    // Its mark is still there to be found by.
    expect(await poster().find(KEY)).toBe(message?.id);
  });

  it('that lacks rights is told to who chose the channel, once, in words that say what to change', async () => {
    on.channel.denied = rights.attach;
    await on.restart();
    for (let i = 0; i < 3; i += 1) await expect(poster().post(KEY, post())).rejects.toThrow('Attach Files');
    expect(toldTo(on.people.ines)).toEqual([
      "The weekly post could not be sent. In #workshop I am missing the right Attach Files. In the channel's settings, under Permissions, allow it for my role.",
    ]);
    expect(posts()).toEqual([]);
    // What was put right and breaks again is told again.
    on.channel.denied = 0n;
    await on.restart();
    await poster().post(KEY, post());
    on.channel.denied = rights.attach;
    await on.restart();
    await expect(poster().post('next week', post())).rejects.toThrow('Attach Files');
    expect(toldTo(on.people.ines)).toHaveLength(2);
  });

  it('whose channel is gone is told to the owner when who chose it takes no messages', async () => {
    on.people.ines.closed = true;
    on.loopback.world.channels.delete(on.channel.id);
    for (let i = 0; i < 2; i += 1)
      await expect(poster().post(KEY, post())).rejects.toThrow('not there any more');
    expect(toldTo(on.people.ines)).toEqual([]);
    expect(toldTo(on.loopback.world.user(on.server.owner))).toEqual([
      'The channel of the weekly post is not there any more. Choose another with /server weekly in the server.',
    ]);
  });

  it('that can be told to nobody is told to the log, once', async () => {
    on.people.ines.closed = true;
    on.loopback.world.user(on.server.owner).closed = true;
    on.loopback.world.channels.delete(on.channel.id);
    for (let i = 0; i < 2; i += 1) await expect(poster().post(KEY, post())).rejects.toThrow();
    expect(on.faults.map(({ error }) => String(error))).toEqual([
      'CannotPost: The channel of the weekly post is not there any more. Choose another with /server weekly in the server.',
    ]);
  });
});
