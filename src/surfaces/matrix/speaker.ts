/** Says a reply in a room: its text in as many messages as it needs, its files, and its choices as reactions to pick. */

import { z } from 'zod';
import { inWords, type Reply, type ReplyFile, reply, text } from '../../../commands/framework/reply.ts';
import { frontOf, wholeOf } from '../../../commands/framework/sides.ts';
import { say, typed, verbatim } from '../../../shared/language/say.ts';
import type { Log } from '../../environment/log.ts';
import { KEYCAPS, MORE_KEY } from './address.ts';
import type { MatrixConnection } from './client.ts';
import { type Content, file, notice, reaction, type Spot } from './content.ts';
import { type Delivery, NotSent, Stopped, transactionOf } from './delivery.ts';
import { NotPrivate } from './direct-rooms.ts';
import type { Memory, Offer } from './memory.ts';
import { networkErrorOf } from './network-error.ts';
import { isUrgent, renderForMatrix } from './render.ts';
import type { SealedRooms } from './sealed-rooms.ts';
import { asSaidHere } from './wording.ts';

/** Marks each part of a post that must not be repeated, so that it is found again in the room. */
export const POST_TAG = 'org.thirdhand.post';
export const tagSchema = z.object({ key: z.string(), part: z.number().int(), of: z.number().int() });

export interface SpeakerParts {
  connection: () => MatrixConnection;
  delivery: Delivery;
  sealedRooms: SealedRooms;
  memory: Memory;
  clock: () => Date;
  log: Log;
  prefix: string;
  commandNames: readonly string[];
  drawFile: (file: ReplyFile) => Promise<Buffer>;
}

export interface Saying {
  reply: Reply;
  spot: Spot;
  /** What this is an answer to: the same key is said once, however often it is tried. */
  key: string;
  /** The surface's own words, after the reply. */
  notes?: readonly string[];
  /** Whom the choices are for, and the tokens behind them. */
  offer?: Pick<Offer, 'asker' | 'tokens' | 'question' | 'more'>;
  /** Runs before each message, and may throw to keep it from being sent. */
  before?: () => Promise<void>;
  /** Told of each message that stands there now, files too. */
  onSent?: (room: string, eventId: string) => void;
  /** For a post that must not be repeated: its key, and the ids of those of its parts that stand in the room already. */
  post?: { key: string; sent: ReadonlyMap<number, string> };
}

export interface Speaker {
  /** The id of the first message. Throws NotSent, Stopped, and what `before` throws. */
  say(saying: Saying): Promise<string>;
}

/** Lays choices out one after another, as long as nobody has asked for patience and no newer choices are there. */
function layingOut({
  delivery,
}: SpeakerParts): (spot: Spot, eventId: string, keys: readonly string[]) => Promise<void> {
  /** The message in each timeline whose choices are being laid out; a newer one takes its place. */
  const laying = new Map<string, string>();

  return async (spot, eventId, keys) => {
    const timeline = `${spot.room} ${spot.thread ?? ''}`;
    laying.set(timeline, eventId);
    for (const key of keys) {
      if (laying.get(timeline) !== eventId) return;
      const sent = await delivery.attempt({
        room: spot.room,
        type: 'm.reaction',
        content: reaction(eventId, key),
        transaction: transactionOf('choice', eventId, key),
      });
      if (sent === null) break;
    }
    if (laying.get(timeline) === eventId) laying.delete(timeline);
  };
}

/** What a part of a post carries besides its words. */
function tag({ post, reply: { files } }: Saying, part: number, messages: number): Content {
  return post ? { [POST_TAG]: { key: post.key, part, of: messages + files.length } } : {};
}

async function upload(parts: SpeakerParts, one: ReplyFile, spot: Spot): Promise<Content> {
  const { drawFile, connection, sealedRooms, delivery } = parts;
  const bytes = await drawFile(one);
  const client = connection();
  const sealed = await sealedRooms.sealFile(spot.room, bytes);
  const url = await delivery.keepTrying(() =>
    sealed
      ? client.uploadContent(sealed.bytes, 'application/octet-stream')
      : client.uploadContent(bytes, one.mime, one.name),
  );
  const at: Content = sealed ? { file: { ...sealed.info, url } } : { url };
  return file({ name: one.name, mime: one.mime, alt: one.alt, bytes, at }, spot);
}

async function sayFile(
  parts: SpeakerParts,
  one: ReplyFile,
  index: number,
  { spot, key, before, onSent }: Saying,
  more: Content,
): Promise<void> {
  const { log, delivery } = parts;
  let content: Content;
  try {
    await before?.();
    content = await upload(parts, one, spot);
  } catch (error) {
    // A picture that cannot be drawn, or that the homeserver does not take, is told of; the rest stands.
    const refused = error instanceof NotSent;
    if (error instanceof Stopped || error instanceof NotPrivate) throw error;
    if (!refused && networkErrorOf(error).kind !== 'ours') throw error;
    log('matrix', error);
    const title = refused
      ? say`${typed(one.name)} could not be put here.`
      : say`${typed(one.name)} could not be made.`;
    const [told] = renderForMatrix(inWords(reply({ title, blocks: [text(verbatim(one.alt))] })));
    if (!told) return;
    content = notice(told, spot);
  }
  const eventId = await delivery.send(
    {
      room: spot.room,
      type: 'm.room.message',
      content: { ...content, ...more },
      transaction: transactionOf('file', spot.room, key, index),
    },
    before,
  );
  onSent?.(spot.room, eventId);
}

export function speakerOf(parts: SpeakerParts): Speaker {
  const { delivery, memory, clock } = parts;
  const layOut = layingOut(parts);

  return {
    say: async (saying) => {
      const { spot, key, notes = [], offer, before } = saying;
      const hasMore = typeof offer?.more === 'string';
      const shown = hasMore ? frontOf(saying.reply) : wholeOf(saying.reply);
      const messages = renderForMatrix(asSaidHere(shown, parts.prefix, parts.commandNames), notes, {
        hasMore,
      });
      const weight = isUrgent(saying.reply) ? 'm.text' : 'm.notice';
      const sent: string[] = [];
      for (const [index, message] of messages.entries()) {
        sent.push(
          saying.post?.sent.get(index) ??
            (await delivery.send(
              {
                room: spot.room,
                type: 'm.room.message',
                content: { ...notice(message, spot, weight), ...tag(saying, index, messages.length) },
                transaction: transactionOf('say', spot.room, key, index),
              },
              before,
            )),
        );
      }
      for (const eventId of sent) saying.onSent?.(spot.room, eventId);
      const [first = ''] = sent;
      const last = sent.at(-1) ?? first;
      if (offer && (offer.tokens.length || offer.question || hasMore)) {
        memory.saveOffer(last, { ...offer, room: spot.room, thread: spot.thread, at: clock().toISOString() });
      }
      for (const [index, one] of saying.reply.files.entries()) {
        const part = messages.length + index;
        if (!saying.post?.sent.has(part))
          await sayFile(parts, one, index, saying, tag(saying, part, messages.length));
      }
      const keys = [...KEYCAPS.slice(0, offer?.tokens.length ?? 0), ...(hasMore ? [MORE_KEY] : [])];
      if (keys.length) void layOut(spot, last, keys);
      return first;
    },
  };
}
