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
import { badToken, faultLog, whoAmI } from './account.ts';
import { type AdminRoom, adminRoomOf } from './admin-room.ts';
import { attachmentsOf } from './attachments.ts';
import { createClient, type MatrixConnection } from './client.ts';
import { conversationOf } from './conversation.ts';
import { type Delivery, deliveryOver, NotSent, Stopped } from './delivery.ts';
import { directRoomsOf } from './direct-rooms.ts';
import type { Encryption } from './encryption/encryption.ts';
import { besideTheAnswers, type FromHomeserver, fromHomeserverOf, syncHandlers } from './from-homeserver.ts';
import { MatrixJobThreads } from './job-threads.ts';
import { membershipOf } from './membership.ts';
import { type Memory, memoryOf } from './memory.ts';
import { matrixHandsOf } from './message-hands.ts';
import type { NetworkError } from './network-error.ts';
import { tellStanding } from './own-encryption.ts';
import { patienceOf } from './patience.ts';
import { type MatrixPosterParts, posterFor } from './poster.ts';
import { introduce } from './profile.ts';
import { MATRIX, matrixRequestersOf } from './requester.ts';
import { matrixCommands } from './room-command.ts';
import { type Rooms, roomsOf } from './rooms.ts';
import type { MatrixSettings } from './settings.ts';
import { type Speaker, speakerOf } from './speaker.ts';

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

/** The connection, from when there is one until the surface has ended. */
class Holder {
  readonly ended: Promise<string>;
  end: (reason: string) => void = () => {};
  client: MatrixConnection | null = null;
  /** The bot's display name, once it is known. */
  ownName: string | null = null;

  constructor() {
    this.ended = new Promise<string>((resolve) => {
      this.end = resolve;
    });
  }

  readonly connection = (): MatrixConnection => {
    if (!this.client) throw new Stopped();
    return this.client;
  };
}

/** What all of the surface stands on. */
interface Ground extends Omit<MatrixParts, 'messages'> {
  own: string;
  connection: () => MatrixConnection;
  rooms: Rooms;
  memory: Memory;
  adminRoom: AdminRoom;
  ownName: () => string | null;
  messages: ChatMessages;
}

function groundOf(parts: MatrixParts, own: string, holder: Holder, speaker: () => Speaker): Ground {
  const { settings, database, clock } = parts;
  const { connection } = holder;
  const memory = memoryOf(database.surfaceState, own, clock);
  memory.tidy();
  const rooms = roomsOf({ connection, remembered: memory.encryption });
  const adminRoom = adminRoomOf({
    room: settings.adminRoom,
    connection,
    rooms,
    memory,
    log: parts.log,
    speaker,
    clock,
  });
  const onFault = besideTheAnswers(adminRoom.log);
  const messages = parts.messages ?? new ChatMessages({ database, clock, onFault });
  return { ...parts, own, connection, rooms, memory, adminRoom, messages, ownName: () => holder.ownName };
}

function requestersAndCommands(
  { settings, database, rooms, clock, own, ...parts }: Ground,
  delivery: Delivery,
) {
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
  return { requesters, commands };
}

/** Keeps the cards of jobs in their room. */
function cardsOf(
  { database, clock, memory, adminRoom, dispatcher }: Ground,
  commands: readonly Command[],
  post: MatrixPosterParts,
): JobCards {
  const { log } = adminRoom;
  return new JobCards({
    platform: MATRIX,
    database,
    dispatcher: dispatcher.withCommands(commands),
    threads: new MatrixJobThreads({ ...post, database, memory, clock, log }),
    clock,
    onFault: besideTheAnswers(log),
  });
}

