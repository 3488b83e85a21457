/** What arrives from a homeserver, checked, as what it means to the bot. Pure. */
import { z } from 'zod';

const relation = z
  .object({
    rel_type: z.string().optional(),
    event_id: z.string().optional(),
    key: z.string().optional(),
    is_falling_back: z.boolean().optional(),
    'm.in_reply_to': z.object({ event_id: z.string() }).optional().catch(undefined),
  })
  .optional()
  .catch(undefined);

/** The envelope that every event has; its content is read by what its type says. */
export const eventSchema = z.object({
  type: z.string(),
  event_id: z.string(),
  sender: z.string().min(1),
  origin_server_ts: z.number().catch(0),
  state_key: z.string().optional(),
  content: z.record(z.string(), z.unknown()).catch({}),
  unsigned: z
    .object({ age: z.number().optional().catch(undefined) })
    .optional()
    .catch(undefined),
});

/** A file as it stands in an event: plain under `url`, encrypted under `file`. */
const fileSchema = z.object({
  url: z.string().optional(),
  file: z.record(z.string(), z.unknown()).optional(),
  filename: z.string().optional(),
  body: z.string(),
  info: z
    .object({ size: z.number().optional().catch(undefined) })
    .optional()
    .catch(undefined),
});

const messageSchema = z.object({
  msgtype: z.string(),
  body: z.string(),
  formatted_body: z.string().optional().catch(undefined),
  filename: z.string().optional().catch(undefined),
  'm.mentions': z
    .object({ user_ids: z.array(z.string()).optional().catch(undefined) })
    .optional()
    .catch(undefined),
  'm.relates_to': relation,
});

export interface Attachment {
  name: string;
  /** `mxc://` address of a plain file. */
  url: string | null;
  /** The content's `file` of an encrypted one. */
  sealed: Readonly<Record<string, unknown>> | null;
  /** Bytes, as the sender says; null when it does not. */
  size: number | null;
}

interface HeardBase {
  eventId: string;
  sender: string;
  /** Milliseconds since it was sent, as far as the servers' clocks can be trusted; never negative. */
  age: number;
}

/** What somebody said or did that the bot may have to answer. */
export type Heard = HeardBase &
  (
    | {
        kind: 'message';
        body: string;
        html: string | null;
        /** The ids that the sender meant to notify. */
        mentions: readonly string[];
        /** Root of the thread it is in. */
        thread: string | null;
        /** The event that it answers, where the sender chose one. */
        replyTo: string | null;
        attachment: Attachment | null;
        /** The event whose words these take the place of; null for a message of its own. */
        edits: string | null;
      }
    | { kind: 'reaction'; key: string; target: string }
    | { kind: 'sealed' }
  );

/** The attachment of a message's content; null when it has none. */
export function attachmentOf(content: unknown): Attachment | null {
  const read = fileSchema.safeParse(content);
  if (!read.success || (!read.data.url && !read.data.file)) return null;
  const { url, file, filename, body, info } = read.data;
  return { name: filename ?? body, url: url ?? null, sealed: file ?? null, size: info?.size ?? null };
}

/** The quoted lines that an older client puts before a reply are not part of what was said. */
const withoutQuote = (body: string): string =>
  body.startsWith('> ') ? body.replace(/^(?:> ?.*(?:\n|$))+\n?/, '') : body;

/** The new words of an edit. */
const editSchema = z.object({ 'm.new_content': z.record(z.string(), z.unknown()) });

function hearEdit(content: unknown, edits: string, base: HeardBase): Heard | null {
  const fresh = editSchema.safeParse(content).data?.['m.new_content'];
  // A relation within the new words counts for nothing (specification, "Event replacements").
  const heard = fresh && hearMessage({ ...fresh, 'm.relates_to': undefined }, base);
  return heard?.kind === 'message' ? { ...heard, edits } : null;
}

function hearMessage(content: unknown, base: HeardBase): Heard | null {
  const read = messageSchema.safeParse(content);
  if (!read.success) return null;
  const { msgtype, body, filename, formatted_body, ...rest } = read.data;
  const related = rest['m.relates_to'];
  if (related?.rel_type === 'm.replace')
    return related.event_id === undefined ? null : hearEdit(content, related.event_id, base);
  const attachment = msgtype === 'm.file' || msgtype === 'm.image' ? attachmentOf(content) : null;
  // A file's body is words only where it has a file name beside it (Matrix specification, "Media captions").
  if (msgtype !== 'm.text' && !(attachment && filename !== undefined && filename !== body)) return null;
  const answered = related?.is_falling_back ? undefined : related?.['m.in_reply_to']?.event_id;
  return {
    ...base,
    kind: 'message',
    body: (related?.['m.in_reply_to'] ? withoutQuote(body) : body).trim(),
    html: formatted_body ?? null,
    mentions: rest['m.mentions']?.user_ids ?? [],
    thread: related?.rel_type === 'm.thread' ? (related.event_id ?? null) : null,
    replyTo: answered ?? null,
    attachment,
    edits: null,
  };
}

const leaveSchema = z.object({
  type: z.literal('m.room.member'),
  state_key: z.string(),
  content: z.object({ membership: z.enum(['leave', 'ban']) }),
});

/** Who has left a room by this event; null for any other. */
export const leaverOf = (event: unknown): string | null =>
  leaveSchema.safeParse(event).data?.state_key ?? null;

/**
 * What an event of a room's timeline asks of the bot; null for what it never answers: its own words, notices, edits,
 * redactions, state, and what cannot be read.
 */
export function hear(raw: unknown, own: string, now: Date): Heard | null {
  const event = eventSchema.safeParse(raw);
  if (!event.success || event.data.sender === own || event.data.state_key !== undefined) return null;
  const { type, event_id, sender, origin_server_ts, content, unsigned } = event.data;
  const age = unsigned?.age ?? now.getTime() - origin_server_ts;
  const base = { eventId: event_id, sender, age: Math.max(0, age) };
  if (type === 'm.room.message') return hearMessage(content, base);
  if (type === 'm.room.encrypted') return { ...base, kind: 'sealed' };
  if (type !== 'm.reaction') return null;
  const related = relation.parse(content['m.relates_to']);
  return related?.rel_type === 'm.annotation' && related.event_id && related.key
    ? { ...base, kind: 'reaction', key: related.key, target: related.event_id }
    : null;
}
