/**
 * Messages whose key has not come yet. They are kept as they came, encrypted, also over a restart; the key is looked for in
 * the backup, and the library asks the bot's other devices. When it comes the message is heard after all, once.
 */
import { setTimeout as pause } from 'node:timers/promises';
import { z } from 'zod';
import type { SealedRecords } from '../../../shared/store/index.ts';

const waitingSchema = z.object({
  room: z.string(),
  session: z.string(),
  at: z.iso.datetime(),
  event: z.looseObject({ event_id: z.string() }),
});
type Waiting = z.infer<typeof waitingSchema>;

export interface LateKeys {
  wait(room: string, session: string, event: object): void;
  /** Keys have come: what waited for them is heard. */
  came(sessions: readonly { room: string; session: string }[]): void;
  stop(): void;
}

export interface LateKeysParts {
  records: SealedRecords;
  own: string;
  clock: () => Date;
  /** The event in the clear; as it is where it still cannot be read. */
  open(room: string, event: object): Promise<object>;
  /** Looks for a key where it may be had. */
  seek(room: string, session: string): Promise<void>;
  /** An event that can be read now. */
  onRead(room: string, event: object): void;
  /** The key of an event has not come for a while. */
  onUnread(room: string, event: object): void;
  onError(error: unknown): void;
}

/** Most keys come with the next sync; only then is anybody told that there is something to wait for. */
const PATIENCE_MS = 15_000;
/** What came from the backup is read by then. */
const SETTLE_MS = 1000;
const KEPT_MS = 7 * 24 * 3600_000;
const MOST = 500;
const SHELF = 'waiting';

export function lateKeysOf(parts: LateKeysParts): LateKeys {
  const { records, clock } = parts;
  const space = `matrix-waiting:${parts.own}`;
  const waiting = new Map<string, Waiting>();
  const timers = new Set<NodeJS.Timeout>();
  const save = (id: string, bytes: Buffer | null): void =>
    records.write(space, new Map([[SHELF, { cleared: false, records: new Map([[id, bytes]]) }]]));
  const forget = (id: string): void => {
    waiting.delete(id);
    save(id, null);
  };
  for (const { id, bytes } of records.all(space)) {
    const one = waitingSchema.parse(JSON.parse(bytes.toString('utf8')));
    if (clock().getTime() - Date.parse(one.at) > KEPT_MS) save(id, null);
    else waiting.set(id, one);
  }

  const tryAgain = async (id: string, { room, event }: Waiting): Promise<void> => {
    const opened = await parts.open(room, event);
    if (opened === event || !waiting.has(id)) return;
    // The age that came with it was its age then.
    parts.onRead(room, { ...opened, unsigned: {} });
    forget(id);
  };

  return {
    wait: (room, session, raw) => {
      const event = waitingSchema.shape.event.parse(raw);
      if (waiting.has(event.event_id)) return;
      const one = { room, session, at: clock().toISOString(), event };
      const [oldest] = waiting.keys();
      if (waiting.size >= MOST && oldest !== undefined) forget(oldest);
      waiting.set(event.event_id, one);
      save(event.event_id, Buffer.from(JSON.stringify(one)));
      parts.seek(room, session).catch(parts.onError);
      const timer = setTimeout(async () => {
        timers.delete(timer);
        // Another device may have put it into the backup meanwhile.
        if (waiting.has(event.event_id)) await parts.seek(room, session).catch(parts.onError);
        await pause(SETTLE_MS, undefined, { ref: false });
        if (waiting.has(event.event_id)) parts.onUnread(room, event);
      }, PATIENCE_MS);
      timer.unref();
      timers.add(timer);
    },
    came: (sessions) => {
      for (const [id, one] of waiting)
        if (sessions.some(({ room, session }) => room === one.room && session === one.session))
          tryAgain(id, one).catch(parts.onError);
    },
    stop: () => {
      for (const timer of timers) clearTimeout(timer);
    },
  };
}
