/** Connects the bot to a homeserver. */
import { setTimeout as pause } from 'node:timers/promises';
import type { Command } from '../../../commands/framework/command.ts';
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import type { ReplyFile } from '../../../commands/framework/reply.ts';
import { commandsWith } from '../../../commands/index.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import { ChatMessages } from '../chat-messages.ts';
import { JobCards } from '../job-cards.ts';
import type { SurfaceWatch } from '../surface-watch.ts';
import type { Poster } from '../weekly-poster.ts';
import { badToken, faultLog, keyServerOf, whoAmI } from './account.ts';
import { adminRoomOf } from './admin-room.ts';
import { attachmentsOf } from './attachments.ts';
import { backlogOf } from './backlog.ts';
import { createClient, type MatrixConnection } from './client.ts';
import { conversationOf } from './conversation.ts';
import { type Delivery, deliveryOver, NotSent, Stopped } from './delivery.ts';
import { directRoomsOf } from './direct-rooms.ts';
import type { Encryption } from './encryption/encryption.ts';
import { eventSchema, hear, leaverOf } from './events.ts';
import { matrixJobThreadsOf } from './job-threads.ts';
import { type LateKeys, lateKeysOf } from './late-keys.ts';
import { membershipOf } from './membership.ts';
import { memoryOf } from './memory.ts';
import { matrixHandsOf } from './message-hands.ts';
import { type NetworkError, networkErrorOf } from './network-error.ts';
import { openOwnEncryption, tellStanding } from './own-encryption.ts';
import { patienceOf } from './patience.ts';
import { posterFor } from './poster.ts';
import { introduce } from './profile.ts';
import { MATRIX, matrixRequestersOf } from './requester.ts';
import { matrixCommands } from './room-command.ts';
import { roomsOf } from './rooms.ts';
import { sealedRoomsOf } from './sealed-rooms.ts';
import type { MatrixSettings } from './settings.ts';
import { speakerOf } from './speaker.ts';

export interface MatrixParts {
  settings: MatrixSettings;
  database: Database;
  dispatcher: Dispatcher;
  commands: readonly Command[];
  /** A new id that cannot be guessed. */
  makeId: () => string;
  clock: () => Date;
  log: Log;
  drawFile: (file: ReplyFile) => Promise<Buffer>;
  /** How old what was said must be for its answer to say so, in milliseconds; two minutes when not given. */
  lateAfterMs?: number;
  watch?: SurfaceWatch;
  /** What becomes of messages after they were sent, on all surfaces together. */
  messages?: ChatMessages;
}

export interface MatrixSurface {
  /** The bot's own Matrix id. */
  id: string;
  /** Null when encrypted rooms work; otherwise why they do not. */
  withoutEncryption: string | null;
  /** For the weekly post in a room. */
  posterFor(room: string): Poster;
  /** Ends the connection, when what is being answered just now has been; at most some seconds. */
  stop(): Promise<void>;
  /** Resolves with the reason when the surface has ended by itself, as when its token is no longer accepted. */
  ended: Promise<string>;
}

const LATE_MS = 2 * 60_000;
const STOP_MS = 5000;
const TIDY_MS = 24 * 3600_000;

/** Publishes the device's keys; a homeserver that does not take them leaves the rest working. */
async function prepare(encryption: Encryption, delivery: Delivery, log: Log): Promise<void> {
  try {
    await delivery.keepTrying(encryption.prepare);
    tellStanding(encryption, log);
  } catch (error) {
    if (!(error instanceof NotSent)) throw error;
    log('matrix', `the homeserver does not take the keys of the device: ${error.code}`);
  }
}

/**
 * Runs until it is stopped. Resolves when it listens. Throws WrongSetting with one clear line, without the token, when the
 * homeserver does not accept it; a homeserver that is away is waited for.
 */
