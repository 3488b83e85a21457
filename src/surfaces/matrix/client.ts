/**
 * The SDK's client with a sync loop of the surface's own: it fills gaps in a room's timeline, goes on while the homeserver
 * is away, stops when the token is no longer accepted, and keeps a batch until it has been taken in whole.
 */
import { randomInt } from 'node:crypto';
import { setTimeout as pause } from 'node:timers/promises';
import type * as Sdk from 'matrix-bot-sdk';
import { z } from 'zod';
import { loadSdk } from './load-sdk.ts';
import { backoffMs, type NetworkError, networkErrorOf } from './network-error.ts';

const eventsSchema = z.object({ events: z.array(z.unknown()).catch([]) }).catch({ events: [] });
const joinedRoomSchema = z.looseObject({
  state: eventsSchema.optional(),
  timeline: z
    .looseObject({
      events: z.array(z.unknown()).catch([]),
      limited: z.boolean().catch(false),
      prev_batch: z.string().optional().catch(undefined),
    })
    .optional()
    .catch(undefined),
});
const syncSchema = z.looseObject({
  next_batch: z.string(),
  rooms: z
    .looseObject({
      join: z.record(z.string(), joinedRoomSchema).catch({}),
      invite: z.record(z.string(), z.looseObject({ invite_state: eventsSchema.optional() })).catch({}),
      leave: z.record(z.string(), z.unknown()).catch({}),
    })
    .optional()
    .catch(undefined),
});
const messagesSchema = z.object({ chunk: z.array(z.unknown()).catch([]), end: z.string().optional() });
const memberSchema = z.object({
  type: z.literal('m.room.member'),
  state_key: z.string(),
  content: z.object({ membership: z.string() }),
  unsigned: z
    .object({ prev_content: z.object({ membership: z.string().optional() }).optional().catch(undefined) })
    .optional()
    .catch(undefined),
});

export interface SyncParts {
  homeserver: string;
  token: string;
  /** Where to go on; null at the very first start. */
  startAt: string | null;
  /** What a batch says of keys and devices, before its events. Not given where there is no encryption. */
  onKeys?(sync: unknown): Promise<void>;
  /** An encrypted event, opened where it can be; else as it is. */
  open?(room: string, event: object): Promise<object>;
  /** An invite, with the stripped state that came with it. */
  onInvite(room: string, state: readonly unknown[]): void;
  /** State of a room that came outside its timeline. */
  onState(room: string, event: unknown): void;
  /** There may be a gap in what is known of a room. */
  onGap(room: string): void;
  /**
   * An event of a room's timeline, in order, decrypted where it could be. `heard` is false for what is older than the bot's
   * own join, or than its first start: then it is state to know of, and never something to answer.
   */
  onEvent(room: string, event: unknown, heard: boolean): void;
  /** A batch has been handed over whole; the next sync begins at `token`. */
  onBatch(token: string): void;
  /** Sync does not work, or works (null). */
  onFault(fault: NetworkError | null): void;
}

/** How often a batch that fails by itself is tried. */
const TRIES = 5;
const PAGES = 50;
const PAGE = 100;
const TIMEOUT_MS = 10_000;
// The newest 100 events of each room come with a sync; what is between is fetched.
const FILTER = JSON.stringify({
  presence: { not_types: ['*'] },
  room: { ephemeral: { not_types: ['*'] }, timeline: { limit: 100 }, state: { lazy_load_members: true } },
});

/** The position of the bot's own newest join; -1 when there is none. A new display name is no join. */
export function ownJoin(events: readonly unknown[], own: string): number {
  return events.findLastIndex((event) => {
    const read = memberSchema.safeParse(event);
    return (
      read.success &&
      read.data.state_key === own &&
      read.data.content.membership === 'join' &&
      read.data.unsigned?.prev_content?.membership !== 'join'
    );
  });
}

const sealedSchema = z.looseObject({ type: z.literal('m.room.encrypted'), event_id: z.string() });

const idOf = (event: unknown): unknown =>
  event && typeof event === 'object' && 'event_id' in event ? event.event_id : undefined;

export type MatrixConnection = Sdk.MatrixClient;

function askSync(client: MatrixConnection, token: string | null): Promise<unknown> {
  return client.doRequest(
    'GET',
    '/_matrix/client/v3/sync',
    {
      filter: FILTER,
      // Nothing is waited for at first. Synapse keeps the answer to an equal first sync for two minutes; a bot
      // with an empty store must begin now, and not where another one began then.
      timeout: token === null ? randomInt(1, 10_000) : TIMEOUT_MS,
      ...(token === null ? {} : { since: token }),
    },
    null,
    token === null ? 600_000 : TIMEOUT_MS + 30_000,
  );
}

async function pageOf(
  client: MatrixConnection,
  room: string,
  from: string,
  to: string,
): Promise<z.infer<typeof messagesSchema>> {
  const path = `/_matrix/client/v3/rooms/${encodeURIComponent(room)}/messages`;
  try {
    return messagesSchema.parse(await client.doRequest('GET', path, { dir: 'b', from, to, limit: PAGE }));
  } catch (error) {
    // What may not be read is not there for the bot; anything else is tried again with the whole batch.
    if (networkErrorOf(error).kind !== 'refused') throw error;
    return { chunk: [] };
  }
}

