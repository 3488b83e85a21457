/** Connects the bot to a homeserver: `startMatrix`, and `checkMatrix`, which only looks. */
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import type * as Sdk from 'matrix-bot-sdk';
import { z } from 'zod';
import type { Command } from '../../../commands/framework/command.ts';
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import type { ReplyFile } from '../../../commands/framework/reply.ts';
import { commandsWith } from '../../../commands/index.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import { WrongSetting } from '../../environment/program-settings.ts';
import type { Poster } from '../weekly-poster.ts';
import { attachmentsOf } from './attachments.ts';
import { backlogOf } from './backlog.ts';
import { createClient, type MatrixConnection } from './client.ts';
import { conversationOf } from './conversation.ts';
import { deliveryOver, Stopped } from './delivery.ts';
import { directRoomsOf } from './direct-rooms.ts';
import { eventSchema, hear } from './events.ts';
import { type LoadedSdk, loadSdk } from './load-sdk.ts';
import { membershipOf } from './membership.ts';
import { memoryOf } from './memory.ts';
import { backoffMs, type NetworkError, networkErrorOf } from './network-error.ts';
import { posterFor } from './poster.ts';
import { matrixRequestersOf } from './requester.ts';
import { matrixCommands } from './room-command.ts';
import { roomsOf } from './rooms.ts';
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
  /** Where the keys of encrypted rooms are kept; null: nowhere, and there is no encryption. */
  folder: string | null;
  drawFile: (file: ReplyFile) => Promise<Buffer>;
  /** How old what was said must be for its answer to say so, in milliseconds; two minutes when not given. */
  lateAfterMs?: number;
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

const whoSchema = z.object({ user_id: z.string(), device_id: z.string().optional() });
const profileSchema = z.object({ displayname: z.string().trim().min(1) });
const LATE_MS = 2 * 60_000;
const STOP_MS = 5000;
const TIDY_MS = 24 * 3600_000;

const badToken = ({ homeserver }: MatrixSettings): string =>
  `MATRIX_TOKEN: ${homeserver} does not accept it (any more). Log the bot's account in again, and set the new token.`;

/** Who the token is of. Waits for a homeserver that is away. Throws WrongSetting for a token that is not accepted. */
async function whoAmI(
  settings: MatrixSettings,
  { sdk }: LoadedSdk,
  tries: number,
  onFault: (fault: NetworkError) => void,
): Promise<z.infer<typeof whoSchema>> {
  const client = new sdk.MatrixClient(settings.homeserver, settings.token);
  for (let failures = 0; ; ) {
    try {
      return whoSchema.parse(await client.doRequest('GET', '/_matrix/client/v3/account/whoami'));
    } catch (error) {
      const fault = networkErrorOf(error);
      if (fault.kind === 'token') throw new WrongSetting(badToken(settings));
      failures += 1;
      if (failures >= tries || fault.kind === 'ours' || fault.kind === 'refused') {
        const what = fault.kind === 'ours' ? 'it does not answer as a homeserver does' : wordsOf(fault);
        throw new WrongSetting(`MATRIX_HOMESERVER: ${settings.homeserver} cannot be used: ${what}.`);
      }
      onFault(fault);
      await pause(fault.kind === 'limited' ? fault.waitMs : backoffMs(failures));
    }
  }
}

function wordsOf(fault: NetworkError): string {
  switch (fault.kind) {
    case 'limited':
      return 'it asks for patience';
    case 'away':
      return `it cannot be reached (${fault.what})`;
    case 'token':
      return 'the token is not accepted';
    case 'refused':
      return `it refuses (${fault.code})`;
    case 'ours':
      return 'something went wrong here';
  }
}

/** Says once that the homeserver is away, and once that it is back. */
function faultLog(log: Log): (fault: NetworkError | null) => void {
  let away: NetworkError['kind'] | null = null;
  return (fault) => {
    if (fault?.kind === 'limited' || (fault?.kind ?? null) === away) return;
    away = fault?.kind ?? null;
    log('matrix', fault ? `the homeserver: ${wordsOf(fault)}; trying again` : 'the homeserver is back');
  };
}

function cryptoStore(
  { sdk, withoutEncryption, sqliteStore }: LoadedSdk,
  folder: string | null,
  device: string,
): Sdk.RustSdkCryptoStorageProvider | null {
  if (withoutEncryption !== null || folder === null) return null;
  // Keys belong to one device: a token of another login begins with its own.
  const path = join(folder, 'matrix-keys', device.replace(/[^\w-]/g, '_'));
  mkdirSync(path, { recursive: true, mode: 0o700 });
  return new sdk.RustSdkCryptoStorageProvider(path, sqliteStore);
}

/**
 * Runs until it is stopped. Resolves when it listens. Throws WrongSetting with one clear line, without the token, when the
 * homeserver does not accept it; a homeserver that is away is waited for.
 */
