import { setImmediate as turn } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import { workQueue } from '../../src/surfaces/discord/queue.ts';

/** A queue on a clock of the test, and what it has done so far. */
function queueAt() {
  const clock = { ms: 0 };
  const done: string[] = [];
  const queue = workQueue({ now: () => clock.ms });
  return { clock, done, queue, does: (name: string) => () => void done.push(name) };
}
const allTurns = async () => {
  for (let i = 0; i < 20; i += 1) await turn();
};

describe('the queue of work', () => {
  it('begins at once when nothing is waiting', () => {
    const { queue, done, does } = queueAt();
    queue.add(does('command'));
    expect(done).toEqual(['command']);
  });

  it('does commands in order, before completions, and of those the newest first', async () => {
    const { queue, done, does } = queueAt();
    queue.add(does('first'));
    queue.addCompletion(does('d'));
    queue.addCompletion(does('de'));
    queue.add(does('second'));
    queue.add(does('third'));
    expect(queue.waiting).toBe(4);
    await allTurns();
    expect(done).toEqual(['first', 'second', 'third', 'de', 'd']);
    expect(queue.waiting).toBe(0);
  });

  it('drops completions that Discord would not take any more', async () => {
    const { queue, done, does, clock } = queueAt();
    queue.add(does('command'));
    queue.addCompletion(does('old'));
    clock.ms = 2600;
    queue.addCompletion(does('new'));
    await allTurns();
    expect(done).toEqual(['command', 'new']);
  });

  it('runs commands that wait together, and what each answers goes out after their common end', async () => {
    const told: string[] = [];
    const clock = { ms: 0 };
    const queue = workQueue({
      now: () => clock.ms,
      together: (work) => {
        told.push('from');
        work();
        told.push('on the disk');
      },
    });
    const command = (name: string) => async (): Promise<void> => {
      told.push(`ran ${name}`);
      clock.ms += 3;
      await undefined;
      told.push(`sent ${name}`);
    };
    for (const name of ['a', 'b', 'c', 'd', 'e', 'f']) queue.add(() => void command(name)());
    await allTurns();
    const group = (...names: string[]) => [
      'from',
      ...names.map((name) => `ran ${name}`),
      'on the disk',
      ...names.map((name) => `sent ${name}`),
    ];
    // The first begins at once, before the others are there; a group ends when its time is over.
    expect(told).toEqual([...group('a'), ...group('b', 'c', 'd'), ...group('e', 'f')]);
  });

  it('keeps a flood of completions within bounds', async () => {
    const { queue, done, does } = queueAt();
    queue.add(does('command'));
    for (let i = 0; i < 1000; i += 1) queue.addCompletion(does(String(i)));
    expect(queue.waiting).toBe(200);
    for (let i = 0; i < 300; i += 1) await turn();
    expect(done.slice(0, 3)).toEqual(['command', '999', '998']);
  });
});
