import { setTimeout as pause } from 'node:timers/promises';
import { afterEach, describe, expect, it } from 'vitest';
import { Outage } from '../../src/surfaces/discord/outage.ts';
import { type Stage, stage } from './bot.ts';
import type { Loopback } from './loopback/server.ts';

const patience = { first: 20, most: 160, hello: 300 };
let on: Stage | null = null;
afterEach(async () => {
  if (on) expect(await on.close()).toEqual([]);
  on = null;
});

const identified = ({ gateway }: Loopback): number => gateway.log.filter((one) => one === 'identify').length;

/** Starts the bot while the gateway is away in these ways, each for some tries. */
async function startedThrough(
  ways: readonly Loopback['gateway']['away'][],
  tries: number,
): Promise<Loopback> {
  let loopback: Loopback | null = null;
  let over = false;
  const turns = async (made: Loopback): Promise<void> => {
    for (const way of ways) {
      made.gateway.away = way;
      for (const until = made.gateway.turnedAway + tries; made.gateway.turnedAway < until; ) await pause(5);
      expect(identified(made)).toBe(0);
    }
    over = true;
    made.gateway.away = null;
  };
  let turning = Promise.resolve();
  on = await stage({
    patience,
    before: (made) => {
      loopback = made;
      made.gateway.away = ways[0] ?? null;
      turning = turns(made);
    },
  });
  await turning;
  expect(over).toBe(true);
  if (!loopback) throw new Error('no loopback');
  return loopback;
}
/** Longer than discord.js waits before it opens a connection again by itself, which is half a second. */
const settled = () => pause(1500);

describe('a gateway that is away at the start', () => {
  it.each([502, 503, 'refused', 'hanging'] as const)(
    'with %s is logged in to once when it is back',
    async (way) => {
      const loopback = await startedThrough([way], 3);
      await settled();
      expect(identified(loopback)).toBe(1);
    },
  );

  it('in one way after another is logged in to once, and told of once', async () => {
    const loopback = await startedThrough([502, 'hanging', 'refused', 503, 502], 3);
    await settled();
    expect(identified(loopback)).toBe(1);
    const told = (on?.faults ?? []).map(({ error }) => String(error));
    expect(told.filter((line) => line.includes('cannot be reached'))).toHaveLength(1);
    expect(told.at(-1)).toMatch(/^the connection is back, after \d+ s$/);
  });

  it('that goes away between greeting and login leaves one client that may identify', async () => {
    const loopback = await startedThrough([503], 1);
    // What it greeted is not what the login meets: each second connection is refused for a while.
    await on?.bot.stop();
    const { gateway } = loopback;
    const before = identified(loopback);
    gateway.awayAfterHello = 2;
    await on?.restart();
    await settled();
    expect(gateway.awayAfterHello).toBe(0);
    expect(identified(loopback)).toBe(before + 1);
  });

  it('is not logged in to while no session may be started', async () => {
    let seen = -1;
    on = await stage({
      patience,
      before: (made) => {
        made.sessions = { remaining: 0, reset_after: 30 };
        void (async () => {
          while (made.sessionsAsked < 4) await pause(5);
          seen = identified(made);
          made.sessions = { remaining: 5, reset_after: 30 };
        })();
      },
    });
    expect(seen).toBe(0);
    await settled();
    expect(identified(on.loopback)).toBe(1);
    expect(on.faults.map(({ error }) => String(error)).join()).toContain('no session may be started');
  });
});

describe('an outage', () => {
  it('is told once, then by the minute, and when it is over', () => {
    const lines: string[] = [];
    let now = 0;
    const outage = new Outage(
      (_, line) => lines.push(String(line)),
      () => now,
    );
    outage.over();
    for (; now < 150_000; now += 500) outage.tell('it is lost', 'trying again');
    outage.over();
    outage.over();
    expect(lines).toEqual([
      'it is lost; trying again',
      'it is lost, for 1 min now; trying again',
      'it is lost, for 2 min now; trying again',
      'the connection is back, after 150 s',
    ]);
    outage.tell('it is lost', 'trying again');
    expect(lines).toHaveLength(5);
  });
});