export async function startMatrix(parts: MatrixParts): Promise<MatrixSurface> {
  const { settings, database, clock, makeId } = parts;
  const say = faultLog(parts.log, parts.watch);
  const account = await whoAmI(settings, Number.POSITIVE_INFINITY, say);
  const own = account.id;
  const memory = memoryOf(database.surfaceState, own, clock);
  memory.tidy();

  let end: (reason: string) => void = () => {};
  const ended = new Promise<string>((resolve) => {
    end = resolve;
  });
  let client: MatrixConnection | null = null;
  const connection = (): MatrixConnection => {
    if (!client) throw new Stopped();
    return client;
  };
  const rooms = roomsOf({ connection, remembered: memory.encryption });
  const adminRoom = adminRoomOf({
    room: settings.adminRoom,
    connection,
    rooms,
    memory,
    log: parts.log,
    speaker: () => speaker,
    clock,
  });
  const { log } = adminRoom;
  const onFault = (fault: NetworkError | null): void => {
    if (fault?.kind !== 'token') {
      say(fault);
      return;
    }
    log('matrix', badToken(settings));
    client?.stop();
    delivery.stop();
    end(badToken(settings));
  };
  /** What goes wrong beside the answers: the network's faults are told of as such, and pass. */
  const onAside = (error: unknown): void => {
    const fault = networkErrorOf(error);
    if (error instanceof Stopped || fault.kind === 'limited' || fault.kind === 'away') return;
    log('matrix', fault.kind === 'refused' ? `encryption: the homeserver refuses (${fault.code})` : error);
  };

  let lateKeys: LateKeys | null = null;
  const { encryption, without } = await openOwnEncryption(account, {
    records: database.sealedRecords,
    server: keyServerOf(connection),
    recoveryKey: settings.recoveryKey,
    onKeys: (sessions) => lateKeys?.came(sessions),
    onError: onAside,
  });
  const backlog = backlogOf((error) => {
    if (error instanceof Stopped) return 'halt';
    log(makeId().slice(0, 8), error);
    return 'go on';
  });
  const takeIn = (room: string, event: object): void => {
    const said = hear(event, own, clock());
    if (said) backlog.add(room, () => conversation.hear(room, said));
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
        onError: onAside,
      })
    : null;
  const sealedRooms = sealedRoomsOf({ encryption, rooms, lateKeys });
  const delivery = deliveryOver(connection, sealedRooms.seal, () => clock().getTime(), onFault);
  const { prefix } = settings;
  const requesters = matrixRequestersOf({
    database,
    rooms,
    clock,
    stewardLevel: settings.stewardLevel,
    own,
    allow: settings.allow,
  });
  const commands = commandsWith(
    matrixCommands(() => ({
      database,
      own,
      stewardLevel: settings.stewardLevel,
      stateOf: rooms.lastState,
      isLimited: delivery.isLimited,
      homesOf: requesters.homesOf,
      choose: ({ key }, collective) => database.channelBindings.setHome(key, collective),
    })),
    parts.commands,
  );
  const commandNames = commands.map(({ name }) => name);
  const directs = directRoomsOf({ connection, own, rooms, delivery, canRead: sealedRooms.canRead });
  const speaker = speakerOf({
    connection,
    delivery,
    sealedRooms,
    memory,
    clock,
    log,
    prefix,
    commandNames,
    drawFile: parts.drawFile,
  });
  const dispatcher = parts.dispatcher.withCommands(commands);
  let ownName: string | null = null;
  const messages = parts.messages ?? new ChatMessages({ database, clock, onFault: onAside });
  const shared = {
    database,
    connection,
    delivery,
    rooms,
    directs,
    speaker,
    memory,
    clock,
    log,
    own,
    messages,
  };
  const conversation = conversationOf({
    ...shared,
    patience: patienceOf(() => clock().getTime()),
    dispatcher,
    commands,
    makeId,
    ownName: () => ownName,
    prefix,
    stewardLevel: settings.stewardLevel,
    requesters,
    adminRoom,
    canDecrypt: sealedRooms.canRead,
    lateAfterMs: parts.lateAfterMs ?? LATE_MS,
    attachments: attachmentsOf({ connection, sealedRooms, commands }),
  });
  const membership = membershipOf({ ...shared, allow: settings.allow });

  client = createClient({
    homeserver: settings.homeserver,
    token: settings.token,
    startAt: memory.syncToken(),
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
    onBatch: (token) => backlog.mark(() => memory.saveSyncToken(token)),
    onFault,
  });
  client.on('room.leave', (room: string) => rooms.forget(room));
  client.on('account_data', (event: unknown) => directs.take(event));

  if (encryption) await prepare(encryption, delivery, log);
  await delivery.keepTrying(async () => {
    await directs.load();
    ownName = await introduce(connection(), own);
    await connection().start();
  });
  const tidying = setInterval(memory.tidy, TIDY_MS);
  tidying.unref();
  const { tellOfSilence } = conversation;
  const poster = {
    connection,
    delivery,
    speaker,
    rooms,
    sealedRooms,
    tellOfSilence,
    own,
    prefix,
    commandNames,
  };
  const threads = matrixJobThreadsOf({ ...poster, database, memory, clock, log });
  const cards = new JobCards({ platform: MATRIX, database, dispatcher, threads, clock, onFault: onAside });
  messages.register(MATRIX, matrixHandsOf({ database, connection, delivery, sealedRooms }), cards.moved);
  cards.start();
  return {
    id: own,
    withoutEncryption: without,
    posterFor: (room) => posterFor(room, poster),
    ended,
    stop: async () => {
      clearInterval(tidying);
      cards.stop();
      messages.unregister(MATRIX);
      lateKeys?.stop();
      client?.stop();
      await Promise.race([backlog.idle(), pause(STOP_MS, undefined, { ref: false })]);
      delivery.stop();
      await encryption?.close();
    },
  };
}
