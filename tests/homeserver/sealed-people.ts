/**
 * People at an independent client, matrix-js-sdk, in encrypted rooms: it trusts cross-signed devices only. It neither shows
 * what others say nor gives them keys.
 */
import { setTimeout as pause } from 'node:timers/promises';
import {
  ClientEvent,
  createClient,
  EventType,
  type MatrixEvent,
  MatrixEventEvent,
  RoomEvent,
  RoomMemberEvent,
} from 'matrix-js-sdk';
import {
  type GeneratedSecretStorageKey,
  OnlySignedDevicesIsolationMode,
} from 'matrix-js-sdk/lib/crypto-api/index.js';
import { z } from 'zod';
import { type AnyPerson, type Seen, sayingOver, seenSchema, seesIn, until } from './people.ts';
import type { Account } from './synapse.ts';

const quiet = () => {};
const logger = {
  trace: quiet,
  debug: quiet,
  info: quiet,
  warn: quiet,
  error: quiet,
  getChild: () => logger,
};

type JsClient = ReturnType<typeof createClient>;
export interface SealedPerson extends AnyPerson {
  client: JsClient;
  /** What came in a room and cannot be read. */
  unreadIn(room: string): string[];
  /** Makes a room an encrypted one. */
  seals(room: string): Promise<void>;
  /** Keeps the account's keys under a new recovery key, and backs room keys up. */
  setsUpRecovery(): Promise<{ written: string; bytes: Buffer }>;
  /** From now on keys for these devices, `*` for all, do not leave this client; `give` sends them after all. */
  withhold(device: string): { give(): Promise<void> };
}

/** `signed` false: the person's device is not cross-signed, and she trusts every device. */
export async function sealedPersonOf(
  url: string,
  account: Account,
  { signed = true, startAgain = false }: { signed?: boolean; startAgain?: boolean } = {},
): Promise<SealedPerson> {
  /** Devices whose keys are held back, and the requests that they were in. */
  let held: { device: string; requests: { input: string; init: RequestInit }[] } | null = null;
  const keySchema = z.object({ messages: z.record(z.string(), z.record(z.string(), z.unknown())) });
  const fetchFn: typeof fetch = async (input, init = {}) => {
    if (!held || !/\/sendToDevice\/m\.room\.encrypted\//.test(String(input)) || typeof init.body !== 'string')
      return fetch(input, init);
    const { device } = held;
    const { messages } = keySchema.parse(JSON.parse(init.body));
    held.requests.push({ input: String(input), init });
    const passed = Object.entries(messages).map(([person, devices]) => {
      const others = Object.entries(devices).filter(([name]) => device !== '*' && name !== device);
      return [person, Object.fromEntries(others)] as const;
    });
    return fetch(input, { ...init, body: JSON.stringify({ messages: Object.fromEntries(passed) }) });
  };
  let recovery: GeneratedSecretStorageKey | null = null;
  const client = createClient({
    cryptoCallbacks: {
      getSecretStorageKey: async ({ keys }) => {
        const [id] = Object.keys(keys);
        return id !== undefined && recovery ? [id, new Uint8Array(recovery.privateKey)] : null;
      },
    },
    fetchFn,
    baseUrl: url,
    userId: account.id,
    accessToken: account.token,
    deviceId: account.device,
    logger,
  });
  await client.initRustCrypto({ useIndexedDB: false });
  const crypto = client.getCrypto();
  if (!crypto) throw new Error('no encryption');
  if (signed) crypto.setDeviceIsolationMode(new OnlySignedDevicesIsolationMode());
  const seen: Seen[] = [];
  const unread = new Map<string, string>();
  const invites: AnyPerson['invites'] = [];
  const joined = new Set<string>();
  /** Rooms that are not encrypted. */
  const plain = new Set<string>();
  const note = (event: MatrixEvent): void => {
    if (event.isDecryptionFailure()) {
      unread.set(event.getId() ?? '', event.getRoomId() ?? '');
      return;
    }
    unread.delete(event.getId() ?? '');
    if (event.isEncrypted() && event.getType() === 'm.room.encrypted') return;
    const read = seenSchema.safeParse({ ...event.getEffectiveEvent(), sealed: event.isEncrypted() });
    if (!read.success || seen.some((one) => one.event_id === read.data.event_id)) return;
    seen.push({ ...read.data, room: event.getRoomId() ?? '' });
  };
  client.on(RoomEvent.Timeline, note);
  client.on(MatrixEventEvent.Decrypted, note);
  client.on(RoomMemberEvent.Membership, (_, member) => {
    if (member.userId === account.id && member.membership === 'invite')
      invites.push({ room: member.roomId, state: [] });
  });
  const synced = new Promise<void>((resolve) => {
    client.on(ClientEvent.Sync, (state) => {
      if (state === 'PREPARED' || state === 'SYNCING') resolve();
    });
  });
  await client.startClient({ initialSyncLimit: 50 });
  await synced;
  if (signed && !startAgain)
    await crypto.bootstrapCrossSigning({
      authUploadDeviceSigningKeys: (request) => request(null).then(quiet),
    });
  const send = async (room: string, type: string, content: object): Promise<string> => {
    // Which rooms are encrypted it learns from its sync alone.
    while (!plain.has(room) && !(await crypto.isEncryptionEnabledInRoom(room))) await pause(25);
    // biome-ignore lint/suspicious/noExplicitAny: the SDK's types know only the event types of its own tables.
    return (await client.sendEvent(room, type as any, content as any)).event_id;
  };
  return {
    id: account.id,
    client,
    seen,
    unreadIn: (room) => [...unread].filter(([, where]) => where === room).map(([id]) => id),
    invites,
    ...sayingOver(send),
    sees: seesIn(seen),
    makesRoom: async (options) => {
      const { room_id } = await client.createRoom(options);
      if (!JSON.stringify(options).includes('m.room.encryption')) plain.add(room_id);
      return room_id;
    },
    joinsInvite: async (fits = () => true) => {
      const { room } = await until(
        () => invites.find((one) => !joined.has(one.room) && fits(one.room)),
        () => 'an invite',
      );
      joined.add(room);
      await client.joinRoom(room);
      return room;
    },
    seals: async (room) => {
      await client.sendStateEvent(room, EventType.RoomEncryption, megolm, '');
      plain.delete(room);
    },
    setsUpRecovery: async () => {
      recovery = await crypto.createRecoveryKeyFromPassphrase();
      const made = recovery;
      await crypto.bootstrapSecretStorage({
        createSecretStorageKey: async () => made,
        setupNewKeyBackup: true,
      });
      return { written: made.encodedPrivateKey ?? '', bytes: Buffer.from(made.privateKey) };
    },
    withhold: (device) => {
      held = { device, requests: [] };
      return {
        give: async () => {
          const { requests } = held ?? { requests: [] };
          held = null;
          // Another transaction: the first one counts as done.
          for (const { input, init } of requests) await fetch(`${input}x`, { ...init, signal: null });
        },
      };
    },
    stop: () => client.stopClient(),
  };
}

export const megolm = { algorithm: 'm.megolm.v1.aes-sha2' } as const;
/** What makes a new room an encrypted one. */
export const sealedState = [{ type: 'm.room.encryption', state_key: '', content: megolm }];
