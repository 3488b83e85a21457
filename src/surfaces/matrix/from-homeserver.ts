/** What comes from the homeserver: opened where it is encrypted, and taken in room by room, in its order. */
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import { type Account, keyServerOf } from './account.ts';
import { type Backlog, backlogOf } from './backlog.ts';
import type { MatrixConnection, SyncParts } from './client.ts';
import { type Delivery, Stopped } from './delivery.ts';
import type { Encryption } from './encryption/encryption.ts';
import { eventSchema, type Heard, hear, leaverOf } from './events.ts';
import { type LateKeys, lateKeysOf } from './late-keys.ts';
import type { Membership } from './membership.ts';
import { networkErrorOf } from './network-error.ts';
import { openOwnEncryption } from './own-encryption.ts';
import type { Rooms } from './rooms.ts';
import { type SealedRooms, sealedRoomsOf } from './sealed-rooms.ts';

export interface FromHomeserverParts {
  account: Account;
  database: Database;
  recoveryKey: Buffer | null;
  connection: () => MatrixConnection;
  rooms: Rooms;
  clock: () => Date;
  makeId: () => string;
  log: Log;
  /** What was said in a room, in the clear where it could be read. */
  hearIn(room: string, heard: Heard): Promise<void>;
}

export interface FromHomeserver {
  encryption: Encryption | null;
  /** Why there is none; null where there is. */
  without: string | null;
  lateKeys: LateKeys | null;
  sealedRooms: SealedRooms;
  backlog: Backlog;
  takeIn(room: string, event: object): void;
}

/** What goes wrong beside the answers: the network's faults are told of as such, and pass. */
export const besideTheAnswers =
  (log: Log) =>
  (error: unknown): void => {
    const fault = networkErrorOf(error);
    if (error instanceof Stopped || fault.kind === 'limited' || fault.kind === 'away') return;
    log('matrix', fault.kind === 'refused' ? `encryption: the homeserver refuses (${fault.code})` : error);
  };

export async function fromHomeserverOf(parts: FromHomeserverParts): Promise<FromHomeserver> {
  const { account, database, rooms, clock, log } = parts;
  const own = account.id;
  const onError = besideTheAnswers(log);
  let lateKeys: LateKeys | null = null;
  const { encryption, without } = await openOwnEncryption(account, {
    records: database.sealedRecords,
    server: keyServerOf(parts.connection),
    recoveryKey: parts.recoveryKey,
    onKeys: (sessions) => lateKeys?.came(sessions),
    onError,
  });
  const backlog = backlogOf((error) => {
    if (error instanceof Stopped) return 'halt';
    log(parts.makeId().slice(0, 8), error);
    return 'go on';
  });
  const takeIn = (room: string, event: object): void => {
    const said = hear(event, own, clock());
    if (said) backlog.add(room, () => parts.hearIn(room, said));
  };
  lateKeys = encryption
    ? lateKeysOf({
        records: database.sealedRecords,
        own,
        clock,
        open: (room, event) => sealedRooms.open(room, event),
        seek: encryption.seek,
        onRead: takeIn,
        onUnread: takeIn,
        onError,
      })
    : null;
  const sealedRooms = sealedRoomsOf({ encryption, rooms, lateKeys });
  return { encryption, without, lateKeys, sealedRooms, backlog, takeIn };
}

type SyncHandlers = Pick<SyncParts, 'onKeys' | 'open' | 'onInvite' | 'onState' | 'onGap' | 'onEvent'>;

/** What is done with what a sync brings. */
export function syncHandlers(
  { encryption, lateKeys, sealedRooms, backlog, takeIn }: FromHomeserver,
  rooms: Rooms,
  membership: Membership,
  delivery: Delivery,
  own: string,
): SyncHandlers {
  return {
    ...(encryption ? { onKeys: encryption.receive, open: sealedRooms.openHeard } : {}),
    onInvite: (room, state) =>
      backlog.add(room, () => delivery.keepTrying(() => membership.invited(room, state))),
    onState: rooms.note,
    onGap: rooms.forget,
    onEvent: (room, event, heard) => {
      rooms.note(room, event);
      const read = eventSchema.safeParse(event).data;
      if (read?.type === 'm.room.tombstone' && read.state_key === '')
        backlog.add(room, () => delivery.keepTrying(() => membership.replaced(room, event)));
      const gone = heard ? leaverOf(event) : null;
      if (gone !== null && gone !== own)
        backlog.add(room, () => delivery.keepTrying(() => membership.left(room, gone)));
      // What cannot be read yet is heard when its key has come, or has not come for a while.
      if (heard && read && !(lateKeys && read.type === 'm.room.encrypted')) takeIn(room, read);
    },
  };
}
