/** When things happen: at every minute the weekly posts that are due, and once a day what is to be erased. */
import { randomBytes } from 'node:crypto';
import type { Log } from '../environment/log.ts';
import { retentionOf } from './retention.ts';
import { type WeeklyPostParts, weeklyPostsOf } from './weekly-post.ts';

export interface Clock {
  /** Does what is due. Never rejects; a second call while one runs waits for that one and does nothing more. */
  tick(now: Date): Promise<void>;
  /** Ticks now and at the beginning of every minute, without keeping the program alive. */
  start(time: () => Date): void;
  /** No further tick; resolves when the running one has ended. */
  stop(): Promise<void>;
}

const MINUTE = 60_000;

interface ClockParts extends Omit<WeeklyPostParts, 'onFault'> {
  log: Log;
}

export function createClock(parts: ClockParts): Clock {
  const { database, log } = parts;
  const onFault = (error: unknown): void => log(randomBytes(6).toString('base64url'), error);
  const attend = weeklyPostsOf({ ...parts, onFault });
  const erase = retentionOf(database, log);
  let running: Promise<void> | null = null;
  let timer: NodeJS.Timeout | undefined;
  let stopped = false;

  const work = async (now: Date): Promise<void> => {
    if (stopped) return;
    try {
      erase(now);
    } catch (error) {
      onFault(error);
    }
    for (const collective of database.collectives.list()) {
      if (stopped) return;
      try {
        await attend(collective, now);
      } catch (error) {
        onFault(error);
      }
    }
  };

  const tick = (now: Date): Promise<void> => {
    running ??= work(now).finally(() => {
      running = null;
    });
    return running;
  };

  const start = (time: () => Date): void => {
    const turn = () => {
      tick(time()).then(() => {
        if (stopped) return;
        timer = setTimeout(turn, MINUTE - (time().getTime() % MINUTE));
        timer.unref();
      });
    };
    turn();
  };

  return {
    tick,
    start,
    stop: async () => {
      stopped = true;
      clearTimeout(timer);
      await running;
    },
  };
}
