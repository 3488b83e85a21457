/** Ten people at one card: one press takes effect, and each of the others is shown how things stand now. */
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { notNull, type Stage, stage, titleOf, wordsOn } from './bot.ts';
import type { Person } from './loopback/person.ts';

let on: Stage;
let people: Person[];
beforeEach(async () => {
  on = await stage();
  const { world } = on.loopback;
  people = Array.from({ length: 10 }, (_, index) => {
    const user = world.addUser(`hand${index}`, `Hand ${index}`);
    world.join(on.server, user);
    return on.loopback.person(user, { channel: on.channel.id });
  });
  await on.ines.use('family', 'name', { model: 'Orrin K3', as: 'glued-front-home-sensor' });
});
afterEach(async () => {
  expect(await on.close()).toEqual([]);
  expect(on.faults).toEqual([]);
});
const store = () => {
  const [collective] = on.database.collectives.list();
  if (!collective) throw new Error('no collective');
  return on.database.of(collective);
};

describe('ten people at once', () => {
  it('on a step of a trace answer it once', async () => {
    const started = await on.moss.use('trace', 'start', { symptoms: 'no charge', model: 'Orrin K3' });
    const card = notNull(started.message);
    const [first = '', second = ''] = on.moss.labels(card);
    const isMenu = on.moss.menus(card).some(({ entries }) => entries.includes(first));
    const revision = store().traces.get(1)?.revision ?? 0;
    // Half of them give one answer, half another.
    const pressed = people.map((one, index) => {
      const label = index % 2 ? second : first;
      return isMenu ? one.startChoice(card, label) : one.startPress(card, label);
    });
    const seen = await Promise.all(people.map((one, index) => one.outcome(pressed[index] ?? fail())));
    expect(store().traces.get(1)?.revision).toBe(revision + 1);
    expect(store().traces.get(1)?.steps).toHaveLength(1);
    // Nobody is left without an answer, and no answer is a fault or a bare refusal.
    for (const { message } of seen) expect(wordsOn(notNull(message))).not.toContain('went wrong');
    expect(titleOf(card)).not.toMatch(/^✗/);
    // What they all see on the card is the newest state, and it can be gone on from.
    const newest = notNull((await on.moss.use('trace', 'show', { trace: '1' })).message);
    expect(titleOf(card)).toBe(titleOf(newest));
    expect(on.moss.labels(card)).toEqual(on.moss.labels(newest));
    const [next = ''] = on.wren.labels(card);
    const onward = on.moss.menus(card).some(({ entries }) => entries.includes(next))
      ? await on.wren.choose(card, next)
      : await on.wren.press(card, next);
    expect(wordsOn(onward.message)).not.toContain('out of date');
    expect(store().traces.get(1)?.revision).toBe(revision + 2);
  });

  it('on the tests of a job write them down once', async () => {
    const answers = { ownership: 'shown', lock: 'free', stolen: 'clear' };
    await on.moss.use('job', 'open', { model: 'Orrin K3', came: 'given', symptoms: 'dim', ...answers });
    const card = notNull((await on.moss.use('job', 'test', {})).message);
    const before = store().jobs.get(1)?.entries.length ?? 0;
    const pressed = people.map((one) => one.startPress(card, 'All 3 pass'));
    const seen = await Promise.all(people.map((one, index) => one.outcome(pressed[index] ?? fail())));
    expect((store().jobs.get(1)?.entries.length ?? 0) - before).toBe(3);
    expect(seen.every(({ message }) => message !== null && !wordsOn(message).includes('went wrong'))).toBe(
      true,
    );
  });
});

const fail = (): never => {
  throw new Error('not there');
};
