/** Discord's REST interface, and a request that is made again when a socket was cut. */
import { setTimeout as pause } from 'node:timers/promises';
import { discordCodeOf, statusOf } from './api.ts';

/** Sends a request to Discord's REST interface. The parts of discord.js that this surface uses for it. */
export interface Rest {
  get(path: `/${string}`, options?: RestOptions): Promise<unknown>;
  post(path: `/${string}`, options?: RestOptions): Promise<unknown>;
  patch(path: `/${string}`, options?: RestOptions): Promise<unknown>;
  delete(path: `/${string}`, options?: RestOptions): Promise<unknown>;
}
interface RestOptions {
  body?: unknown;
  files?: { name: string; data: Buffer }[];
  query?: URLSearchParams;
  auth?: boolean;
}

const PAUSES_MS = [50, 250, 1000];

/**
 * Runs a request again when no answer came because the socket was cut. For requests that do no harm twice.
 * What Discord itself refuses is thrown at once; discord.js tries again by itself after a 5xx and waits after a 429.
 */
export async function retry<T>(work: (again: boolean) => Promise<T>): Promise<T> {
  for (let failures = 0; ; failures += 1) {
    try {
      return await work(failures > 0);
    } catch (error) {
      const wait = PAUSES_MS[failures];
      if (discordCodeOf(error) !== null || statusOf(error) !== null || wait === undefined) throw error;
      await pause(wait);
    }
  }
}
