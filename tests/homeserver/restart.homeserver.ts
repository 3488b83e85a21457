import { setTimeout as pause } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { until } from './people.ts';
import { type BreakingProxy, openProxy } from './proxy.ts';
import { absent, homeserver, openScene, type Scene } from './scene.ts';

describe.skipIf(absent)('what happens while the bot is down', () => {
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

  it('is answered once when it is back, in the middle of a trace', async () => {
    const { ines, moss, room, bot, ask, answerTo } = scene;
    const asked = await ask(ines, room, '!th trace "no charge" model:"Orrin K3"');
    const trace = /Trace \d+/.exec(asked.content.body ?? '')?.[0] ?? 'none';
    await bot.stop();
    await ines.react(room, asked.event_id, '1️⃣');
    const worth = await moss.say(room, '!th worth "Orrin K3" price:20');
    const notice = await moss.say(room, '!th caution', { msgtype: 'm.notice' });
    await bot.start();
    expect((await answerTo(ines, room, asked.event_id)).content.body).toContain(trace);
    expect((await answerTo(ines, room, worth)).content.body).toContain('Orrin K3');
    await bot.restart();
    await bot.restart();
    await pause(1000);
    expect(
      scene.answersTo(ines, asked.event_id).filter(({ type }) => type === 'm.room.message'),
    ).toHaveLength(1);
    expect(scene.answersTo(ines, worth)).toHaveLength(1);
    expect(scene.answersTo(ines, notice)).toEqual([]);
  });

  it('is answered though much was said after it', async () => {
    const { ines, moss, room, bot, answerTo } = scene;
    await bot.stop();
    const early = await ines.say(room, '!th worth "Orrin K3" price:21');
    // More than a sync brings: it must be looked up.
    for (let batch = 0; batch < 26; batch += 1)
      await Promise.all([1, 2, 3, 4, 5].map((number) => moss.say(room, `talk ${batch} ${number}`)));
    await bot.start();
    expect((await answerTo(ines, room, early)).content.body).toContain('Orrin K3');
  });

  it('is answered with a word about how late that is', async () => {
    const { ines, room, bot, answerTo, ask } = scene;
    const first = await ask(ines, room, '!th caution');
    expect(first.content.body).not.toContain('reached me');
    await bot.stop();
    const asked = await ines.say(room, '!th caution');
    await pause(700);
    await bot.start({ lateAfterMs: 500 });
    expect((await answerTo(ines, room, asked)).content.body).toMatch(/That reached me \d+ min late\.$/);
    await bot.restart();
  });

  it('and is answered once where it was killed between deciding and answering, or before it noted the answer', async () => {
    const { ines, room, bot, answerTo } = scene;
    for (const how of ['before', 'after'] as const) {
      // No answer gets out, or it does and the bot does not learn so; then it is stopped for good.
      const path = /\/send\/m\.room\.message\//;
      const puts = () => proxy.log.filter((line) => line.startsWith('PUT') && path.test(line)).length;
      const sent = puts();
      proxy.break({ method: 'PUT', path, how, times: 1000 });
      const asked = await ines.say(room, `!th prices add "Orrin K3" price:${how === 'before' ? 111 : 222}`);
      await until(
        () => (puts() > sent ? true : undefined),
        () => 'the answer on its way',
      );
      await pause(300);
      await bot.stop();
      proxy.mend();
      await bot.start();
      await answerTo(ines, room, asked);
      await pause(1000);
      expect(scene.answersTo(ines, asked).filter(({ type }) => type === 'm.room.message')).toHaveLength(1);
    }
    const collective = bot.database.collectives.list()[0];
    const prices = collective ? bot.database.of(collective).sightings.list({}) : [];
    expect(prices.filter(({ price }) => [11_100, 22_200].includes(price.minor))).toHaveLength(2);
  });
});

describe.skipIf(absent)('the very first start', () => {
  it('answers nothing that was said in the rooms of its account before', async () => {
    const scene = await openScene();
    const { ines, room, bot } = scene;
    const old = await ines.say(room, '!th caution');
    await scene.answerTo(ines, room, old);
    await bot.stop();
    const missed = await ines.say(room, '!th caution');
    // The same account, with an empty store: as after a move without its data.
    const { openDatabase } = await import('../../shared/store/index.ts');
    const { testSealer } = await import('../sealer.ts');
    await bot.start({ database: openDatabase(':memory:', testSealer) });
    await pause(1000);
    expect(scene.answersTo(ines, missed)).toEqual([]);
    expect(scene.answersTo(ines, old)).toHaveLength(1);
    await scene.end();
  });
});
