/**
 * Changes the bot's own messages later. One that shows removed words is taken away, with who removed them as the reason: an edit would
 * leave them readable beside it. Choices stay where they are: who takes one that is old is shown how things stand now.
 */
import { z } from 'zod';
import { languageOf } from '../../../commands/framework/place-language.ts';
import { render } from '../../../shared/language/render.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { MessageHands } from '../chat-messages.ts';
import { removedWords } from '../chat-messages.ts';
import { holdsWords } from '../removed-words.ts';
import type { MatrixConnection } from './client.ts';
import { type Delivery, NotSent, transactionOf } from './delivery.ts';
import type { SealedRooms } from './sealed-rooms.ts';

const contentSchema = z.object({
  msgtype: z.string().optional(),
  body: z.string().default(''),
  formatted_body: z.string().default(''),
});
const openedSchema = z.object({ type: z.string(), content: contentSchema });
const rawSchema = z.looseObject({ type: z.string(), event_id: z.string() });
const redactedSchema = z.object({ unsigned: z.object({ redacted_because: z.unknown() }) });

const isGone = (code: string): boolean => code === 'M_NOT_FOUND';

/** Whether an event may show the words: one that cannot be read, and a file that was made of them, may. */
function mayShow(event: unknown, words: readonly string[] | null): boolean {
  const read = openedSchema.safeParse(event).data;
  if (!read || !words || read.type === 'm.room.encrypted') return true;
  const { msgtype, body, formatted_body: html } = read.content;
  return msgtype === 'm.file' || holdsWords(body, words) || holdsWords(html, words, 'html');
}

export interface MatrixHandsParts {
  database: Database;
  connection: () => MatrixConnection;
  delivery: Delivery;
  sealedRooms: SealedRooms;
}

export function matrixHandsOf({
  database,
  connection,
  delivery,
  sealedRooms,
}: MatrixHandsParts): MessageHands {
  const request = (method: 'GET' | 'PUT', parts: readonly string[], body?: object): Promise<unknown> => {
    const path = `/_matrix/client/v3/${['rooms', ...parts].map(encodeURIComponent).join('/')}`;
    return delivery.keepTrying(() => connection().doRequest(method, path, null, body ?? null));
  };
  return {
    mend: async (removal, { channel: room, message }) => {
      try {
        const raw = rawSchema.parse(await request('GET', [room, 'event', message]));
        if (redactedSchema.safeParse(raw).success) return 'gone';
        if (!mayShow(await sealedRooms.open(room, raw), removal.words)) return 'untouched';
        const reason = render(removedWords(removal), languageOf(database, removal.collective));
        // The same transaction for every try: it is taken away once.
        const transaction = transactionOf('removed', removal.number, message);
        await request('PUT', [room, 'redact', message, transaction], { reason });
        return 'mended';
      } catch (error) {
        if (!(error instanceof NotSent)) throw error;
        return isGone(error.code) ? 'gone' : 'denied';
      }
    },
    retire: async () => undefined,
  };
}