/** What a limited timeline left out, oldest first: back to the last batch, or to the bot's own join. */
async function between(
  client: MatrixConnection,
  room: string,
  before: string,
  since: string,
  own: string,
): Promise<unknown[]> {
  const found: unknown[] = [];
  let from: string | undefined = before;
  for (let page = 0; page < PAGES && from !== undefined; page += 1) {
    const { chunk, end }: z.infer<typeof messagesSchema> = await pageOf(client, room, from, since);
    found.unshift(...chunk.slice().reverse());
    if (!chunk.length || ownJoin(chunk, own) >= 0) break;
    from = end;
  }
  return found;
}

/** Events with those opened that are to be heard. */
async function opened(
  { open }: SyncParts,
  room: string,
  events: unknown[],
  from: number,
): Promise<unknown[]> {
  if (!open) return events;
  const clear: unknown[] = [];
  for (const [index, event] of events.entries()) {
    const sealed = index < from ? undefined : sealedSchema.safeParse(event).data;
    clear.push(sealed ? await open(room, sealed) : event);
  }
  return clear;
}

/**
 * Fills the gap in a room's timeline and opens its events. The ids of those that are older than the bot's own join or first
 * start.
 */
async function completeRoom(
  client: MatrixConnection,
  parts: SyncParts,
  room: string,
  joined: z.infer<typeof joinedRoomSchema>,
  since: string | null,
  own: string,
): Promise<unknown[]> {
  const { timeline } = joined;
  if (!timeline) return [];
  if (timeline.limited) parts.onGap(room);
  if (timeline.limited && since !== null && timeline.prev_batch) {
    timeline.events = [...(await between(client, room, timeline.prev_batch, since, own)), ...timeline.events];
  }
  for (const event of joined.state?.events ?? []) parts.onState(room, event);
  const from = since === null ? timeline.events.length : ownJoin(timeline.events, own) + 1;
  const unheard = timeline.events.slice(0, from).map(idOf);
  timeline.events = await opened(parts, room, timeline.events, from);
  return unheard;
}

/** A client that is not started yet; `start()` begins to sync, `stop()` ends it. */
export function createClient(parts: SyncParts): MatrixConnection {
  const sdk = loadSdk();
  const storage = new sdk.MemoryStorageProvider();

  class Client extends sdk.MatrixClient {
    private stopped = false;
    private ending = new AbortController();
    /** Events of this batch that are older than the bot's join or first start. */
    private unheard = new Set<unknown>();

    override stop(): void {
      this.stopped = true;
      this.ending.abort();
      super.stop();
    }

    protected override async startSync(): Promise<void> {
      this.on('room.event', (room: string, event: unknown) =>
        parts.onEvent(room, event, !this.unheard.has(idOf(event))),
      );
      void this.follow();
    }

    private async follow(): Promise<void> {
      let token = parts.startAt;
      let failures = 0;
      while (!this.stopped) {
        let next: string | undefined;
        try {
          const raw = await askSync(this, token);
          if (this.stopped) return;
          const sync = syncSchema.parse(raw);
          next = sync.next_batch;
          await this.take(sync, token);
          if (this.stopped) return;
          parts.onBatch(next);
          token = next;
          parts.onFault(null);
          failures = 0;
        } catch (error) {
          if (this.stopped) return;
          const fault = networkErrorOf(error);
          failures += 1;
          parts.onFault(fault);
          if (fault.kind === 'token') return;
          if (
            next !== undefined &&
            (fault.kind === 'refused' || fault.kind === 'ours') &&
            failures >= TRIES
          ) {
            // Something in this batch cannot be taken in, however often it is tried: what comes after it still can.
            token = next;
            failures = 0;
          }
          const wait = fault.kind === 'limited' ? fault.waitMs : backoffMs(failures);
          await pause(wait, undefined, { signal: this.ending.signal }).catch(() => {});
        }
      }
    }

    /** Hands one answer of the homeserver over. */
    private async take(sync: z.infer<typeof syncSchema>, since: string | null): Promise<void> {
      const own = await this.getUserId();
      this.unheard = new Set();
      await parts.onKeys?.(sync);
      for (const [room, joined] of Object.entries(sync.rooms?.join ?? {}))
        for (const id of await completeRoom(this, parts, room, joined, since, own)) this.unheard.add(id);
      for (const [room, invite] of Object.entries(sync.rooms?.invite ?? {}))
        parts.onInvite(room, invite.invite_state?.events ?? []);
      // Invites are dealt with above, by allow-list: the SDK would take each for a direct room.
      await this.processSync({ ...sync, ...(sync.rooms ? { rooms: { ...sync.rooms, invite: {} } } : {}) });
    }
  }
  return new Client(parts.homeserver, parts.token, storage);
}
