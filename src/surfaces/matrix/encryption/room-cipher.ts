/** Encrypts and decrypts the events of rooms. */
import { z } from 'zod';
import type { CryptoLibrary } from './crypto-library.ts';
import type { KeyServer } from './key-server.ts';
import type { Machine, OutgoingRequests } from './outgoing-requests.ts';

/** How a room wants to be encrypted, and who reads in it. */
export interface RoomCipher {
  /** Milliseconds and messages after which a new key is made; null: what the specification recommends. */
  rotationMs: number | null;
  rotationMessages: number | null;
  /** `m.room.history_visibility`. */
  history: string;
  /** Those who get the key: members, and the invited where they may read what was said before they came. */
  readers: readonly string[];
}

/** A message whose key is not here. */
export class KeyMissing extends Error {
  readonly session: string;
  constructor(session: string) {
    super('the key of a message is not here');
    this.name = 'KeyMissing';
    this.session = session;
  }
}

const openedSchema = z.object({ type: z.string(), content: z.record(z.string(), z.unknown()) });
const sealedSchema = z.looseObject({
  content: z.object({ session_id: z.string().catch('') }).catch({ session_id: '' }),
});
/** Recommended by the specification ("m.room.encryption"): a week, 100 messages. */
const WEEK_MS = 7 * 24 * 3600_000;
const MESSAGES = 100;

export interface CipherParts {
  library: CryptoLibrary;
  machine: Machine;
  server: KeyServer;
  outgoing: OutgoingRequests;
  flush: () => void;
}

export function cipherOf({ library, machine, outgoing, flush }: CipherParts) {
  const { RoomId, UserId, EncryptionSettings, EncryptionAlgorithm, HistoryVisibility } = library;
  const visibilities: Readonly<Record<string, number>> = {
    invited: HistoryVisibility.Invited,
    joined: HistoryVisibility.Joined,
    shared: HistoryVisibility.Shared,
    world_readable: HistoryVisibility.WorldReadable,
  };
  const idsOf = (people: readonly string[]) => people.map((person) => new UserId(person));

  const settingsFor = ({ rotationMs, rotationMessages, history }: RoomCipher) => {
    const settings = new EncryptionSettings();
    settings.algorithm = EncryptionAlgorithm.MegolmV1AesSha2;
    settings.historyVisibility = visibilities[history] ?? HistoryVisibility.Shared;
    // The library counts in microseconds.
    settings.rotationPeriod = BigInt(Math.round((rotationMs ?? WEEK_MS) * 1000));
    settings.rotationPeriodMessages = BigInt(Math.round(rotationMessages ?? MESSAGES));
    return settings;
  };

  /** Sees to it that all who read there have the key of the next message; a new one where somebody has left. */
  const shareKey = async (room: string, cipher: RoomCipher): Promise<void> => {
    await machine.updateTrackedUsers(idsOf(cipher.readers));
    // Who has devices that were never seen is asked about first; other requests can wait for the sync.
    for (const request of await machine.outgoingRequests())
      if (request.type === library.RequestType.KeysQuery) await outgoing.send(request);
    const claim = await machine.getMissingSessions(idsOf(cipher.readers));
    if (claim) await outgoing.send(claim);
    const shared = await machine.shareRoomKey(new RoomId(room), idsOf(cipher.readers), settingsFor(cipher));
    for (const request of shared) await outgoing.send(request);
  };

  return {
    /** The content of `m.room.encrypted` for a content that is to be said in a room. */
    encrypt: async (room: string, type: string, content: object, cipher: RoomCipher): Promise<object> => {
      await shareKey(room, cipher);
      const sealed = await machine.encryptRoomEvent(new RoomId(room), type, JSON.stringify(content));
      flush();
      return z.record(z.string(), z.unknown()).parse(JSON.parse(sealed));
    },
    /** The event with its type and content in the clear. Throws KeyMissing. */
    decrypt: async (room: string, event: object): Promise<object> => {
      const settings = new library.DecryptionSettings(library.TrustRequirement.Untrusted);
      try {
        const opened = await machine.decryptRoomEvent(JSON.stringify(event), new RoomId(room), settings);
        return { ...event, ...openedSchema.parse(JSON.parse(opened.event)) };
      } catch (error) {
        if (!(error instanceof library.MegolmDecryptionError)) throw error;
        throw new KeyMissing(sealedSchema.parse(event).content.session_id);
      }
    },
  };
}
