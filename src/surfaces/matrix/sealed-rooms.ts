/** Encrypted rooms, as the rest of the surface sees them: what is said in a room goes out as that room wants it. */
import type { Content } from './content.ts';
import type { Encryption } from './encryption/encryption.ts';
import { KeyMissing } from './encryption/room-cipher.ts';
import type { LateKeys } from './late-keys.ts';
import type { Rooms } from './rooms.ts';

export interface SealedRooms {
  /** Whether the bot can read in encrypted rooms. */
  canRead: boolean;
  /** The event as it is to be sent to a room. */
  seal(room: string, type: string, content: Content): Promise<{ type: string; content: Content }>;
  /** An event of a room in the clear; as it is where it is not encrypted, or its key is not here. */
  open(room: string, event: object): Promise<object>;
  /** The same for an event that has just been said: where its key is not here it is waited for. */
  openHeard(room: string, event: object): Promise<object>;
  /** A file as it is to be uploaded for a room, with what its message says of it; null where it goes as it is. */
  sealFile(room: string, bytes: Buffer): Promise<{ bytes: Buffer; info: Content } | null>;
  /** Throws where the bytes are not what the message says; null where nothing can be opened. */
  openFile(bytes: Buffer, info: object): Buffer | null;
}

export interface SealedRoomsParts {
  /** Null where there is none. */
  encryption: Encryption | null;
  rooms: Rooms;
  lateKeys: LateKeys | null;
}

/** Reactions are not encrypted: the specification has no way to count them otherwise. */
const IN_THE_CLEAR = 'm.reaction';
const isSealed = (event: object): boolean => 'type' in event && event.type === 'm.room.encrypted';

export function sealedRoomsOf({ encryption, rooms, lateKeys }: SealedRoomsParts): SealedRooms {
  const open = async (room: string, event: object, onMissing: (session: string) => void): Promise<object> => {
    if (!encryption || !isSealed(event)) return event;
    try {
      return await encryption.decrypt(room, event);
    } catch (error) {
      if (!(error instanceof KeyMissing)) throw error;
      onMissing(error.session);
      return event;
    }
  };
  return {
    canRead: encryption !== null,
    seal: async (room, type, content) => {
      const { encryption: how, history } = await rooms.state(room);
      if (!encryption || !how || type === IN_THE_CLEAR) return { type, content };
      const sealed = await encryption.encrypt(room, type, content, {
        rotationMs: how.rotation_period_ms ?? null,
        rotationMessages: how.rotation_period_msgs ?? null,
        history,
        readers: await rooms.readersOf(room),
      });
      return { type: 'm.room.encrypted', content: { ...sealed } };
    },
    open: (room, event) => open(room, event, () => {}),
    openHeard: (room, event) => open(room, event, (session) => lateKeys?.wait(room, session, event)),
    sealFile: async (room, bytes) => {
      const { encryption: how } = await rooms.state(room);
      return encryption && how ? encryption.files.encrypt(bytes) : null;
    },
    openFile: (bytes, info) => encryption?.files.decrypt(bytes, info) ?? null,
  };
}
