/** Words that were removed go from the bot's own messages too; old buttons go when a newer message has taken over. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';

import { notNull, type Stage, stage, until, wordsOn } from './bot.ts';
import type { Seen } from './loopback/person.ts';
import { type Message, rights } from './loopback/world.ts';

const WORDS = 'call Anouk on the *blue* phone_line';

let on: Stage;
beforeEach(async () => {
  on = await stage();
  await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
  await on.moss.use('job', 'open', { model: 'Orrin K3', symptoms: 'dead', came: 'given' });
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
});

const bench = () => on.database.of(notNull(on.database.collectives.list()[0]));
/** The message, once the bot has learnt from Discord which one it is. */
async function noted(seen: Promise<Seen>): Promise<Message> {
  const message = notNull((await seen).message);
  await until(
    () =>
      bench()
        .shown.showing('job:1')
        .some((one) => one.message === message.id),
    'the message is known',
  );
  return message;
}
const log = (text = WORDS) => noted(on.moss.use('job', 'log', { text, job: 1 }));
const show = (who = on.wren) => noted(who.use('job', 'show', { job: 1 }));
/** A page that somebody else turned: theirs alone. */
async function copy(): Promise<Message> {
  await log();
  for (let times = 0; times < 9; times += 1) await log('word '.repeat(95));
  const shown = await show();
  const labels = on.wren.labels(shown);
  if (!labels.includes('Next')) throw new Error(`one page: ${labels.join()}`);
  await on.wren.press(shown, 'Next');
  const turned = await on.moss.press(shown, 'Previous');
  expect(turned.ephemeral).toBe(true);
  return noted(Promise.resolve(turned));
}
const wipe = (who = on.moss) => who.use('job', 'wipe', { entry: 1, job: 1 });
const stored = (message: Message): Message => notNull(on.loopback.world.messages.get(message.id));
const flat = (message: Message): string => wordsOn(stored(message)).replaceAll('\\', '');
const edits = () => on.loopback.requests('PATCH', /^\/channels\/\d+\/messages\/\d+$/);
const pending = () => on.database.removals.pending('discord');

