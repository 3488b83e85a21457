/** Rooms of one person and the bot: which they are, making one, and whether nobody else is in it. */
import { z } from 'zod';
import type { MatrixConnection } from './client.ts';
import type { Delivery } from './delivery.ts';
import { networkErrorOf } from './network-error.ts';
import { maySend, type Rooms } from './rooms.ts';

const directSchema = z.record(z.string(), z.array(z.string()).catch([])).catch({});
const createdSchema = z.object({ room_id: z.string() });

/** Somebody else is in the room, or the person is not: nothing private may be said there. */
export class NotPrivate extends Error {
  constructor() {
    super('the direct room has not exactly two members');
    this.name = 'NotPrivate';
  }
}

export interface DirectRooms {
  /** Reads the account's `m.direct` anew. */
  load(): Promise<void>;
  take(accountData: unknown): void;
  /** Whether the room is kept as a direct room with this person; it may have got a third member since. */
  isMarked(room: string, person: string): boolean;
  /** Whom the room is kept as a direct room with; null when it is none. */
  ownerOf(room: string): string | null;
  mark(room: string, person: string): Promise<void>;
  /** Throws NotPrivate unless the room has exactly two members, invited ones counted: the person and the bot. */
  check(room: string, person: string): Promise<void>;
  /** A direct room that is fit for private words; made, with an invite, where there is none. */
  open(person: string): Promise<string>;
}

export function directRoomsOf(parts: {
  connection: () => MatrixConnection;
  own: string;
  rooms: Rooms;
  delivery: Delivery;
  canRead: boolean;
}): DirectRooms {
  const { connection, own, rooms, delivery, canRead } = parts;
  let marked: Record<string, string[]> = {};
  const address = `/_matrix/client/v3/user/${encodeURIComponent(own)}/account_data/m.direct`;

  const check = async (room: string, person: string): Promise<void> => {
    const { joined, invited } = await rooms.membersOf(room);
    const all = new Set([...joined, ...invited]);
    if (all.size !== 2 || !joined.includes(own) || !all.has(person)) throw new NotPrivate();
  };

  /** Whether private words can go there now. */
  const isFit = async (room: string, person: string): Promise<boolean> => {
    try {
      await check(room, person);
      const state = await rooms.state(room);
      return (canRead || !state.encryption) && maySend(state, own, 'm.room.message');
    } catch (error) {
      if (error instanceof NotPrivate || networkErrorOf(error).kind === 'refused') return false;
      throw error;
    }
  };

  const encryption = async (person: string): Promise<object[]> => {
    if (!canRead) return [];
    const keys = await connection().getUserDevices([person]);
    const devices = Object.keys(keys?.device_keys?.[person] ?? {});
    return devices.length
      ? [{ type: 'm.room.encryption', state_key: '', content: { algorithm: 'm.megolm.v1.aes-sha2' } }]
      : [];
  };

  const make = async (person: string): Promise<string> => {
    const sealed = await encryption(person);
    const made: unknown = await connection().doRequest('POST', '/_matrix/client/v3/createRoom', null, {
      is_direct: true,
      invite: [person],
      preset: 'private_chat',
      initial_state: [
        // A third who is let in later sees nothing of what was said before.
        {
          type: 'm.room.history_visibility',
          state_key: '',
          content: { history_visibility: 'invited' },
        },
        { type: 'm.room.guest_access', state_key: '', content: { guest_access: 'forbidden' } },
        ...sealed,
      ],
      power_level_content_override: { invite: 100 },
    });
    return createdSchema.parse(made).room_id;
  };

  const mark = async (room: string, person: string): Promise<void> => {
    if (marked[person]?.includes(room)) return;
    marked = { ...marked, [person]: [room, ...(marked[person] ?? [])] };
    await delivery.keepTrying(() => connection().doRequest('PUT', address, null, marked));
  };

  return {
    load: async () => {
      try {
        marked = directSchema.parse(await connection().doRequest('GET', address));
      } catch (error) {
        if (networkErrorOf(error).kind !== 'refused') throw error;
      }
    },
    take: (accountData) => {
      const read = z.object({ type: z.literal('m.direct'), content: z.unknown() }).safeParse(accountData);
      if (read.success) marked = directSchema.parse(read.data.content);
    },
    isMarked: (room, person) => marked[person]?.includes(room) ?? false,
    ownerOf: (room) => Object.entries(marked).find(([, list]) => list.includes(room))?.[0] ?? null,
    mark,
    check,
    open: async (person) => {
      for (const room of marked[person] ?? []) if (await isFit(room, person)) return room;
      const room = await delivery.keepTrying(() => make(person));
      await mark(room, person);
      return room;
    },
  };
}
