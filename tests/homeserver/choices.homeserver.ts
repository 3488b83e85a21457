import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { KEYCAPS } from '../../src/surfaces/matrix/address.ts';
import type { Seen } from './people.ts';
import { absent, openScene, type Scene } from './scene.ts';

describe.skipIf(absent)('choices', () => {
  let scene: Scene;
  beforeAll(async () => {
    scene = await openScene();
  });
  afterAll(() => scene?.end());

  const begin = async (symptom = 'no charge'): Promise<Seen> => {
    const asked = await scene.ask(scene.ines, scene.room, `!th trace "${symptom}" model:"Orrin K3"`);
    expect(asked.content.body).toContain('Answer with a reaction or a number');
    return asked;
  };
  const traceOf = (seen: Seen): number => Number(/Trace (\d+)/.exec(seen.content.body ?? '')?.[1]);
  const revisionOf = (seen: Seen) => {
    const { database } = scene.bot;
    const place = database.channelBindings.bindingOf('matrix', scene.room);
    const collective = database.collectives.find(place?.collective ?? 0);
    return collective ? database.of(collective).traces.get(traceOf(seen))?.revision : undefined;
  };

  it('are laid out as reactions, one for each number', async () => {
    const asked = await begin();
    const count = asked.content.body?.match(/^\d+ {2}/gm)?.length ?? 0;
    expect(count).toBeGreaterThan(2);
    const keys: string[] = [];
    // A list that is longer than there are keys is answered by typing the number.
    const laidOut = KEYCAPS.slice(0, count);
    for (const key of laidOut) {
      const laid = await scene.ines.sees(
        (seen) =>
          seen.type === 'm.reaction' &&
          seen.content['m.relates_to']?.event_id === asked.event_id &&
          seen.content['m.relates_to']?.key === key,
        `the reaction ${key}`,
      );
      keys.push(laid.content['m.relates_to']?.key ?? '');
    }
    expect(keys).toEqual(laidOut);
  });

  it('are taken by a reaction', async () => {
    const asked = await begin();
    const before = revisionOf(asked);
    await scene.ines.react(scene.room, asked.event_id, '1️⃣');
    const next = await scene.answerTo(scene.ines, scene.room, asked.event_id);
    expect(traceOf(next)).toBe(traceOf(asked));
    expect(revisionOf(asked)).toBe((before ?? 0) + 1);
  });

  it('are taken by a number: alone, in answer to them, or in their thread', async () => {
    const alone = await begin();
    const first = await scene.ask(scene.ines, scene.room, '1');
    expect(traceOf(first)).toBe(traceOf(alone));

    const answered = await begin();
    const number = await scene.ines.reply(scene.room, answered.event_id, '1');
    const second = await scene.answerTo(scene.ines, scene.room, number);
    expect(traceOf(second)).toBe(traceOf(answered));

    const threaded = await begin();
    const inThread = await scene.ines.inThread(scene.room, threaded.event_id, '1');
    const third = await scene.answerTo(scene.ines, scene.room, inThread);
    expect(traceOf(third)).toBe(traceOf(threaded));
    expect(third.content['m.relates_to']).toMatchObject({
      rel_type: 'm.thread',
      event_id: threaded.event_id,
    });
    // It goes on in that thread, though other choices were offered outside it since.
    await begin();
    const onward = await scene.ines.inThread(scene.room, threaded.event_id, '1');
    expect(traceOf(await scene.answerTo(scene.ines, scene.room, onward))).toBe(traceOf(threaded));
  });

  it('are taken several at once by their numbers in one message', async () => {
    const { ines, room } = scene;
    const answers = 'ownership:shown lock:free stolen:clear';
    const opened = await scene.ask(ines, room, `!th job open "Orrin K3" came:given symptoms:dim ${answers}`);
    const job = /Job (\d+)/.exec(opened.content.body ?? '')?.[1];
    const asked = await scene.ask(ines, room, `!th job test job:${job}`);
    expect(asked.content.body).toContain('several of a kind as 2 4');
    const numbers = ['Fails: display', 'Fails: touch'].map(
      (label) => new RegExp(`^(\\d+) {2}${label}$`, 'm').exec(asked.content.body ?? '')?.[1],
    );
    const answered = await scene.ask(ines, room, numbers.join(' '));
    expect(answered.content.body).toContain('2 failed');
  });

  it('that there are not are refused, and a number of somebody else in the room is talk', async () => {
    const asked = await begin();
    const wrong = await scene.ines.reply(scene.room, asked.event_id, '42');
    expect((await scene.answerTo(scene.ines, scene.room, wrong)).content.body).toContain('no choice 42');
    await scene.staysSilent(scene.ines, scene.room, () => scene.moss.say(scene.room, '1'));
    await scene.staysSilent(scene.ines, scene.room, () => scene.ines.react(scene.room, asked.event_id, '👍'));
  });

  it('that the trace has moved on from are refused with the reason', async () => {
    const asked = await begin();
    await scene.ask(scene.ines, scene.room, '1');
    const before = revisionOf(asked);
    await scene.ines.react(scene.room, asked.event_id, '2️⃣');
    const refused = await scene.hears(scene.ines, scene.room, 'out of date', 0);
    expect(refused.content['m.relates_to']?.['m.in_reply_to']?.event_id).toBe(asked.event_id);
    expect(revisionOf(asked)).toBe(before);
  });

  it('of a trace are for anyone at the bench', async () => {
    const asked = await begin();
    const number = await scene.moss.reply(scene.room, asked.event_id, '1');
    expect(traceOf(await scene.answerTo(scene.moss, scene.room, number))).toBe(traceOf(asked));
  });

  it('still work after a restart', async () => {
    const asked = await begin();
    const also = await begin('dead');
    const root = await scene.ines.say(scene.room, 'This one is on my bench');
    const line = await scene.ines.inThread(scene.room, root, '!th trace "no charge" model:"Orrin K3"');
    const threaded = await scene.answerTo(scene.ines, scene.room, line);
    await scene.bot.restart();
    // In the thread that it was offered in, the number alone will do.
    const inThread = await scene.ines.inThread(scene.room, root, '1');
    const onward = await scene.answerTo(scene.ines, scene.room, inThread);
    expect(traceOf(onward)).toBe(traceOf(threaded));
    expect(onward.content['m.relates_to']).toMatchObject({ rel_type: 'm.thread', event_id: root });
    await scene.ines.react(scene.room, asked.event_id, '1️⃣');
    expect(traceOf(await scene.answerTo(scene.ines, scene.room, asked.event_id))).toBe(traceOf(asked));
    const number = await scene.ines.reply(scene.room, also.event_id, '1');
    expect(traceOf(await scene.answerTo(scene.ines, scene.room, number))).toBe(traceOf(also));
  });

  it('ask for what is missing, and go on from the one that is picked', async () => {
    const { ines, room, ask, answerTo } = scene;
    await ask(ines, room, '!th family name model:"Orrin K4" as:glued-front-home-sensor new-price:800');
    const asked = await ask(ines, room, '!th worth price:20');
    expect(asked.content.body).toContain('Which model or family?');
    const number = /^(\d+) {2}Orrin K4$/m.exec(asked.content.body ?? '')?.[1] ?? '';
    await ines.react(room, asked.event_id, `${number}\uFE0F\u20E3`);
    expect((await answerTo(ines, room, asked.event_id)).content.body).toContain('Orrin K4: ');
  });

  it('ask which was meant where a name is near to several', async () => {
    const { ines, room, ask, answerTo } = scene;
    const asked = await ask(ines, room, '!th worth "Orrin K" price:20');
    expect(asked.content.body).toContain('no model or family is called "Orrin K"');
    expect(asked.content.body).toMatch(/1 {2}Orrin K\d\n2 {2}Orrin K\d/);
    const picked = await ines.reply(room, asked.event_id, '1');
    expect((await answerTo(ines, room, picked)).content.body).toMatch(/Orrin K\d: /);
  });

  it('take a typed value where there is nothing to pick from', async () => {
    const { ines, moss, room, ask, answerTo, staysSilent } = scene;
    const asked = await ask(ines, room, '!th prices add "Orrin K3"');
    expect(asked.content.body).toContain('Which price?');
    // It is her question: what another says is talk.
    await staysSilent(moss, room, () => moss.reply(room, asked.event_id, '99'));
    const typed = await ines.reply(room, asked.event_id, '131.50');
    expect((await answerTo(ines, room, typed)).content.body).toContain('131.50');
    const wrong = await ask(ines, room, '!th prices add "Orrin K3"');
    const words = await ines.reply(room, wrong.event_id, 'cheap');
    expect((await answerTo(ines, room, words)).content.body).toContain('cheap');
  });
});
