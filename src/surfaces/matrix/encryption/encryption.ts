/**
 * Encryption for the bot's account and device: keys kept sealed in the store, the device signed by its account, events and
 * files of rooms. It stands beside matrix-bot-sdk; why is said in the README of this surface.
 */
import { z } from 'zod';
import type { SealedRecords } from '../../../../shared/store/index.ts';
import { type CrossSigning, crossSign } from './cross-signing.ts';
import { type CryptoLibrary, loadCrypto, withIndexedDb } from './crypto-library.ts';
import { encryptedFilesOf } from './encrypted-files.ts';
import { openIndexedDb } from './indexed-db.ts';
import { type KeyBackup, openKeyBackup } from './key-backup.ts';
import type { KeyServer } from './key-server.ts';
import { oneAtATime } from './one-at-a-time.ts';
import { type Machine, outgoingRequestsOf } from './outgoing-requests.ts';
import { cipherOf, type RoomCipher } from './room-cipher.ts';
import { openSecretStorage, type SecretStorage } from './secret-storage.ts';

export interface EncryptionParts {
  records: SealedRecords;
  server: KeyServer;
  own: string;
  device: string;
  /** The 32 bytes of the recovery key; null when none was given. */
  recoveryKey: Buffer | null;
  /** Keys have come for these sessions. */
  onKeys(sessions: readonly { room: string; session: string }[]): void;
  /** Something that is done beside the answers did not work; it is tried again. */
  onError(error: unknown): void;
}

export interface Encryption {
  /** How the device stands; looked at by `prepare`. */
  standing(): CrossSigning;
  /** Whether room keys go to a backup at the homeserver. */
  backsUp(): boolean;
  /** Publishes the device's keys and signs it. Throws where the homeserver is away. */
  prepare(): Promise<void>;
  /** Takes in what a sync says of keys and devices. */
  receive(sync: unknown): Promise<void>;
  encrypt(room: string, type: string, content: object, cipher: RoomCipher): Promise<object>;
  /** Throws KeyMissing. */
  decrypt(room: string, event: object): Promise<object>;
  /** Looks for a key in the backup; `onKeys` is told when it is there. */
  seek(room: string, session: string): Promise<void>;
  files: ReturnType<typeof encryptedFilesOf>;
  /** Writes what has changed; nothing is written afterwards. */
  close(): Promise<void>;
}

const names = z.array(z.string()).catch([]).default([]);
const syncSchema = z.looseObject({
  next_batch: z.string(),
  to_device: z.object({ events: z.array(z.unknown()).catch([]).default([]) }).optional(),
  device_lists: z.object({ changed: names, left: names }).optional(),
  device_one_time_keys_count: z.record(z.string(), z.number()).optional(),
  device_unused_fallback_key_types: z.array(z.string()).optional(),
});

/** Where the keys of an account's device lie in the store: another device begins with its own. */
const spaceOf = (own: string, device: string): string => `matrix:${own}:${device}`;

/** The library's device, with its keys in the store. */
async function openMachine(library: CryptoLibrary, { records, own, device }: EncryptionParts) {
  const kept = await openIndexedDb(records, spaceOf(own, device));
  const machine = await withIndexedDb(kept.factory, async () =>
    library.OlmMachine.initFromStore(
      new library.UserId(own),
      new library.DeviceId(device),
      await library.StoreHandle.open('keys', null),
    ),
  );
  return { kept, machine };
}

/** Hands over what a sync says of keys and devices. */
function receiveKeys(library: CryptoLibrary, machine: Machine, sync: z.infer<typeof syncSchema>) {
  const { to_device, device_lists, device_one_time_keys_count, device_unused_fallback_key_types } = sync;
  const idsOf = (people: readonly string[] = []) => people.map((person) => new library.UserId(person));
  return machine.receiveSyncChanges(
    JSON.stringify(to_device?.events ?? []),
    new library.DeviceLists(idsOf(device_lists?.changed), idsOf(device_lists?.left)),
    new Map(Object.entries(device_one_time_keys_count ?? {})),
    device_unused_fallback_key_types && new Set(device_unused_fallback_key_types),
    new library.DecryptionSettings(library.TrustRequirement.Untrusted),
  );
}

/** Throws CannotOpen where the keys that are kept were sealed under a key that is not here, NoKey where none can be kept. */
export async function openEncryption(parts: EncryptionParts): Promise<Encryption> {
  const { server, own, device, onError } = parts;
  const library = await loadCrypto();
  const { kept, machine } = await openMachine(library, parts);
  /** After the end nothing is written any more: another start may have the store by then. */
  let closed = false;
  const flush = (): void => {
    if (closed) throw new Error('the encryption has been closed');
    kept.flush();
  };
  flush();
  const outgoing = outgoingRequestsOf(library, machine, server, flush);
  const cipher = cipherOf({ library, machine, server, outgoing, flush });
  const inTurn = oneAtATime();
  let standing: CrossSigning = 'wants-recovery-key';
  let backup: KeyBackup | null = null;
  /** The batch whose keys were taken in last: one that is tried again brings nothing new. */
  let received: string | null = null;

  await machine.registerRoomKeyUpdatedCallback(async (infos) => {
    parts.onKeys(infos.map(({ roomId, sessionId }) => ({ room: roomId.toString(), session: sessionId })));
  });

  const housekeeping = (): void => {
    void inTurn(async () => {
      await outgoing.sendAll();
      await backup?.store();
      flush();
    }).catch((error: unknown) => {
      if (!closed) onError(error);
    });
  };

  return {
    standing: () => standing,
    backsUp: () => backup !== null,
    prepare: () =>
      inTurn(async () => {
        await outgoing.sendAll();
        let storage: SecretStorage | null = null;
        if (parts.recoveryKey) storage = await openSecretStorage(server, own, parts.recoveryKey);
        const recovery = parts.recoveryKey ? { storage } : null;
        standing = await crossSign({ library, machine, server, outgoing, own, device, recovery });
        backup = await openKeyBackup({ library, machine, server, outgoing, storage });
        flush();
      }),
    receive: async (sync) => {
      const read = syncSchema.parse(sync);
      if (received === read.next_batch) return;
      await inTurn(() => receiveKeys(library, machine, read));
      received = read.next_batch;
      flush();
      housekeeping();
    },
    encrypt: (room, type, content, how) => inTurn(() => cipher.encrypt(room, type, content, how)),
    decrypt: cipher.decrypt,
    seek: (room, session) =>
      inTurn(async () => {
        if (await backup?.fetch(room, session)) parts.onKeys([{ room, session }]);
      }),
    files: encryptedFilesOf(library),
    // The library is not told: what is under way would find nothing where it looks.
    close: () =>
      inTurn(async () => {
        flush();
        closed = true;
      }),
  };
}
