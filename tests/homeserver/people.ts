/** People at a homeserver, as a test sees them: what they say, and what they get to see. */
import { setTimeout as pause } from 'node:timers/promises';
import { z } from 'zod';
import { createClient } from '../../src/surfaces/matrix/client.ts';
import type { Account } from './synapse.ts';

export const seenSchema = z.object({
  type: z.string(),
  event_id: z.string(),
  sender: z.string(),
  content: z.looseObject({
    msgtype: z.string().optional(),
    body: z.string().optional(),
    formatted_body: z.string().optional(),
    membership: z.string().optional(),
    reason: z.string().optional(),
    'm.relates_to': z
      .looseObject({
        rel_type: z.string().optional(),
        event_id: z.string().optional(),
        key: z.string().optional(),
        'm.in_reply_to': z.object({ event_id: z.string() }).optional(),
      })
      .optional(),
  }),
  state_key: z.string().optional(),
  redacts: z.string().optional(),
  /** It came encrypted, and could be read. */
  sealed: z.boolean().optional(),
});
export type Seen = z.infer<typeof seenSchema> & { room: string };

/** Generous: the machine may be busy with other things. */
const WAIT_MS = 120_000;

/** What people can do, whatever client they use. */
export interface AnyPerson {
  id: string;
  /** All that this person has seen, in order. */
  seen: Seen[];
  /** Rooms that this person has been asked into. */
  invites: { room: string; state: unknown[] }[];
  /** Says plain text; the content's other fields in `more`. Gives the event's id. */
  say(room: string, body: string, more?: Record<string, unknown>): Promise<string>;
  reply(room: string, to: string, body: string): Promise<string>;
  inThread(room: string, root: string, body: string): Promise<string>;
  react(room: string, to: string, key: string): Promise<string>;
  /** The first thing seen from `after` on that fits; throws when it does not come. */
  sees(fits: (seen: Seen) => boolean, what: string, after?: number): Promise<Seen>;
  /** Waits for an invite and takes it; gives the room. */
  joinsInvite(fits?: (room: string) => boolean): Promise<string>;
  /** Makes a room; the options are those of the specification's createRoom. */
  makesRoom(options: object): Promise<string>;
  stop(): void;
}
export interface Person extends AnyPerson {
  client: ReturnType<typeof createClient>;
}

/** The ways to say something, over one way to send. */
export function sayingOver(send: (room: string, type: string, content: object) => Promise<string>) {
  const say: AnyPerson['say'] = (room, body, more = {}) =>
    send(room, 'm.room.message', { msgtype: 'm.text', body, ...more });
  return {
    say,
    reply: (room: string, to: string, body: string) =>
      say(room, body, { 'm.relates_to': { 'm.in_reply_to': { event_id: to } } }),
    inThread: (room: string, root: string, body: string) =>
      say(room, body, {
        'm.relates_to': {
          rel_type: 'm.thread',
          event_id: root,
          is_falling_back: true,
          'm.in_reply_to': { event_id: root },
        },
      }),
    react: (room: string, to: string, key: string) =>
      send(room, 'm.reaction', { 'm.relates_to': { rel_type: 'm.annotation', event_id: to, key } }),
  };
}

/** Looks through what was seen until something fits. */
export const seesIn =
  (seen: readonly Seen[]): AnyPerson['sees'] =>
  (fits, what, after = 0) =>
    until(
      () => seen.slice(after).find(fits),
      () =>
        `${what}; the last seen was ${JSON.stringify(seen.slice(-4).map(({ sender, type, content }) => [sender, type, content.body ?? content]))}`,
    );

/** What `find` finds, as soon as it does; throws with `what` when it does not come. */
export async function until<T>(find: () => T | undefined, what: () => string): Promise<T> {
  for (const from = Date.now(); Date.now() - from < WAIT_MS; await pause(25)) {
    const found = find();
    if (found !== undefined) return found;
  }
  throw new Error(`did not come: ${what()}`);
}

export async function personOf(url: string, account: Account): Promise<Person> {
  const seen: Seen[] = [];
  const invites: Person['invites'] = [];
  const joined = new Set<string>();
  const note = (room: string, event: unknown) => {
    const read = seenSchema.safeParse(event);
    if (read.success && !seen.some((one) => one.event_id === read.data.event_id))
      seen.push({ ...read.data, room });
  };
  const client = createClient({
    homeserver: url,
    token: account.token,
    startAt: null,
    onInvite: (room, state) => invites.push({ room, state: [...state] }),
    onState: () => {},
    onGap: () => {},
    onEvent: note,
    onBatch: () => {},
    onFault: () => {},
  });
  await client.start();
  return {
    id: account.id,
    client,
    seen,
    invites,
    ...sayingOver((room, type, content) => client.sendRawEvent(room, type, content)),
    sees: seesIn(seen),
    makesRoom: (options) => client.createRoom(options),
    joinsInvite: async (fits = () => true) => {
      const { room } = await until(
        () => invites.find((one) => !joined.has(one.room) && fits(one.room)),
        () => 'an invite',
      );
      joined.add(room);
      await client.joinRoom(room);
      return room;
    },
    stop: () => client.stop(),
  };
}
