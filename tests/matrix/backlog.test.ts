import { setTimeout as pause } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import { backlogOf } from '../../src/surfaces/matrix/backlog.ts';

describe('what is still to be answered', () => {
  it('goes in order in a room, and rooms side by side', async () => {
    const done: string[] = [];
    const backlog = backlogOf(() => 'go on');
    backlog.add('a', async () => {
      await pause(30);
      done.push('a1');
    });
    backlog.add('a', async () => {
      done.push('a2');
    });
    backlog.add('b', async () => {
      done.push('b1');
    });
    await backlog.idle();
    expect(done).toEqual(['b1', 'a1', 'a2']);
  });

  it('marks a place when all before it is done, and marks keep their order', async () => {
    const done: string[] = [];
    const backlog = backlogOf(() => 'go on');
    backlog.add('a', async () => {
      await pause(30);
      done.push('slow');
    });
    backlog.mark(() => done.push('one'));
    backlog.add('b', async () => {
      done.push('quick');
    });
    backlog.mark(() => done.push('two'));
    await backlog.idle();
    expect(done).toEqual(['quick', 'slow', 'one', 'two']);
  });

  it('goes on after a fault, and marks nothing more after a halt', async () => {
    const done: string[] = [];
    const backlog = backlogOf((error) => (error instanceof RangeError ? 'halt' : 'go on'));
    backlog.add('a', () => Promise.reject(new TypeError('one')));
    backlog.mark(() => done.push('one'));
    await backlog.idle();
    backlog.add('a', () => Promise.reject(new RangeError('stopped')));
    backlog.add('a', async () => {
      done.push('after');
    });
    backlog.mark(() => done.push('two'));
    await backlog.idle();
    expect(done).toEqual(['one']);
  });
});
