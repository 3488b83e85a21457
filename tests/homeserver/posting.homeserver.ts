import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { drawFile } from '../../src/draw/draw-file.ts';
import { reply, text } from '../plain-reply.ts';
import type { Seen } from './people.ts';
import { type BreakingProxy, openProxy } from './proxy.ts';
import { absent, homeserver, openScene, type Scene } from './scene.ts';

/** A picture of one pixel, as PNG. */
const PIXEL = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==',
  'base64',
);
const week = (words: string) =>
  reply({
    title: words,
    blocks: [text('Three phones went back into use.')],
    files: [
      { name: 'week.png', mime: 'image/png', alt: 'Three bars', draw: { kind: 'week-chart', data: {} } },
      { name: 'week.csv', mime: 'text/csv', alt: 'The week as a table', text: 'a,b\n1,2\n' },
    ],
  });

describe.skipIf(absent)('the weekly post', () => {
  let scene: Scene;
  let proxy: BreakingProxy;
  const drawOne = async (file: Parameters<typeof drawFile>[0]) => (file.draw ? PIXEL : drawFile(file));
  beforeAll(async () => {
    if (!homeserver) return;
    proxy = await openProxy(homeserver.url);
    scene = await openScene({}, { drawFile: drawOne }, homeserver, proxy.url);
  });
  afterAll(async () => {
    await scene?.end();
    await proxy?.close();
  });

  const from = (type: string, words: string) => (seen: Seen) =>
    seen.sender === scene.bot.surface.id &&
    seen.content.msgtype === type &&
    (seen.content.body ?? '').includes(words);
  const poster = () => scene.bot.surface.posterFor(scene.room);

  it('goes out with its picture and its file, each with words for what it is', async () => {
    const message = await poster().post('1 2026-W08', week('Week 8'));
    const said = await scene.ines.sees(from('m.notice', 'Week 8'), 'the post');
    expect(said.event_id).toBe(message);
    const picture = await scene.ines.sees(from('m.image', 'Three bars'), 'the picture');
    expect(picture.content).toMatchObject({
      filename: 'week.png',
      info: { w: 1, h: 1, mimetype: 'image/png', size: PIXEL.length },
    });
    const { data } = await scene.ines.client.downloadContent(String(picture.content.url));
    expect(Buffer.from(data).equals(PIXEL)).toBe(true);
    await scene.ines.sees(from('m.file', 'The week as a table'), 'the file');
    expect(await poster().find('1 2026-W08')).toBe(message);
    expect(await poster().find('1 2026-W09')).toBeNull();
    expect(await poster().find('2 2026-W08')).toBeNull();
  });

  it('is not repeated, however often it is posted', async () => {
    const first = await poster().post('1 2026-W10', week('Week 10'));
    await scene.bot.restart();
    expect(await poster().post('1 2026-W10', week('Week 10'))).toBe(first);
    // Nor where the homeserver did it and its answer was lost.
    proxy.break({ method: 'PUT', path: /\/send\/m\.room\.message\//, how: 'after', times: 2 });
    const second = await poster().post('1 2026-W11', week('Week 11'));
    expect(await poster().find('1 2026-W11')).toBe(second);
    expect(scene.ines.seen.filter(from('m.notice', 'Week 10'))).toHaveLength(1);
    await scene.ines.sees(from('m.notice', 'Week 11'), 'the post');
    expect(scene.ines.seen.filter(from('m.notice', 'Week 11'))).toHaveLength(1);
  });

  it('is finished, and not repeated, after the bot was killed in the middle of it', async () => {
    const { bot, ines } = scene;
    await bot.stop();
    await bot.start({ drawFile: () => new Promise(() => {}) });
    const pictures = ines.seen.filter(from('m.image', 'Three bars')).length;
    // It never comes to the picture.
    void poster()
      .post('1 2026-W12', week('Week 12'))
      .catch(() => {});
    await ines.sees(from('m.notice', 'Week 12'), 'the first half');
    expect(await poster().find('1 2026-W12')).toBeNull();
    await bot.stop();
    await bot.start();
    const message = await poster().post('1 2026-W12', week('Week 12'));
    expect(await poster().find('1 2026-W12')).toBe(message);
    expect(ines.seen.filter(from('m.notice', 'Week 12')).map(({ event_id }) => event_id)).toEqual([message]);
    await ines.sees((seen) => from('m.file', 'The week')(seen), 'the file');
    expect(ines.seen.filter(from('m.image', 'Three bars'))).toHaveLength(pictures + 1);
  });

  it('is corrected by an edit of the message', async () => {
    const message = await poster().post('1 2026-W13', week('Week 13'));
    await poster().edit(message, week('Week 13, corrected'));
    const edited = await scene.ines.sees(
      (seen) =>
        seen.content['m.relates_to']?.rel_type === 'm.replace' &&
        seen.content['m.relates_to']?.event_id === message,
      'the edit',
    );
    expect(edited.content['m.new_content']).toMatchObject({
      msgtype: 'm.notice',
      body: expect.stringContaining('Week 13, corrected'),
      'm.mentions': {},
    });
    // It is the post still.
    expect(await poster().find('1 2026-W13')).toBe(message);
  });

  it('goes out without a picture that cannot be drawn, and says so', async () => {
    const { bot, ines } = scene;
    await bot.stop();
    await bot.start({ drawFile: async () => Promise.reject(new Error('no fonts')) });
    await poster().post('1 2026-W14', week('Week 14'));
    await ines.sees(from('m.notice', 'week.png could not be made'), 'a word about it');
    expect(await poster().find('1 2026-W14')).not.toBeNull();
    expect(bot.logged.join()).toContain('no fonts');
  });

  it('goes out without a picture that the homeserver does not take, and says so', async () => {
    const { bot, ines } = scene;
    await bot.stop();
    await bot.start();
    proxy.break({ method: 'POST', path: /\/upload$/, how: 413, times: 1 });
    await poster().post('1 2026-W15', week('Week 15'));
    await ines.sees(from('m.notice', 'week.png could not be put here'), 'a word about it');
    expect(await poster().find('1 2026-W15')).not.toBeNull();
  });

  it('waits where the bot may not speak, and a steward is told, once', async () => {
    const { bot, ines, room } = scene;
    await ines.client.setUserPowerLevel(bot.surface.id, room, -1);
    const post = () => poster().post('1 2026-W16', week('Week 16'));
    await expect(post()).rejects.toThrow('M_FORBIDDEN');
    const direct = await ines.joinsInvite();
    await scene.hears(ines, direct, 'weekly post waits');
    await expect(post()).rejects.toThrow('M_FORBIDDEN');
    await ines.client.setUserPowerLevel(bot.surface.id, room, 0);
    await scene.ask(ines, room, '!th room');
    await post();
    await ines.sees(from('m.notice', 'Week 16'), 'the post');
    expect(
      ines.seen.filter(
        (seen) => seen.room === direct && seen.sender === bot.surface.id && seen.type === 'm.room.message',
      ),
    ).toHaveLength(1);
  });
});
