/** How a serving bot is, as one value: what `/health`, `--status` and the watchdog say. */
import { z } from 'zod';
import type { Meters } from './meters.ts';

/** A platform that was lost for so long will hardly come back by itself: a service manager may start the bot anew. */
const DEAF_MS = 10 * 60_000;

export const healthSchema = z.object({
  /** Everything that was asked for is connected. */
  well: z.boolean(),
  /** False where a platform was lost for ten minutes: the watchdog is told nothing more. */
  hears: z.boolean(),
  version: z.string(),
  pid: z.number().int(),
  since: z.iso.datetime(),
  platforms: z.array(
    z.object({
      name: z.string(),
      state: z.enum(['starting', 'connected', 'lost', 'ended']),
      since: z.iso.datetime(),
    }),
  ),
  commands: z.number().int(),
  faults: z.number().int(),
  lastFault: z.object({ id: z.string(), at: z.iso.datetime() }).nullable(),
  waiting: z.number().int(),
  /** Seconds. */
  lag: z.number(),
  storeBytes: z.number().int(),
  memoryBytes: z.number().int(),
});
export type Health = z.output<typeof healthSchema>;

export function healthOf(meters: Meters, version: string, now: Date): Health {
  const platforms = [...meters.platforms].map(([name, { state, since }]) => ({ name, state, since }));
  const isDeaf = ({ state, since }: (typeof platforms)[number]): boolean =>
    (state === 'lost' || state === 'ended') && now.getTime() - since.getTime() > DEAF_MS;
  const { store, journal } = meters.storeBytes();
  const { lastFault } = meters;
  return {
    well: platforms.length > 0 && platforms.every(({ state }) => state === 'connected'),
    hears: !platforms.some(isDeaf),
    version,
    pid: process.pid,
    since: meters.startedAt.toISOString(),
    platforms: platforms.map(({ since, ...one }) => ({ ...one, since: since.toISOString() })),
    commands: meters.commands,
    faults: meters.faults,
    lastFault: lastFault && { id: lastFault.id, at: lastFault.at.toISOString() },
    waiting: meters.waiting,
    lag: meters.lagSeconds,
    storeBytes: store + journal,
    memoryBytes: process.memoryUsage.rss(),
  };
}

const minute = (time: string): string => `${time.slice(0, 16).replace('T', ' ')} UTC`;
const megabytes = (bytes: number): string => `${(bytes / 1e6).toFixed(1)} MB`;

/** The same in words, one line each. */
export const healthLines = (health: Health): string[] => [
  `Thirdhand ${health.version}, process ${health.pid}, runs since ${minute(health.since)}.`,
  ...health.platforms.map(({ name, state, since }) => `${name}: ${state} since ${minute(since)}.`),
  `${health.commands} commands answered, ${health.faults} faults${
    health.lastFault ? `, the last at ${minute(health.lastFault.at)} (${health.lastFault.id} in the log)` : ''
  }.`,
  `${health.waiting} waiting, largest delay lately ${Math.round(health.lag * 1000)} ms.`,
  `Store ${megabytes(health.storeBytes)}, memory ${megabytes(health.memoryBytes)}.`,
];

/** For `systemctl status`. */
export const statusLine = ({ platforms, commands, faults }: Health): string =>
  `${platforms.map(({ name, state }) => `${name} ${state}`).join(', ') || 'starting'}; ${commands} commands, ${faults} faults`;