export async function startMatrix(parts: MatrixParts): Promise<MatrixSurface> {
  const { settings, database, clock, log } = parts;
  const loaded = loadSdk();
  const say = faultLog(log);
  const { user_id: own, device_id } = await whoAmI(settings, loaded, Number.POSITIVE_INFINITY, say);
  const memory = memoryOf(database.surfaceState, own, clock);
  memory.tidy();

  let end: (reason: string) => void = () => {};
  const ended = new Promise<string>((resolve) => {
    end = resolve;
  });
  const keys = cryptoStore(loaded, parts.folder, device_id ?? 'device');
  const withoutEncryption = loaded.withoutEncryption ?? (keys ? null : 'there is no folder for its keys');
  let client: MatrixConnection | null = null;
  const connection = (): MatrixConnection => {
    if (!client) throw new Stopped();
    return client;
  };
  const onFault = (fault: NetworkError | null): void => {
    if (fault?.kind !== 'token') {
      say(fault);
      return;
    }
    log('matrix', badToken(settings));
    halt();
    end(badToken(settings));
  };
  const delivery = deliveryOver(connection, () => clock().getTime(), onFault);
  const halt = (): void => {
    client?.stop();
    delivery.stop();
  };
  const rooms = roomsOf(connection);
  const prefix = settings.prefix;
  const requesters = matrixRequestersOf({ database, rooms, clock, stewardLevel: settings.stewardLevel });
  const commands = commandsWith(
    matrixCommands(() => ({
      database,
      own,
      stewardLevel: settings.stewardLevel,
      stateOf: rooms.lastState,
      homesOf: requesters.homesOf,
      choose: ({ key }, collective) => database.channelBindings.setHome(key, collective),
    })),
    parts.commands,
  );
  const commandNames = commands.map(({ name }) => name);
  const directs = directRoomsOf({ connection, own, rooms, delivery, canRead: keys !== null });
  const speaker = speakerOf({
    connection,
    delivery,
    rooms,
    memory,
    clock,
    log,
    prefix,
    commandNames,
    drawFile: parts.drawFile,
  });
  let ownName: string | null = null;
  const conversation = conversationOf({
    database,
    dispatcher: parts.dispatcher.withCommands(commands),
    commands,
    makeId: parts.makeId,
    clock,
    log,
    own,
    ownName: () => ownName,
    prefix,
    stewardLevel: settings.stewardLevel,
    canDecrypt: keys !== null,
    lateAfterMs: parts.lateAfterMs ?? LATE_MS,
    connection,
    delivery,
    memory,
    rooms,
    requesters,
    directs,
    speaker,
    attachments: attachmentsOf(connection, commands),
  });
  const membership = membershipOf({
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
    allow: settings.allow,
  });
  const backlog = backlogOf((error) => {
    if (error instanceof Stopped) return 'halt';
    log(parts.makeId().slice(0, 8), error);
    return 'go on';
  });

  client = createClient({
    loaded,
    homeserver: settings.homeserver,
    token: settings.token,
    cryptoStore: keys,
    startAt: memory.syncToken(),
    onInvite: (room, state) =>
      backlog.add(room, () => delivery.keepTrying(() => membership.invited(room, state))),
    onState: rooms.note,
    onGap: rooms.forget,
    onEvent: (room, event, heard) => {
      rooms.note(room, event);
      const read = eventSchema.safeParse(event);
      if (read.data?.type === 'm.room.tombstone' && read.data.state_key === '')
        backlog.add(room, () => delivery.keepTrying(() => membership.replaced(room, event)));
      const said = heard ? hear(event, own, clock()) : null;
      if (said) backlog.add(room, () => conversation.hear(room, said));
    },
    onBatch: (token) => backlog.mark(() => memory.saveSyncToken(token)),
    onFault,
  });
  client.on('room.leave', (room: string) => rooms.forget(room));
  client.on('account_data', (event: unknown) => directs.take(event));

  await delivery.keepTrying(async () => {
    await directs.load();
    const profile: unknown = await connection()
      .doRequest('GET', `/_matrix/client/v3/profile/${encodeURIComponent(own)}`)
      .catch((error: unknown) => {
        if (networkErrorOf(error).kind !== 'refused') throw error;
      });
    ownName = profileSchema.safeParse(profile).data?.displayname ?? null;
    await connection().start();
  });
  const tidying = setInterval(memory.tidy, TIDY_MS);
  tidying.unref();
  const { tellOfSilence } = conversation;
  const poster = { connection, delivery, speaker, rooms, tellOfSilence, own, prefix, commandNames };
  return {
    id: own,
    withoutEncryption,
    posterFor: (room) => posterFor(room, poster),
    ended,
    stop: async () => {
      clearInterval(tidying);
      client?.stop();
      await Promise.race([backlog.idle(), pause(STOP_MS, undefined, { ref: false })]);
      delivery.stop();
    },
  };
}

/** What `--check` says of Matrix, a line each; `sound` is false when the bot could not run. Changes nothing. */
export async function checkMatrix(settings: MatrixSettings): Promise<{ sound: boolean; lines: string[] }> {
  const loaded = loadSdk();
  const encryption =
    loaded.withoutEncryption === null
      ? 'Matrix: encrypted rooms work.'
      : `Matrix: runs without encryption: ${loaded.withoutEncryption}.`;
  try {
    const { user_id } = await whoAmI(settings, loaded, 1, () => {});
    const who = `Matrix: ${settings.homeserver} knows the bot as ${user_id}.`;
    const allowed = `Matrix: takes invites from ${settings.allow?.join(', ') || (settings.allow ? 'nobody' : 'its own server')}.`;
    return { sound: true, lines: [who, allowed, encryption] };
  } catch (error) {
    if (!(error instanceof WrongSetting)) throw error;
    return { sound: false, lines: [error.message, encryption] };
  }
}
