/** The backup of room keys at the homeserver, where the account has one and the recovery key opens it. */
import { z } from 'zod';
import type { CryptoLibrary } from './crypto-library.ts';
import { find, type KeyServer, pathOf } from './key-server.ts';
import type { Machine, OutgoingRequests } from './outgoing-requests.ts';
import type { SecretStorage } from './secret-storage.ts';

const ALGORITHM = 'm.megolm_backup.v1.curve25519-aes-sha2';
const versionSchema = z.object({
  version: z.string(),
  algorithm: z.literal(ALGORITHM),
  auth_data: z.looseObject({ public_key: z.string() }),
});
const sessionSchema = z.object({
  session_data: z.object({ ephemeral: z.string(), mac: z.string(), ciphertext: z.string() }),
});

export interface KeyBackup {
  /** Backs up the keys that are not in it yet. */
  store(): Promise<void>;
  /** Fetches the key of one session; false where the backup has none. */
  fetch(room: string, session: string): Promise<boolean>;
}

export interface KeyBackupParts {
  library: CryptoLibrary;
  machine: Machine;
  server: KeyServer;
  outgoing: OutgoingRequests;
  /** Null without a recovery key that opens it. */
  storage: SecretStorage | null;
}

/** The key to this backup: from the last start, or from the secret storage. Null where neither has it. */
async function backupKey({ library, machine, storage }: KeyBackupParts, version: string, publicKey: string) {
  const kept = (await machine.getBackupKeys()).decryptionKey;
  if (kept?.megolmV1PublicKey.publicKeyBase64 === publicKey) return kept;
  const secret = await storage?.secret('m.megolm_backup.v1');
  if (!secret) return null;
  const key = library.BackupDecryptionKey.fromBase64(secret);
  if (key.megolmV1PublicKey.publicKeyBase64 !== publicKey) return null;
  await machine.saveBackupDecryptionKey(library.BackupDecryptionKey.fromBase64(secret), version);
  return key;
}

/** Null where there is no backup, or it cannot be opened here. */
export async function openKeyBackup(parts: KeyBackupParts): Promise<KeyBackup | null> {
  const { library, machine, server, outgoing } = parts;
  const found = versionSchema.safeParse(await find(server, pathOf('room_keys', 'version'))).data;
  if (!found) return null;
  const { version, auth_data } = found;
  const key = await backupKey(parts, version, auth_data.public_key);
  if (!key) return null;
  await machine.enableBackupV1(auth_data.public_key, version);
  return {
    store: async () => {
      for (;;) {
        const request = await machine.backupRoomKeys();
        if (!request) return;
        await outgoing.send(request);
      }
    },
    fetch: async (room, session) => {
      const path = `${pathOf('room_keys', 'keys', room, session)}?version=${encodeURIComponent(version)}`;
      const kept = sessionSchema.safeParse(await find(server, path)).data?.session_data;
      if (!kept) return false;
      const opened: unknown = JSON.parse(key.decryptV1(kept.ephemeral, kept.mac, kept.ciphertext));
      const keys = new Map([[new library.RoomId(room), new Map([[session, opened]])]]);
      const { importedCount } = await machine.importBackedUpRoomKeys(keys, () => {}, version);
      return importedCount > 0;
    },
  };
}