/** What answers, posts and follows rooms, over one delivery. */
function talkingOf(
  ground: Ground,
  { sealedRooms }: FromHomeserver,
  onFault: (fault: NetworkError | null) => void,
) {
  const { settings, database, clock, connection, rooms, memory, adminRoom, own, ownName, messages } = ground;
  const { log } = adminRoom;
  const { prefix, stewardLevel } = settings;
  const delivery = deliveryOver(connection, sealedRooms.seal, () => clock().getTime(), onFault);
  const { requesters, commands } = requestersAndCommands(ground, delivery);
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
    drawFile: ground.drawFile,
  });
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
    dispatcher: ground.dispatcher.withCommands(commands),
    commands,
    makeId: ground.makeId,
    ownName,
    prefix,
    stewardLevel,
    requesters,
    adminRoom,
    canDecrypt: sealedRooms.canRead,
    lateAfterMs: ground.lateAfterMs ?? LATE_MS,
    attachments: attachmentsOf({ connection, sealedRooms, commands }),
  });
  const membership = membershipOf({ ...shared, allow: settings.allow });
  const { tellOfSilence } = conversation;
  const post = {
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
  return {
    delivery,
    directs,
    speaker,
    conversation,
    membership,
    cards: cardsOf(ground, commands, post),
    posterFor: (room: string): Poster => posterFor(room, post),
  };
}

/**
 * Runs until it is stopped. Resolves when it listens. Throws WrongSetting with one clear line, without the token, when the
 * homeserver does not accept it; a homeserver that is away is waited for.
 */
export async function startMatrix(parts: MatrixParts): Promise<MatrixSurface> {
  const { settings, database, clock, makeId } = parts;
  const tellFault = faultLog(parts.log, parts.watch);
  const account = await whoAmI(settings, Number.POSITIVE_INFINITY, tellFault);
  const own = account.id;
  const holder = new Holder();
  const ground = groundOf(parts, own, holder, () => talking.speaker);
  const { connection, rooms, memory, messages } = ground;
  const { log } = ground.adminRoom;
  const onFault = (fault: NetworkError | null): void => {
    if (fault?.kind !== 'token') {
      tellFault(fault);
      return;
    }
    log('matrix', badToken(settings));
    holder.client?.stop();
    talking.delivery.stop();
    holder.end(badToken(settings));
  };
  const arriving = await fromHomeserverOf({
    ...{ account, database, connection, rooms, clock, makeId, log },
    recoveryKey: settings.recoveryKey,
    hearIn: (room, heard) => talking.conversation.hear(room, heard),
  });
  const talking = talkingOf(ground, arriving, onFault);
  const { delivery, directs } = talking;
  const { encryption, backlog } = arriving;
  const client = createClient({
    homeserver: settings.homeserver,
    token: settings.token,
    startAt: memory.syncToken(),
    ...syncHandlers(arriving, rooms, talking.membership, delivery, own),
    onBatch: (token) => backlog.mark(() => memory.saveSyncToken(token)),
    onFault,
  });
  holder.client = client;
  client.on('room.leave', (room: string) => rooms.forget(room));
  client.on('account_data', (event: unknown) => directs.take(event));

  if (encryption) await prepare(encryption, delivery, log);
  await delivery.keepTrying(async () => {
    await directs.load();
    holder.ownName = await introduce(client, own);
    await client.start();
  });
  messages.register(
    MATRIX,
    matrixHandsOf({ database, connection, delivery, sealedRooms: arriving.sealedRooms }),
    talking.cards.moved,
  );
  talking.cards.start();
  const tidying = setInterval(memory.tidy, TIDY_MS);
  tidying.unref();
  return {
    id: own,
    withoutEncryption: arriving.without,
    posterFor: talking.posterFor,
    ended: holder.ended,
    stop: async () => {
      clearInterval(tidying);
      talking.cards.stop();
      messages.unregister(MATRIX);
      arriving.lateKeys?.stop();
      client.stop();
      await Promise.race([backlog.idle(), pause(STOP_MS, undefined, { ref: false })]);
      delivery.stop();
      await encryption?.close();
    },
  };
}
