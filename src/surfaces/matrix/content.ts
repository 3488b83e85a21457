/** Contents of the events that the bot sends. Pure. */
import { cleanLine } from '../text.ts';
import type { Drawn } from './render.ts';

/** Where in a room something is said. */
export interface Spot {
  room: string;
  /** Root of the thread; null in the room's main timeline. */
  thread: string | null;
  /** The event that is answered; null when nothing is. */
  replyTo: string | null;
}

export type Content = Readonly<Record<string, unknown>>;

function relation({ thread, replyTo }: Spot): Content {
  const answers = replyTo === null ? {} : { 'm.in_reply_to': { event_id: replyTo } };
  if (thread !== null) {
    // What answers nothing in a thread names its root for clients that know no threads.
    return {
      'm.relates_to': {
        rel_type: 'm.thread',
        event_id: thread,
        is_falling_back: replyTo === null,
        'm.in_reply_to': { event_id: replyTo ?? thread },
      },
    };
  }
  return replyTo === null ? {} : { 'm.relates_to': answers };
}

/** What the bot says is a notice, which other bots pass over; what must be seen at once is a message like any other. */
type MessageWeight = 'm.notice' | 'm.text';

const textual = ({ body, html }: Drawn, msgtype: MessageWeight): Content => ({
  msgtype,
  body,
  format: 'org.matrix.custom.html',
  formatted_body: html,
});

/** Nobody is notified by name, whatever the text holds. */
const nobody: Content = { 'm.mentions': {} };

export const notice = (drawn: Drawn, spot: Spot, weight: MessageWeight = 'm.notice'): Content => ({
  ...textual(drawn, weight),
  ...nobody,
  ...relation(spot),
});

/** Puts new text in place of an earlier message of the bot. `short` is for clients that know no edits. */
export const edit = (drawn: Drawn, eventId: string, short: string): Content => ({
  msgtype: 'm.notice',
  body: `* ${cleanLine(short)}`,
  ...nobody,
  'm.new_content': { ...textual(drawn, 'm.notice'), ...nobody },
  'm.relates_to': { rel_type: 'm.replace', event_id: eventId },
});

export const reaction = (eventId: string, key: string): Content => ({
  'm.relates_to': { rel_type: 'm.annotation', event_id: eventId, key },
});

/** Width and height in pixels of a PNG, from its header (W3C PNG, 11.2.1 IHDR); null for any other bytes. */
export function pngSize(bytes: Buffer): { w: number; h: number } | null {
  const signature = '89504e470d0a1a0a';
  if (bytes.length < 24 || bytes.subarray(0, 8).toString('hex') !== signature) return null;
  if (bytes.subarray(12, 16).toString('latin1') !== 'IHDR') return null;
  return { w: bytes.readUInt32BE(16), h: bytes.readUInt32BE(20) };
}

export interface SentFile {
  name: string;
  mime: string;
  /** What a picture shows, in words. */
  alt: string;
  bytes: Buffer;
  /** `url` of what was uploaded, or `file` with the key to it in an encrypted room. */
  at: Content;
}

export function file({ name, mime, alt, bytes, at }: SentFile, spot: Spot): Content {
  const size = pngSize(bytes);
  const picture = mime.startsWith('image/') && size !== null;
  return {
    msgtype: picture ? 'm.image' : 'm.file',
    // The words of a picture are its alternative text; the file's own name stands beside them.
    body: alt || name,
    filename: name,
    info: { mimetype: mime, size: bytes.length, ...(picture ? size : {}) },
    ...at,
    ...nobody,
    ...relation(spot),
  };
}