describe('words that are removed from a job', () => {
  it('go from every message that showed them, which says who removed them', async () => {
    const logged = await log();
    const shown = await show();
    const innocent = await noted(on.wren.use('job', 'list', {}));
    expect(flat(logged)).toContain(WORDS);
    const before = flat(innocent);
    const done = await wipe();
    expect(wordsOn(done.message)).toMatch(/messages? of mine in chat may show them/);
    expect(wordsOn(done.message)).toContain('put right');
    for (const message of [logged, shown]) {
      expect(flat(message)).not.toContain('Anouk');
      expect(flat(message)).toContain('[removed by Moss]');
    }
    expect(flat(innocent)).toBe(before);
    expect(pending()).toEqual([]);
    const all = JSON.stringify(
      [...on.loopback.world.messages.values()].map(({ embeds, content }) => [embeds, content]),
    );
    expect(all).not.toContain('Anouk');
  });

  it('go from what was said so long ago that the answers themselves are kept no more', async () => {
    const asked = on.moss.start('job', 'log', { text: WORDS, job: 1 });
    const logged = await noted(on.moss.outcome(asked));
    for (let days = 0; days < 9; days += 1) {
      on.now.at = new Date(on.now.at.getTime() + 24 * 3600_000);
      await on.moss.use('job', 'list', {});
    }
    expect(bench().requests.answered(asked.id)).toBeUndefined();
    await wipe();
    expect(flat(logged)).not.toContain('Anouk');
  });

  it('go from what was shown to one person alone, while Discord lets it be changed', async () => {
    const own = await copy();
    expect(flat(own)).toContain(WORDS);
    await wipe(on.ines);
    expect(flat(own)).not.toContain('Anouk');
    expect(flat(own)).toContain('[removed by Ines, a steward]');
  });

  it('that one person alone was shown are told of where nothing can reach them any more', async () => {
    await copy();
    await on.restart();
    const done = await wipe();
    expect(wordsOn(done.message)).toContain('shown to one person alone and cannot be changed any more');
    expect(pending()).toEqual([]);
  });

  it('where the message is gone or may not be changed: it is said, and tried again at the next start', async () => {
    const logged = await log();
    const shown = await show();
    on.loopback.world.messages.delete(shown.id);
    const elsewhere = on.loopback.world.addChannel(on.server, 'back-room');
    const aside = on.loopback.person(on.people.wren, { channel: elsewhere.id });
    const hidden = await show(aside);
    elsewhere.denied = rights.view;
    const done = await wipe();
    expect(wordsOn(done.message)).toContain('was gone already');
    expect(wordsOn(done.message)).toContain('I lack the rights there');
    expect(flat(logged)).not.toContain('Anouk');
    expect(flat(hidden)).toContain('Anouk');
    elsewhere.denied = 0n;
    await on.restart();
    await expect.poll(() => flat(hidden), { timeout: 20_000 }).not.toContain('Anouk');
    // The words are kept nowhere: all that may show them is taken out of it.
    expect(flat(hidden)).toContain('[removed by Moss]');
    expect(pending()).toEqual([]);
  });

  it('are gone, once, when the bot was killed before its messages were right', async () => {
    const logged = await log();
    on.loopback.faults.push({
      method: 'PATCH',
      path: new RegExp(`/messages/${logged.id}$`),
      times: 40,
      do: 'cut before',
    });
    const done = await wipe();
    expect(wordsOn(done.message)).toContain('cannot be reached just now');
    expect(flat(logged)).toContain('Anouk');
    on.loopback.faults.length = 0;
    await on.restart();
    await expect.poll(() => flat(logged), { timeout: 20_000 }).not.toContain('Anouk');
    const right = edits().length;
    await on.restart();
    await on.moss.use('job', 'list', {});
    expect(edits()).toHaveLength(right);
  });

  it('are kept nowhere in the store, and who removed them leaves with an erasure', async () => {
    await log();
    on.channel.denied = rights.view;
    await wipe();
    on.channel.denied = 0n;
    const bytes = on.database.bytes().toString('latin1');
    expect(bytes).not.toContain('Anouk');
    expect(pending()).toMatchObject([{ by: 'Moss', steward: false }]);
    on.database
      .of(notNull(on.database.collectives.list()[0]))
      .personData.erase(`discord:${on.people.moss.id}`, 'Moss');
    expect(pending()).toMatchObject([{ by: 'someone who left' }]);
  });
});

