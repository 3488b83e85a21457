/** Which rooms the bot is in: invites by the allow-list, and rooms that were replaced by new ones. */

import { setTimeout as pause } from 'node:timers/promises';
import { z } from 'zod';
import { languageAt } from '../../../commands/framework/place-language.ts';
import { inWords, reply, text } from '../../../commands/framework/reply.ts';
import { withLocale } from '../../../shared/language/locale.ts';
import type { Message } from '../../../shared/language/message.ts';
import { render } from '../../../shared/language/render.ts';
import { say, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import type { MatrixConnection } from './client.ts';
import { type Delivery, NotSent } from './delivery.ts';
import type { DirectRooms } from './direct-rooms.ts';
import { eventSchema } from './events.ts';
import type { Memory } from './memory.ts';
import { backoffMs } from './network-error.ts';
import { MATRIX } from './requester.ts';
import { maySend, type Rooms } from './rooms.ts';
import { isAllowed, serverOf } from './settings.ts';
import type { Speaker } from './speaker.ts';

export interface MembershipParts {
  database: Database;
  connection: () => MatrixConnection;
  delivery: Delivery;
  rooms: Rooms;
  directs: DirectRooms;
  speaker: Speaker;
  memory: Memory;
  clock: () => Date;
  log: Log;
  own: string;
  allow: readonly string[] | null;
}

export interface Membership {
  /** Somebody has left a room. */
  left(room: string, person: string): Promise<void>;
  /** Takes an invite, or declines it with the reason. */
  invited(room: string, state: readonly unknown[]): Promise<void>;
  /** Follows a room to the one that takes its place. */
  replaced(room: string, tombstone: unknown): Promise<void>;
}

const inviteSchema = z.object({
  type: z.literal('m.room.member'),
  sender: z.string(),
  state_key: z.string(),
  content: z.object({ membership: z.literal('invite'), is_direct: z.boolean().optional().catch(undefined) }),
});
const tombstoneSchema = z.object({ replacement_room: z.string().min(1) });

/** Another server may need a moment before it knows of an invite that it has just sent. */
const JOIN_TRIES = 4;
const HOUR_MS = 3600_000;
const INVITES_AN_HOUR = 30;
const spaceSchema = z.object({
  type: z.literal('m.room.create'),
  content: z.object({ type: z.literal('m.space') }),
});

async function join(parts: MembershipParts, room: string, servers: readonly string[]): Promise<boolean> {
  const { delivery, connection } = parts;
  for (let tries = 1; ; tries += 1) {
    try {
      await delivery.keepTrying(() => connection().joinRoom(room, [...new Set(servers.filter(Boolean))]));
      return true;
    } catch (error) {
      if (!(error instanceof NotSent)) throw error;
      if (tries === JOIN_TRIES) {
        parts.log('matrix', `${room} cannot be joined: ${error.code}`);
        return false;
      }
      await pause(backoffMs(tries) / 2);
    }
  }
}

/** A room that another one was replaced by takes over what was set there. */
async function takeOver(parts: MembershipParts, room: string): Promise<boolean> {
  const { rooms, directs, database } = parts;
  const old = (await rooms.state(room)).create.predecessor?.room_id;
  // Anyone can name any room as the one before theirs; the old room must say so too.
  if (old === undefined || (await rooms.replacementOf(old)) !== room) return false;
  const owner = directs.ownerOf(old);
  if (owner) await directs.mark(room, owner);
  const moved = database.transaction(() => {
    const before = database.channelBindings.bindingOf(MATRIX, old);
    if (!before || database.channelBindings.bindingOf(MATRIX, room)) return false;
    const { platform, collective, kind, weekly } = before;
    database.channelBindings.bind({ platform, id: room, collective, kind }, parts.clock());
    database.channelBindings.setWeekly(platform, room, weekly);
    const owner = database.collectives.find(collective);
    if (owner) database.of(owner).weeks.move(`${platform}:${old}`, `${platform}:${room}`);
    database.channelBindings.unbind(platform, old);
    return true;
  });
  return moved || owner !== null;
}

async function greet(parts: MembershipParts, room: string, direct: boolean): Promise<void> {
  const { rooms, own, memory, database, speaker } = parts;
  const state = await rooms.state(room);
  if (!maySend(state, own, 'm.room.message') || !memory.firstTelling(`hello:${room}`, 1)) return;
  const bound = database.channelBindings.bindingOf(MATRIX, room) !== null;
  await speaker.say({
    reply: withLocale(languageAt(database, MATRIX, room, ''), () =>
      inWords(
        reply({
          title: say`Thirdhand is here.`,
          blocks: [
            text(
              direct || bound
                ? say`Say /help to see what you can ask.`
                : say`A steward sets this room up: /setup for a new collective, or /setup link word:… to join one.`,
            ),
          ],
        }),
      ),
    ),
    spot: { room, thread: null, replyTo: null },
    key: `hello ${parts.clock().toISOString()}`,
  });
}

async function decline(parts: MembershipParts, room: string, reason: Message): Promise<void> {
  const { delivery, connection } = parts;
  try {
    await delivery.keepTrying(() => connection().leaveRoom(room, render(reason)));
  } catch (error) {
    if (!(error instanceof NotSent)) throw error;
  }
}

/** Tells why an invite of somebody who may invite is not taken; null where it is. It counts those that are. */
function invitesOf({
  clock,
  log,
}: MembershipParts): (state: readonly unknown[], sender: string) => Message | null {
  /** When invites were taken, in milliseconds, no longer ago than an hour. */
  let taken: number[] = [];
  return (state, sender) => {
    const isSpace = state.some((event) => spaceSchema.safeParse(event).success);
    if (isSpace)
      return say`I answer in rooms. A space has nothing for me to answer: invite me into its rooms.`;
    const now = clock().getTime();
    taken = taken.filter((time) => now - time < HOUR_MS);
    if (taken.length >= INVITES_AN_HOUR) {
      log('matrix', `declined an invite by ${sender}: more than ${INVITES_AN_HOUR} in an hour`);
      return say`I have been asked into many rooms within an hour. Invite me again later.`;
    }
    taken.push(now);
    return null;
  };
}

export function membershipOf(parts: MembershipParts): Membership {
  const { rooms, directs, own, allow } = parts;

  const declines = invitesOf(parts);
  return {
    left: async (room, person) => {
      // A direct room that the person has left is of no use to anybody.
      if (directs.ownerOf(room) !== person) return;
      await decline(parts, room, say`You have left this room, so I leave it too.`);
    },
    invited: async (room, state) => {
      const invite = state
        .map((event) => inviteSchema.safeParse(event).data)
        .find((one) => one?.state_key === own);
      if (!invite) return;
      const { sender, content } = invite;
      if (!isAllowed(sender, own, allow)) {
        parts.log('matrix', `declined an invite by ${sender}: not on the allow-list`);
        return decline(
          parts,
          room,
          say`I take invites only from those that whoever runs me has allowed, and ${verbatim(sender)} is not among them.`,
        );
      }
      const why = declines(state, sender);
      if (why) return decline(parts, room, why);
      rooms.forget(room);
      if (!(await join(parts, room, [serverOf(sender), serverOf(room)]))) return;
      if (content.is_direct) await directs.mark(room, sender);
      await takeOver(parts, room);
      await greet(parts, room, content.is_direct === true);
    },
    replaced: async (room, tombstone) => {
      const event = eventSchema.safeParse(tombstone);
      const replacement = tombstoneSchema.safeParse(event.data?.content).data?.replacement_room;
      if (!event.success || replacement === undefined) return;
      // Where the new room is by invite only, the invite brings the bot there.
      if (!(await join(parts, replacement, [serverOf(event.data.sender), serverOf(room)]))) return;
      rooms.forget(replacement);
      if (await takeOver(parts, replacement))
        parts.log('matrix', `${room} was replaced: followed to ${replacement}`);
    },
  };
}
