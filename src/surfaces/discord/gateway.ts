/** Discord's gateway before anything is logged in: where it is, whether a session may be started, and whether it greets. */
import { z } from 'zod';
import { paths } from './api.ts';
import type { Rest } from './rest.ts';

/** "Get Gateway Bot" and "Session Start Limit Object". */
const gatewaySchema = z.object({
  url: z.url({ protocol: /^wss?$/ }),
  session_start_limit: z.object({
    remaining: z.number().int(),
    /** Milliseconds until the limit is reset. */
    reset_after: z.number().int().min(0),
  }),
});
/** "Gateway Opcodes": Hello, the first that a gateway says. */
const helloSchema = z.object({ op: z.literal(10) });

/** No session may be started before a time is over. */
export class NoSessionLeft extends Error {
  readonly waitMs: number;
  constructor(waitMs: number) {
    super(`no session may be started for ${Math.ceil(waitMs / 60_000)} min: too many were today`);
    this.name = 'NoSessionLeft';
    this.waitMs = waitMs;
  }
}

/** Resolves when the gateway at this address has said Hello within so many milliseconds. Nothing is identified. */
function greeted(url: string, withinMs: number): Promise<void> {
  return new Promise((resolve, reject) => {
    const socket = new WebSocket(`${url}?v=10&encoding=json`);
    const settle = (error?: Error): void => {
      clearTimeout(timer);
      socket.close(1000);
      if (error) reject(error);
      else resolve();
    };
    const timer = setTimeout(() => settle(new Error('the gateway does not answer')), withinMs);
    socket.onerror = () => settle(new Error('the gateway refuses the connection'));
    socket.onclose = () => settle(new Error('the gateway closed the connection'));
    socket.onmessage = ({ data }) => {
      const text: unknown = typeof data === 'string' ? JSON.parse(data) : null;
      settle(helloSchema.safeParse(text).success ? undefined : new Error('the gateway speaks otherwise'));
    };
  });
}

/**
 * Resolves when a login has a chance: the gateway is there, greets, and a session may be started. A login that fails costs a
 * session, and discord.js goes on with it behind one's back: so it is tried where it will work. Throws NoSessionLeft, and what
 * the request or the connection threw.
 */
export async function gatewayReady(rest: Rest, withinMs: number): Promise<void> {
  const { url, session_start_limit: limit } = gatewaySchema.parse(await rest.get(paths.gateway()));
  if (limit.remaining < 1) throw new NoSessionLeft(limit.reset_after);
  await greeted(url.replace(/\/$/, ''), withinMs);
}
