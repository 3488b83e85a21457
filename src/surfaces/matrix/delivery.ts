/** Sends, and keeps at it: with transaction ids of its own, so that what is tried again is not said twice. */
import { createHash } from 'node:crypto';
import { setTimeout as pause } from 'node:timers/promises';
import { z } from 'zod';
import type { MatrixConnection } from './client.ts';
import { backoffMs, type NetworkError, networkErrorOf } from './network-error.ts';
import type { SealedRooms } from './sealed-rooms.ts';

/** After the homeserver asked for patience, answers go first for so long: what need not be said would hold them up. */
const SHY_MS = 10 * 60_000;

/** The homeserver understood, and said no. */
export class NotSent extends Error {
  readonly code: string;
  constructor(fault: NetworkError) {
    const code = fault.kind === 'refused' ? fault.code : fault.kind;
    super(`the homeserver refused it: ${code}`);
    this.name = 'NotSent';
    this.code = code;
  }
}

/** The surface has been stopped, or its token is no longer good: nothing is sent any more. */
export class Stopped extends Error {
  constructor() {
    super('the Matrix surface has been stopped');
    this.name = 'Stopped';
  }
}

/** A transaction id from what a message is: the same for every try, also after a restart. */
export const transactionOf = (...parts: readonly (string | number)[]): string =>
  `th-${createHash('sha256').update(parts.join('\0')).digest('base64url').slice(0, 32)}`;

const sentSchema = z.object({ event_id: z.string() });

interface Outgoing {
  room: string;
  type: string;
  content: Readonly<Record<string, unknown>>;
  transaction: string;
}

export interface Delivery {
  /**
   * The id of the event. Waits as long as the homeserver is away or asks for patience. `before` runs before every try and
   * may throw to keep it from being sent. Throws NotSent when it is refused, Stopped when there is no use in waiting.
   */
  send(outgoing: Outgoing, before?: () => Promise<void>): Promise<string>;
  /** The same for any other request. */
  keepTrying<T>(work: () => Promise<T>): Promise<T>;
  /** One try, for what need not be said: null when it did not work, or the homeserver asked for patience not long ago. */
  attempt(outgoing: Outgoing): Promise<string | null>;
  /** Whether the homeserver asked for patience not long ago: reactions are left out then. */
  isLimited(): boolean;
  stop(): void;
}

export function deliveryOver(
  connection: () => MatrixConnection,
  seal: SealedRooms['seal'],
  clock: () => number,
  onFault: (fault: NetworkError) => void,
): Delivery {
  const ending = new AbortController();
  let shyUntil = 0;
  const limited = (wait: number): void => {
    shyUntil = Math.max(shyUntil, clock() + wait + SHY_MS);
  };

  const put = async ({ room, type, content, transaction }: Outgoing): Promise<string> => {
    const sealed = await seal(room, type, content);
    const path = ['rooms', room, 'send', sealed.type, transaction].map(encodeURIComponent).join('/');
    return sentSchema.parse(
      await connection().doRequest('PUT', `/_matrix/client/v3/${path}`, null, sealed.content),
    ).event_id;
  };

  const keepTrying = async <T>(work: () => Promise<T>): Promise<T> => {
    for (let failures = 0; ; ) {
      if (ending.signal.aborted) throw new Stopped();
      try {
        return await work();
      } catch (error) {
        if (error instanceof NotSent || error instanceof Stopped) throw error;
        const fault = networkErrorOf(error);
        if (fault.kind === 'ours') throw error;
        if (fault.kind === 'refused') throw new NotSent(fault);
        onFault(fault);
        if (fault.kind === 'token') throw new Stopped();
        failures += 1;
        const wait = fault.kind === 'limited' ? fault.waitMs : backoffMs(failures);
        if (fault.kind === 'limited') limited(wait);
        try {
          await pause(wait, undefined, { signal: ending.signal });
        } catch {
          throw new Stopped();
        }
      }
    }
  };
  return {
    keepTrying,
    send: (outgoing, before) =>
      keepTrying(async () => {
        await before?.();
        return await put(outgoing);
      }),
    attempt: async (outgoing) => {
      if (ending.signal.aborted || clock() < shyUntil) return null;
      try {
        return await put(outgoing);
      } catch (error) {
        const fault = networkErrorOf(error);
        if (fault.kind === 'limited') limited(fault.waitMs);
        return null;
      }
    },
    isLimited: () => clock() < shyUntil,
    stop: () => ending.abort(),
  };
}
