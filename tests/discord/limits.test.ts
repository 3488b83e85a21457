import { setImmediate as turn } from 'node:timers/promises';
import { afterEach, describe, expect, it } from 'vitest';
import { DEFAULT_LIMIT } from '../../commands/framework/rate-limit.ts';
import { workQueue } from '../../src/surfaces/discord/queue.ts';
import { type Stage, stage, titleOf, until } from './bot.ts';

const MOMENT = /^✗ One moment, please/;
const open: Stage[] = [];
const begin = async (options: Parameters<typeof stage>[0]): Promise<Stage> => {
  const on = await stage(options);
  open.push(on);
  return on;
};
afterEach(async () => {
  for (const on of open.splice(0)) expect(await on.close()).toEqual([]);
});

describe('one noisy person', () => {
  it('is served their share, told kindly and alone after that, and the others are served as ever', async () => {
    const on = await begin({ limit: DEFAULT_LIMIT });
    const noisy = Array.from({ length: 2 * DEFAULT_LIMIT.atOnce }, () => on.moss.start('trace', 'list'));
    const other = on.wren.start('trace', 'list');
    const seen = await Promise.all(noisy.map((one) => on.moss.outcome(one)));
    const refused = seen.filter(({ message }) => MOMENT.test(titleOf(message)));
    expect(refused).toHaveLength(DEFAULT_LIMIT.atOnce);
    expect(refused.every(({ ephemeral }) => ephemeral)).toBe(true);
    expect(seen.filter(({ message }) => titleOf(message) === '▸ No trace is open')).toHaveLength(
      DEFAULT_LIMIT.atOnce,
    );
    expect(titleOf((await on.wren.outcome(other)).message)).toBe('▸ No trace is open');
    on.now.at = new Date(on.now.at.getTime() + 1000 / DEFAULT_LIMIT.perSecond);
    expect(titleOf((await on.moss.use('trace', 'list')).message)).toBe('▸ No trace is open');
    expect(on.faults).toEqual([]);
  });
});

describe('a flood of completions', () => {
  it('leaves a command its turn, and the newest is answered; the oldest are dropped', async () => {
    const on = await begin({});
    const { loopback } = on;
    const send = (value: string) =>
      loopback.interactions.send('autocomplete', on.people.moss.id, on.channel.id, {
        id: '1',
        name: 'worth',
        type: 1,
        options: [{ name: 'symptoms', type: 3, value, focused: true }],
      });
    const flood = Array.from({ length: 600 }, (_, index) => send(`de${'a'.repeat(index % 3)}`));
    const command = on.wren.start('trace', 'list');
    const newest = send('dead');
    expect(titleOf((await on.wren.outcome(command)).message)).toBe('▸ No trace is open');
    await until(() => newest.choices !== null, 'the newest');
    expect(newest.choices?.length).toBeGreaterThan(0);
    const answered = () => flood.filter(({ choices }) => choices !== null);
    // More than 200 do not wait: what waits longest goes. What is answered, is answered once.
    await until(() => answered().length >= 199, 'as many answers as wait');
    await on.bot.stop();
    const answers = loopback
      .requests('POST', /callback$/)
      .filter(({ body }) => JSON.stringify(body).startsWith('{"type":8'));
    expect(answers).toHaveLength(answered().length + 1);
    expect(answers.every(({ status }) => status === 204)).toBe(true);
    expect(on.faults).toEqual([]);
  });
});

describe('the queue', () => {
  const settled = async () => {
    for (let i = 0; i < 500; i += 1) await turn();
  };
  it('takes commands in turn, then completions, the newest first', async () => {
    const done: string[] = [];
    const queue = workQueue();
    queue.add(() => done.push('first'));
    for (const name of ['old', 'new']) queue.addCompletion(() => done.push(name));
    queue.add(() => done.push('second'));
    await settled();
    expect(done).toEqual(['first', 'second', 'new', 'old']);
    expect(queue.waiting).toBe(0);
  });
  it('drops completions that waited too long, and keeps 200 at most', async () => {
    let time = 0;
    const done: number[] = [];
    const queue = workQueue({ now: () => time });
    queue.add(() => undefined);
    for (let i = 0; i < 300; i += 1) queue.addCompletion(() => done.push(i));
    expect(queue.waiting).toBe(200);
    await settled();
    expect(done).toEqual(Array.from({ length: 200 }, (_, index) => 299 - index));
    queue.add(() => undefined);
    queue.addCompletion(() => done.push(-1));
    time = 60_000;
    queue.addCompletion(() => done.push(-2));
    await settled();
    expect(done.slice(200)).toEqual([-2]);
    expect(queue.waiting).toBe(0);
  });
});
