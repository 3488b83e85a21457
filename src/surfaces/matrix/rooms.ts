/** What the bot knows of its rooms: powers, name, encryption. Asked for once, and then kept up to date by the sync. */
import { z } from 'zod';
import { cleanLine } from '../text.ts';
import type { MatrixConnection } from './client.ts';
import { eventSchema } from './events.ts';
import { networkErrorOf } from './network-error.ts';

const level = z.coerce.number().optional().catch(undefined);
const levels = z.record(z.string(), z.coerce.number()).optional().catch(undefined);
const powersSchema = z.object({
  users: levels,
  users_default: level,
  events: levels,
  events_default: level,
  redact: level,
});
type Powers = z.infer<typeof powersSchema>;

const createSchema = z.object({
  room_version: z.string().optional().catch(undefined),
  additional_creators: z.array(z.string()).optional().catch(undefined),
  predecessor: z.object({ room_id: z.string() }).optional().catch(undefined),
});
const createEventSchema = z.object({ sender: z.string(), content: createSchema });
const nameSchema = z.object({ name: z.string().trim().min(1) });
const tombstoneSchema = z.object({ replacement_room: z.string().min(1) });
const memberSchema = z.object({
  membership: z.string(),
  displayname: z.string().nullish().catch(undefined),
});
const membersSchema = z.object({
  chunk: z.array(z.object({ state_key: z.string(), content: memberSchema })),
});

/** State of a room as far as the bot needs it. */
export interface RoomState {
  powers: Powers | null;
  creator: string;
  create: z.infer<typeof createSchema>;
  name: string | null;
  /** How what is said there is encrypted; null where it is not. Once on, it stays on. */
  encryption: RoomEncryption | null;
  /** Who reads what was said before they came: `m.room.history_visibility`. */
  history: string;
}

const roomEncryptionSchema = z.object({
  algorithm: z.string(),
  rotation_period_ms: z.number().positive().optional().catch(undefined),
  rotation_period_msgs: z.number().positive().optional().catch(undefined),
});
type RoomEncryption = z.infer<typeof roomEncryptionSchema>;
const historySchema = z.object({ history_visibility: z.string() });
/** What counts where a room does not say (specification, "m.room.history_visibility"). */
const DEFAULT_HISTORY = 'shared';

/** The power that somebody has (Matrix specification, "m.room.power_levels"; from room version 12 on creators have all). */
export function powerOf({ powers, creator, create }: RoomState, person: string): number {
  const created = person === creator || (create.additional_creators ?? []).includes(person);
  const unlimited = Number(create.room_version ?? '1') >= 12;
  if (created && (unlimited || !powers)) return created && unlimited ? Number.POSITIVE_INFINITY : 100;
  return powers?.users?.[person] ?? powers?.users_default ?? 0;
}

/** Whether somebody may send events of a type that is not state. */
export const maySend = (state: RoomState, person: string, type: string): boolean =>
  powerOf(state, person) >= (state.powers?.events?.[type] ?? state.powers?.events_default ?? 0);

/** Whether somebody may take away what another said. */
export const mayRedact = (state: RoomState, person: string): boolean =>
  maySend(state, person, 'm.room.redaction') && powerOf(state, person) >= (state.powers?.redact ?? 50);

export interface Rooms {
  state(room: string): Promise<RoomState>;
  /** What `state` came to last; null where it has not been asked for. */
  lastState(room: string): RoomState | null;
  /** Display name in the room, or the id's local part. */
  nameOf(room: string, person: string): Promise<string>;
  /** Those who are given the keys of what is said: members, and the invited where they may read it. */
  readersOf(room: string): Promise<readonly string[]>;
  /** Those in the room and those invited to it, asked for anew. */
  membersOf(room: string): Promise<{ joined: string[]; invited: string[] }>;
  /** Whether somebody is in the room, asked for anew. */
  isIn(room: string, person: string): Promise<boolean>;
  /** The room that took this one's place; null when none has. */
  replacementOf(room: string): Promise<string | null>;
  /** Takes a state event in. */
  note(room: string, event: unknown): void;
  forget(room: string): void;
}

/** Display names are cut to so many characters. */
const NAME_LENGTH = 60;

const localPart = (id: string): string => id.slice(1).split(':')[0] || id;

export interface RoomsParts {
  connection: () => MatrixConnection;
  /** Rooms that were once seen to be encrypted: no answer of a homeserver takes that back. */
  remembered: { get(room: string): string | null; set(room: string, settings: string): void };
}

type Connection = RoomsParts['connection'];

/** What is kept of rooms until it changes. */
class KeptRooms {
  readonly known = new Map<string, Promise<RoomState>>();
  readonly settled = new Map<string, RoomState>();
  readonly names = new Map<string, string>();
  readonly readers = new Map<string, Promise<readonly string[]>>();

  keep(room: string, state: Promise<RoomState>): Promise<RoomState> {
    this.known.set(room, state);
    return state.then((read) => {
      if (this.known.get(room) === state) this.settled.set(room, read);
      return read;
    });
  }
}

const path = (room: string, rest: string) => `/_matrix/client/v3/rooms/${encodeURIComponent(room)}/${rest}`;

