import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { until } from './people.ts';
import { absent, openScene, type Scene } from './scene.ts';

const WORDS = "call Anouk's <blue> line & wait";

let scene: Scene;
const ask = (line: string) => scene.ask(scene.moss, scene.room, `!th ${line}`);
beforeAll(async () => {
  if (absent) return;
  scene = await openScene();
  await ask('job open "Orrin K3" symptoms:dead came:given');
});
afterAll(() => scene?.end());

describe.skipIf(absent)('words that are removed from a job', () => {
  const whole = async (eventId: string): Promise<string> =>
    JSON.stringify(await scene.ines.client.getRawEvent(scene.room, eventId));

  it('go from the messages that show them, which say who removed them; others stay', async () => {
    const logged = await ask(`job log "${WORDS}" job:1`);
    const shown = await ask('job show 1');
    const list = await ask('job list');
    expect(await whole(logged.event_id)).toContain('Anouk');
    const done = await ask('job wipe 1 job:1');
    expect(done.content.body).toContain('put right');
    for (const { event_id } of [logged, shown]) {
      await until(
        () => scene.moss.seen.find((seen) => seen.type === 'm.room.redaction' && seen.redacts === event_id),
        () => 'the redaction',
      );
      const left = await whole(event_id);
      expect(left).not.toContain('Anouk');
      expect(left).toMatch(/removed by moss/);
    }
    expect(await whole(list.event_id)).toContain('Orrin K3');
    expect(scene.bot.database.removals.pending('matrix')).toEqual([]);
    expect(scene.bot.logged).toEqual([]);
  });

  it('go at the next start, once, where the bot was stopped before', async () => {
    const { bot } = scene;
    const logged = await ask(`job log "${WORDS} again" job:1`);
    await bot.stop();
    const [collective] = bot.database.collectives.list();
    if (!collective) throw new Error('no collective');
    const store = bot.database.of(collective);
    const by = { key: `matrix:${scene.moss.id}`, name: 'Moss' };
    bot.database.transaction(() => {
      store.jobs.wipe(1, 2, { by, at: new Date() });
      store.wipeCopies({
        texts: [`${WORDS} again`],
        subject: 'job:1',
        authors: [by.key],
        instead: null,
        removed: { by, steward: false, at: new Date() },
      });
    });
    await bot.start();
    await until(
      () => (bot.database.removals.pending('matrix').length ? undefined : true),
      () => 'nothing left to be put right',
    );
    expect(await whole(logged.event_id)).not.toContain('Anouk');
  });
});

describe.skipIf(absent)('a choice that is old', () => {
  it('shows how it stands now to who takes it', async () => {
    await ask('family name "Orrin K4" as:glued-front-home-sensor');
    const first = await ask('trace start symptoms:dead model:"Orrin K4"');
    await scene.moss.reply(scene.room, first.event_id, '1');
    await scene.hears(scene.moss, scene.room, 'Answer with a reaction or a number', scene.moss.seen.length);
    const old = await scene.moss.reply(scene.room, first.event_id, '1');
    const now = await scene.answerTo(scene.moss, scene.room, old);
    expect(now.content.body).toMatch(/out of date/);
    expect(now.content.body).toMatch(/Answer with a reaction or a number/);
  });
});
