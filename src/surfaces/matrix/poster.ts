/** Posts that must not be repeated: each part carries the post's key, and is sent in a transaction named by it. */
import { z } from 'zod';
import { wholeOf } from '../../../commands/framework/sides.ts';
import type { Poster } from '../weekly-poster.ts';
import type { MatrixConnection } from './client.ts';
import { edit } from './content.ts';
import { type Delivery, NotSent, transactionOf } from './delivery.ts';
import { eventSchema } from './events.ts';
import { renderForMatrix } from './render.ts';
import { maySend, type Rooms } from './rooms.ts';
import type { SealedRooms } from './sealed-rooms.ts';
import type { TellOfSilence } from './silence.ts';
import { POST_TAG, type Speaker, tagSchema } from './speaker.ts';
import { asSaidHere } from './wording.ts';

export interface MatrixPosterParts {
  connection: () => MatrixConnection;
  delivery: Delivery;
  speaker: Speaker;
  rooms: Rooms;
  sealedRooms: SealedRooms;
  tellOfSilence: TellOfSilence;
  own: string;
  prefix: string;
  commandNames: readonly string[];
}

const pageSchema = z.object({ chunk: z.array(z.unknown()).catch([]), end: z.string().optional() });
const contentSchema = z.looseObject({ [POST_TAG]: tagSchema });
const rawSchema = z.object({ content: z.unknown() });

const FORBIDDEN = 'M_FORBIDDEN';
/** How far back a post is looked for: so many pages of so many events. */
const PAGES = 10;
const PAGE = 100;
/** One message must hold a correction: body and HTML together, in bytes. */
const EDIT_BYTES = 50_000;

interface Found {
  /** Event ids by number of part. */
  parts: Map<number, string>;
  of: number;
}

/** The content of an event of the bot; opened where it is encrypted and can be. */
async function contentOf(parts: MatrixPosterParts, room: string, raw: unknown): Promise<unknown> {
  const { own, sealedRooms } = parts;
  const event = eventSchema.safeParse(raw).data;
  if (!event || event.sender !== own) return null;
  return rawSchema.safeParse(await sealedRooms.open(room, event)).data?.content;
}

async function look(parts: MatrixPosterParts, room: string, key: string): Promise<Found> {
  const { connection, delivery } = parts;
  const found: Found = { parts: new Map(), of: 0 };
  let from: string | undefined;
  for (let page = 0; page < PAGES; page += 1) {
    const path = `/_matrix/client/v3/rooms/${encodeURIComponent(room)}/messages`;
    const query = { dir: 'b', limit: PAGE, ...(from === undefined ? {} : { from }) };
    const { chunk, end } = pageSchema.parse(
      await delivery.keepTrying(() => connection().doRequest('GET', path, query)),
    );
    for (const raw of chunk) {
      const tag = contentSchema.safeParse(await contentOf(parts, room, raw)).data?.[POST_TAG];
      const eventId = eventSchema.safeParse(raw).data?.event_id;
      if (tag?.key !== key || eventId === undefined) continue;
      found.parts.set(tag.part, eventId);
      found.of = tag.of;
    }
    if ((found.of > 0 && found.parts.size === found.of) || end === undefined || !chunk.length) break;
    from = end;
  }
  return found;
}

async function isHere(parts: MatrixPosterParts, room: string, message: string): Promise<boolean> {
  const { connection, delivery } = parts;
  const path = ['rooms', room, 'event', message].map(encodeURIComponent).join('/');
  try {
    await delivery.keepTrying(() => connection().doRequest('GET', `/_matrix/client/v3/${path}`));
    return true;
  } catch (error) {
    if (error instanceof NotSent) return false;
    throw error;
  }
}

export function posterFor(room: string, parts: MatrixPosterParts): Poster {
  const { delivery, speaker, own } = parts;

  return {
    post: async (key, reply) => {
      try {
        const state = await delivery.keepTrying(() => parts.rooms.state(room));
        if (!maySend(state, own, 'm.room.message'))
          throw new NotSent({ kind: 'refused', code: FORBIDDEN, what: 'the bot may not speak there' });
        // The homeserver forgets a transaction after some hours; what stands in the room is looked for besides.
        const { parts: sent } = await look(parts, room, key);
        return await speaker.say({
          reply,
          spot: { room, thread: null, replyTo: null },
          key: `post ${key}`,
          post: { key, sent },
        });
      } catch (error) {
        if (error instanceof NotSent && error.code === FORBIDDEN)
          await parts.tellOfSilence(room, 'weekly', `silent ${key}`);
        throw error;
      }
    },
    find: async (key) => {
      const { parts: sent, of } = await look(parts, room, key);
      return of > 0 && sent.size === of ? (sent.get(0) ?? null) : null;
    },
    edit: async (message, reply) => {
      // In a room that took another one's place the post stands in the other: no edit reaches it.
      if (!(await isHere(parts, room, message))) return;
      const [drawn] = renderForMatrix(asSaidHere(wholeOf(reply), parts.prefix, parts.commandNames), [], {
        most: EDIT_BYTES,
      });
      if (!drawn) return;
      const transaction = transactionOf('edit', room, message, drawn.body);
      await delivery.send({
        room,
        type: 'm.room.message',
        content: edit(drawn, message, reply.title),
        transaction,
      });
    },
  };
}
