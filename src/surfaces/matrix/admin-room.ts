/**
 * A room for whoever runs the bot (`MATRIX_ADMIN_ROOM`): what went wrong and which invites were declined stand there, and the
 * bot's rooms are listed and left from there. Like the log, it is in English.
 */

import { z } from 'zod';
import { refusalReply } from '../../../commands/framework/refusal.ts';
import { inWords, type Reply, reply, text } from '../../../commands/framework/reply.ts';
import type { Message } from '../../../shared/language/message.ts';
import { verbatim } from '../../../shared/language/say.ts';
import type { Log } from '../../environment/log.ts';
import type { MatrixConnection } from './client.ts';
import type { Memory } from './memory.ts';
import { networkErrorOf } from './network-error.ts';
import type { Rooms } from './rooms.ts';
import type { Speaker } from './speaker.ts';

export interface AdminRoomParts {
  /** Null where there is none. */
  room: string | null;
  connection: () => MatrixConnection;
  rooms: Rooms;
  memory: Memory;
  /** The log itself, which the room never takes the place of. */
  log: Log;
  speaker: () => Speaker;
  clock: () => Date;
}

export interface AdminRoom {
  /** Writes to the log, and tells the room: the same thing once an hour. */
  log: Log;
  /** What is answered to a line that was said in the room; null where it is not about the bot's rooms. */
  answer(room: string, line: string): Promise<Reply | null>;
}

/** What is for whoever runs the bot is not translated. */
const plainWords = (words: string): Message => verbatim(words);

const joinedSchema = z.object({ joined_rooms: z.array(z.string()) });

export function adminRoomOf(parts: AdminRoomParts): AdminRoom {
  const { connection, rooms, memory } = parts;

  const tell = async (words: string): Promise<void> => {
    if (parts.room === null || !memory.firstTelling(`admin:${words}`, 1)) return;
    await parts.speaker().say({
      reply: inWords(reply({ title: plainWords(words), tone: 'caution' })),
      spot: { room: parts.room, thread: null, replyTo: null },
      key: `admin ${words} ${parts.clock().toISOString()}`,
    });
  };

  const list = async (): Promise<Reply> => {
    const answer: unknown = await connection().doRequest('GET', '/_matrix/client/v3/joined_rooms');
    const { joined_rooms } = joinedSchema.parse(answer);
    const named: string[] = [];
    for (const room of joined_rooms)
      named.push(`${(await rooms.state(room)).name ?? 'a direct room'}: ${room}`);
    return inWords(
      reply({
        title: plainWords(`I am in ${joined_rooms.length} rooms`),
        blocks: [
          ...named.map((line) => text(plainWords(line))),
          text(plainWords('To leave one: leave ROOM')),
        ],
      }),
    );
  };

  const leave = async (room: string): Promise<Reply> => {
    try {
      await connection().leaveRoom(room);
      return inWords(reply({ title: plainWords(`I have left ${room}.`), tone: 'good' }));
    } catch (error) {
      if (networkErrorOf(error).kind !== 'refused') throw error;
      return inWords(
        refusalReply({
          code: 'bad-option',
          problem: plainWords(`I am in no room ${room}.`),
          expected: plainWords('an id that "rooms" lists'),
        }),
      );
    }
  };

  return {
    log: (id, error) => {
      parts.log(id, error);
      // An error's own words may hold what people said: the log has them, the room does not.
      const words = typeof error === 'string' ? error : `Something went wrong; the log has it under ${id}.`;
      tell(words).catch((failed: unknown) => parts.log('matrix', failed));
    },
    answer: async (room, line) => {
      if (room !== parts.room) return null;
      const [, word, rest = ''] = /^\/(rooms|leave)(?:\s+(\S+))?\s*$/i.exec(line) ?? [];
      if (word === undefined) return null;
      return word.toLowerCase() === 'rooms' || !rest ? list() : leave(rest);
    },
  };
}