describe('words outside the log of a job', () => {
  const NOTE = 'from the cousin of Anouk';
  it('of a price go with it where that is said, and stay in messages where it is not', async () => {
    const price = { what: 'Orrin K3', price: '180', seen: '2026-03-01', how: 'sold', note: NOTE };
    const notedAs = async (subject: string, seen: Promise<Seen>): Promise<Message> => {
      const message = notNull((await seen).message);
      const known = () =>
        bench()
          .shown.showing(subject)
          .some((one) => one.message === message.id);
      await until(known, 'the message is known');
      return message;
    };
    const list = (subject: string) => notedAs(subject, on.moss.use('prices', 'list', {}));
    await on.moss.use('prices', 'add', price);
    const first = await list('price:1');
    expect(flat(first)).toContain(NOTE);
    await on.moss.use('prices', 'remove', { number: 1 });
    expect(flat(first)).toContain(NOTE);
    await on.moss.use('prices', 'add', price);
    const second = await list('price:2');
    const done = await on.ines.use('prices', 'remove', { number: 2, wipe: 'yes' });
    expect(wordsOn(done.message)).toContain('put right');
    expect(flat(second)).not.toContain('Anouk');
    expect(flat(second)).toContain('[removed by Ines, a steward]');
    expect(on.database.bytes().toString('latin1')).not.toContain('Anouk');
  });

  it('of a swap report go from the list that showed them, and from what /paired said', async () => {
    const saw = 'health hidden, says Anouk';
    await on.moss.use('swap', 'report', {
      component: 'battery',
      effect: 'notice',
      of: 'Orrin K3',
      grade: 'used',
      saw,
    });
    const shown = notNull((await on.wren.use('swap', 'list', {})).message);
    await until(
      () =>
        bench()
          .shown.showing('report:1')
          .some((one) => one.message === shown.id),
      'the message is known',
    );
    expect(flat(shown)).toContain(saw);
    await on.wren.use('swap', 'wipe', { report: 1 });
    expect(flat(shown)).toContain(saw);
    const done = await on.ines.use('swap', 'wipe', { report: 1 });
    expect(wordsOn(done.message)).toContain('put right');
    expect(flat(shown)).not.toContain('Anouk');
    expect(flat(shown)).toContain('[removed by Ines, a steward]');
    expect(on.database.bytes().toString('latin1')).not.toContain('Anouk');
  });

  it('of a part go from what showed them', async () => {
    await on.moss.use('shelf', 'add', {
      component: 'battery',
      of: 'Orrin K3',
      grade: 'copy',
      price: '14',
      place: 'drawer of Anouk',
    });
    const shown = notNull((await on.wren.use('shelf', 'show', { part: 1 })).message);
    await until(
      () =>
        bench()
          .shown.showing('part:1')
          .some((one) => one.message === shown.id),
      'the message is known',
    );
    expect(flat(shown)).toContain('drawer of Anouk');
    await on.moss.use('shelf', 'wipe', { part: 1 });
    expect(flat(shown)).not.toContain('Anouk');
    expect(flat(shown)).toContain('[removed by Moss]');
  });

  it('that told of a danger of the phone go, and the danger stays', async () => {
    await log('Anouk says it was swollen, and hot');
    expect(on.database.bytes().toString('latin1')).toContain('swollen');
    await wipe();
    const facts = bench().phoneEvents.list({ kind: 'job', number: 1 });
    expect(facts.length).toBeGreaterThan(0);
    expect(JSON.stringify(facts)).not.toMatch(/"ref":"[^"]*(swollen|hot)/);
    expect((await on.moss.use('job', 'show', { job: 1 })).message?.content).toMatch(/DANGER/);
  });
});

describe('what is known of messages', () => {
  it('goes after its time, and not while the clock may be wrong', async () => {
    await show();
    const { shown } = bench();
    expect(shown.showing('job:1').length).toBeGreaterThan(0);
    const later = new Date(on.now.at.getTime() + 500 * 24 * 3600_000);
    expect(on.database.removals.forgetOld(later)).toBe(0);
    expect(shown.showing('job:1').length).toBeGreaterThan(0);
  });

  it('is told to whom it names, and goes with them', async () => {
    const direct = on.direct(on.people.moss);
    await show(direct);
    const { personData } = bench();
    const key = `discord:${on.people.moss.id}`;
    expect(personData.read(key, 'Moss').rows['messages-shown']).toMatchObject([{ channel: direct.channel }]);
    personData.erase(key, 'Moss');
    expect(personData.read(key, 'Moss').rows['messages-shown']).toEqual([]);
  });
});

describe('the buttons of an older message', () => {
  it('go when an answer is typed, and what shows more stays', async () => {
    const first = notNull(
      (await on.moss.use('trace', 'start', { symptoms: 'dead', model: 'Orrin K3' })).message,
    );
    expect(on.moss.labels(stored(first)).length).toBeGreaterThan(2);
    const second = notNull((await on.moss.use('trace', 'show', { trace: 1 })).message);
    await expect.poll(() => on.moss.labels(stored(first)), { timeout: 20_000 }).toEqual(['More']);
    expect(on.moss.labels(stored(second)).length).toBeGreaterThan(2);
  });
});
