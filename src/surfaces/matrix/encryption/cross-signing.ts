/**
 * Whether the bot's device is signed by its account. Clients neither show what an unsigned device says nor give it keys, so an
 * account without such keys gets them at the first start; where it has some, they are taken from its secret storage with the
 * recovery key, and never made anew.
 */
import { z } from 'zod';
import type { CryptoLibrary } from './crypto-library.ts';
import { find, type KeyServer, pathOf } from './key-server.ts';
import type { LibraryRequest, Machine, OutgoingRequests } from './outgoing-requests.ts';
import type { SecretStorage } from './secret-storage.ts';

export type CrossSigning =
  | 'signed'
  /** The account has keys, and they are not here: the recovery key is wanted. */
  | 'wants-recovery-key'
  /** A recovery key was given, and it opens nothing, or not all that is needed. */
  | 'wrong-recovery-key'
  /** The homeserver wants the account's password before it takes new keys. */
  | 'refused';

export interface CrossSigningParts {
  library: CryptoLibrary;
  machine: Machine;
  server: KeyServer;
  outgoing: OutgoingRequests;
  own: string;
  device: string;
  /** Null where no recovery key was given; `storage` null where it opens nothing. */
  recovery: { storage: SecretStorage | null } | null;
}

const secretNames = ['master', 'self_signing', 'user_signing'].map((name) => `m.cross_signing.${name}`);

/** Looks up what the homeserver says of the account's own keys. */
async function askForOwnKeys({ library, machine, outgoing, own }: CrossSigningParts): Promise<void> {
  await outgoing.send(machine.queryKeysForUsers([new library.UserId(own)]));
}

/** New keys of the account, or those that are here and never reached the homeserver. */
async function bootstrap(parts: CrossSigningParts, reset: boolean): Promise<CrossSigning> {
  const { machine, server, outgoing } = parts;
  const { uploadKeysRequest, uploadSigningKeysRequest, uploadSignaturesRequest } =
    await machine.bootstrapCrossSigning(reset);
  const first: LibraryRequest | undefined = uploadKeysRequest;
  if (first) await outgoing.send(first);
  try {
    const keys: unknown = JSON.parse(uploadSigningKeysRequest.body);
    await server.call('POST', pathOf('keys', 'device_signing', 'upload'), keys);
  } catch (error) {
    if (server.isRefusal(error)) return 'refused';
    throw error;
  }
  await outgoing.send(uploadSignaturesRequest);
  await askForOwnKeys(parts);
  return 'signed';
}

async function takeFromStorage(parts: CrossSigningParts): Promise<CrossSigning> {
  const { machine, recovery } = parts;
  if (!recovery) return 'wants-recovery-key';
  const { storage } = recovery;
  if (!storage) return 'wrong-recovery-key';
  const [master, selfSigning, userSigning] = await Promise.all(secretNames.map(storage.secret));
  if (!selfSigning) return 'wrong-recovery-key';
  await machine.importCrossSigningKeys(master ?? null, selfSigning, userSigning ?? null);
  const { hasSelfSigning } = await machine.crossSigningStatus();
  return hasSelfSigning ? await signOwnDevice(parts) : 'wrong-recovery-key';
}

const ownDevice = ({ library, machine, own, device }: CrossSigningParts) =>
  machine.getDevice(new library.UserId(own), new library.DeviceId(device));

async function signOwnDevice(parts: CrossSigningParts): Promise<CrossSigning> {
  const device = await ownDevice(parts);
  if (!device) return 'refused';
  if (!device.isCrossSignedByOwner()) {
    await parts.outgoing.send(await device.verify());
    await askForOwnKeys(parts);
  }
  return 'signed';
}

/** Signs the bot's device where that can be done, and says how it stands. The device's own keys are at the homeserver. */
export async function crossSign(parts: CrossSigningParts): Promise<CrossSigning> {
  const { library, machine, own } = parts;
  await askForOwnKeys(parts);
  const { hasMaster, hasSelfSigning, hasUserSigning } = await machine.crossSigningStatus();
  const atServer = await machine.getIdentity(new library.UserId(own));
  if (!atServer) return bootstrap(parts, !(hasMaster && hasSelfSigning && hasUserSigning));
  return hasSelfSigning ? signOwnDevice(parts) : takeFromStorage(parts);
}

const keysSchema = z.object({
  device_keys: z.record(z.string(), z.record(z.string(), z.unknown())).catch({}),
  self_signing_keys: z
    .record(z.string(), z.object({ keys: z.record(z.string(), z.string()) }))
    .catch({})
    .default({}),
});
const signedSchema = z.object({
  signatures: z.record(z.string(), z.record(z.string(), z.string())).catch({}),
});

export interface Published {
  /** The account has cross-signing keys. */
  account: boolean;
  /** The device has keys there. */
  device: boolean;
  /** And they are signed by the account. */
  signed: boolean;
  /** The version of the account's backup of room keys; null when it has none. */
  backup: string | null;
}
const backupSchema = z.object({ version: z.string() });

/** What the homeserver has of an account and its device; changes nothing. */
export async function publishedKeys(server: KeyServer, own: string, device: string): Promise<Published> {
  const query = { device_keys: { [own]: [] } };
  const read = keysSchema.parse(await server.call('POST', pathOf('keys', 'query'), query));
  const keys = read.device_keys[own]?.[device];
  const [signer] = Object.keys(read.self_signing_keys[own]?.keys ?? {});
  const signatures = signedSchema.safeParse(keys).data?.signatures[own] ?? {};
  return {
    account: signer !== undefined,
    device: keys !== undefined,
    signed: signer !== undefined && signer in signatures,
    backup: backupSchema.safeParse(await find(server, pathOf('room_keys', 'version'))).data?.version ?? null,
  };
}
