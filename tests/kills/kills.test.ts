/** A few kills by a fixed seed; `tests/bench/kills.ts` does hundreds. */
import { describe, expect, it } from 'vitest';
import { ANSWERED_AGAIN, runKills } from './harness.ts';

describe('a program that is killed at any moment', () => {
  it('loses nothing that was acknowledged, does nothing twice, and posts the week once', async () => {
    const found = await runKills({ kills: 10, seed: 11 });
    expect(found.wrong).toEqual([]);
    const killed = Object.entries(found.kills).filter(([moment]) => moment !== 'ended.first');
    expect(killed.reduce((sum, [, count]) => sum + count, 0)).toBe(10);
    expect(found.acknowledged).toBeGreaterThan(20);
    expect(found.repeated).toBeGreaterThan(0);
  }, 3_600_000);
  it('takes no deferral for a second answer, where each answer that is worked out again is deferred', async () => {
    const found = await runKills({ kills: 2, seed: 23, deferred: true });
    expect(found.wrong).toEqual([]);
    expect(found.deferredAgain).toBeGreaterThanOrEqual(ANSWERED_AGAIN);
  }, 3_600_000);
});
