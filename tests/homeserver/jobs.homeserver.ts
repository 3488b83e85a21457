import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { POST_TAG } from '../../src/surfaces/matrix/speaker.ts';
import { type Seen, until } from './people.ts';
import { type BreakingProxy, openProxy } from './proxy.ts';
import { absent, homeserver, openScene, type Scene } from './scene.ts';

let scene: Scene;
let proxy: BreakingProxy;
const ask = (line: string, who = scene.moss) => scene.ask(who, scene.room, `!th ${line}`);
beforeAll(async () => {
  if (!homeserver) return;
  proxy = await openProxy(homeserver.url);
  scene = await openScene({}, {}, homeserver, proxy.url);
});
afterAll(async () => {
  await scene?.end();
  await proxy?.close();
});

const isCard = (seen: Seen): boolean => seen.content[POST_TAG] !== undefined;
const cards = () => scene.moss.seen.filter(isCard);
const editsOf = (card: string) =>
  scene.moss.seen.filter(
    ({ content }) =>
      content['m.relates_to']?.rel_type === 'm.replace' && content['m.relates_to'].event_id === card,
  );
const bodyOf = (edit: Seen): string => JSON.stringify(edit.content['m.new_content']);
const cardOf = (job: number) =>
  scene.moss.sees((seen) => isCard(seen) && (seen.content.body ?? '').includes(`Job ${job},`), `card ${job}`);
const editSaying = (card: string, words: RegExp) =>
  until(
    () => editsOf(card).find((edit) => words.test(bodyOf(edit))),
    () => `an edit that says ${words}`,
  );
const bench = () => {
  const [collective] = scene.bot.database.collectives.list();
  if (!collective) throw new Error('no collective');
  return scene.bot.database.of(collective);
};
const right = () =>
  until(
    () => (bench().jobPosts.due('matrix').length ? undefined : true),
    () => 'all cards right',
  );

describe.skipIf(absent)('the threads of jobs in a room', () => {
  it('are off until a steward wants them; then a job has one card, edited as it moves', async () => {
    await ask('job open "Orrin K3" symptoms:dead came:given');
    expect((await ask('room jobs')).content.body).toContain('for stewards');
    expect((await ask('room jobs', scene.ines)).content.body).toContain('Each job gets a thread here');
    expect(cards()).toEqual([]);
    await ask('job open "Orrin K3" symptoms:dead came:given');
    const card = await cardOf(2);
    expect(card.content.body?.split('\n')[0]).toContain('Job 2, Orrin K3: at intake');
    // A choice is taken by a number in answer to the card, by anyone.
    const said = await scene.ines.reply(scene.room, card.event_id, '1');
    const answered = await scene.answerTo(scene.ines, scene.room, said);
    expect(answered.content.body).toContain('Job 2');
    await editSaying(card.event_id, /Is it free of an account lock/);
    await ask('job answer lock:free job:2');
    await ask('job answer stolen:clear job:2');
    await editSaying(card.event_id, /on the bench/);
    await ask('job wait for:part note:"Anouk brings it" job:2');
    const waits = await editSaying(card.event_id, /waits for a part/);
    expect(bodyOf(waits)).not.toContain('Anouk');
    await right();
    expect(cards()).toHaveLength(1);
    expect(scene.bot.logged).toEqual([]);
  });

  it('go on after a kill in the middle of an edit, and of the making: nothing lost, nothing twice', async () => {
    const { bot } = scene;
    const card = await cardOf(2);
    const before = editsOf(card.event_id).length;
    await bot.stop();
    const by = { key: 'matrix:nobody', name: 'Wren' };
    bench().jobs.add(2, [{ kind: 'resumed' }], { by, at: new Date() });
    // The homeserver does it, and the bot is gone before it knows.
    proxy.break({ method: 'PUT', path: /\/send\/m\.room\.message\//, how: 'after', times: 1000 });
    await bot.start();
    await until(
      () => editsOf(card.event_id)[before],
      () => 'the edit',
    );
    await bot.stop();
    proxy.mend();
    await bot.start();
    await right();
    expect(editsOf(card.event_id)).toHaveLength(before + 1);
    // A card that is made.
    proxy.break({ method: 'PUT', path: /\/send\/m\.room\.message\//, how: 'after', times: 1000 });
    await scene.moss.say(scene.room, '!th job open "Orrin K3" symptoms:dead came:given');
    await cardOf(3);
    await bot.stop();
    proxy.mend();
    await bot.start();
    await right();
    expect(cards()).toHaveLength(2);
  });

  it('are told of once where a card was taken away, and the job goes on', async () => {
    const card = await cardOf(3);
    await scene.ines.client.redactEvent(scene.room, card.event_id);
    await ask('job answer ownership:shown job:3');
    await scene.hears(scene.moss, scene.room, 'is gone. The job goes on without it');
    await ask('job answer lock:free job:3');
    await right();
    const told = scene.moss.seen.filter(({ content }) => content.body?.includes('is gone. The job goes on'));
    expect(told).toHaveLength(1);
    expect(told[0]?.content.body).toContain('!th room jobs');
  });
});