/** Content of a state event; null when there is none, or the bot may not see it. */
async function content(connection: Connection, room: string, type: string, key = ''): Promise<unknown> {
  try {
    return await connection().doRequest('GET', path(room, `state/${type}/${encodeURIComponent(key)}`));
  } catch (error) {
    if (networkErrorOf(error).kind === 'refused') return null;
    throw error;
  }
}

/** The event itself, where its sender matters. */
async function whole(connection: Connection, room: string, type: string): Promise<unknown> {
  const states: unknown = await connection().doRequest('GET', path(room, `state/${type}/`), {
    format: 'event',
  });
  return states;
}

async function membersOf(
  connection: Connection,
  room: string,
): Promise<{ joined: string[]; invited: string[] }> {
  const read = membersSchema.parse(await connection().doRequest('GET', path(room, 'members')));
  const having = (membership: string) =>
    read.chunk.filter((member) => member.content.membership === membership).map((one) => one.state_key);
  return { joined: having('join'), invited: having('invite') };
}

function memberName(read: unknown, person: string): string {
  return (
    cleanLine(memberSchema.safeParse(read).data?.displayname ?? '')
      .trim()
      .slice(0, NAME_LENGTH) || localPart(person)
  );
}

/** As the room says, or as it said before. */
function encryptionIn({ remembered }: RoomsParts, room: string, said: unknown): RoomEncryption | null {
  const read = roomEncryptionSchema.safeParse(said).data;
  if (read) {
    remembered.set(room, JSON.stringify(read));
    return read;
  }
  const before = remembered.get(room);
  return before === null ? null : roomEncryptionSchema.parse(JSON.parse(before));
}

async function load(parts: RoomsParts, room: string): Promise<RoomState> {
  const { connection } = parts;
  const [powers, create, name, encryption, history] = await Promise.all([
    content(connection, room, 'm.room.power_levels'),
    whole(connection, room, 'm.room.create'),
    content(connection, room, 'm.room.name'),
    content(connection, room, 'm.room.encryption'),
    content(connection, room, 'm.room.history_visibility'),
  ]);
  const made = createEventSchema.parse(create);
  return {
    powers: powersSchema.nullable().catch(null).parse(powers),
    creator: made.sender,
    create: made.content,
    name: nameSchema.safeParse(name).data?.name ?? null,
    encryption: encryptionIn(parts, room, encryption),
    history: historySchema.safeParse(history).data?.history_visibility ?? DEFAULT_HISTORY,
  };
}

/** Takes a state event in. */
function noteState(parts: RoomsParts, kept: KeptRooms, room: string, raw: unknown): void {
  const { known, names, readers } = kept;
  const read = eventSchema.safeParse(raw);
  if (!read.success || read.data.state_key === undefined) return;
  const { type, state_key, content: said } = read.data;
  if (type === 'm.room.member') {
    names.set(`${room} ${state_key}`, memberName(said, state_key));
    readers.delete(room);
    return;
  }
  if (type === 'm.room.encryption' && state_key === '') encryptionIn(parts, room, said);
  if (state_key !== '') return;
  const state = known.get(room);
  if (!state) return;
  const change = (made: Partial<RoomState>): void => {
    kept
      .keep(
        room,
        state.then((before) => ({ ...before, ...made })),
      )
      .catch(() => known.delete(room));
  };
  if (type === 'm.room.power_levels') change({ powers: powersSchema.parse(said) });
  else if (type === 'm.room.name') change({ name: nameSchema.safeParse(said).data?.name ?? null });
  else if (type === 'm.room.encryption') change({ encryption: encryptionIn(parts, room, said) });
  else if (type === 'm.room.history_visibility') {
    readers.delete(room);
    change({ history: historySchema.safeParse(said).data?.history_visibility ?? DEFAULT_HISTORY });
  }
}

export function roomsOf(parts: RoomsParts): Rooms {
  const { connection } = parts;
  const kept = new KeptRooms();
  const { known, settled, names, readers } = kept;
  return {
    state: (room) => {
      let found = known.get(room);
      if (!found) {
        found = load(parts, room);
        kept.keep(room, found).catch(() => known.delete(room));
      }
      return found;
    },
    lastState: (room) => settled.get(room) ?? null,
    nameOf: async (room, person) => {
      const key = `${room} ${person}`;
      const name =
        names.get(key) ?? memberName(await content(connection, room, 'm.room.member', person), person);
      names.set(key, name);
      return name;
    },
    membersOf: (room) => membersOf(connection, room),
    readersOf: (room) => {
      let found = readers.get(room);
      if (!found) {
        found = Promise.all([membersOf(connection, room), known.get(room) ?? load(parts, room)]).then(
          ([{ joined, invited }, { history }]) => (history === 'joined' ? joined : [...joined, ...invited]),
        );
        readers.set(room, found);
        found.catch(() => readers.delete(room));
      }
      return found;
    },
    isIn: async (room, person) =>
      memberSchema.safeParse(await content(connection, room, 'm.room.member', person)).data?.membership ===
      'join',
    replacementOf: async (room) =>
      tombstoneSchema.safeParse(await content(connection, room, 'm.room.tombstone')).data?.replacement_room ??
      null,
    note: (room, event) => noteState(parts, kept, room, event),
    forget: (room) => {
      known.delete(room);
      settled.delete(room);
      readers.delete(room);
      for (const key of names.keys()) if (key.startsWith(`${room} `)) names.delete(key);
    },
  };
}
