/** Threads of jobs on Matrix: the card is a message in the room that is edited, and the root of the job's thread. */
import { z } from 'zod';
import { inWords, type Reply, reply } from '../../../commands/framework/reply.ts';
import { frontOf } from '../../../commands/framework/sides.ts';
import { render } from '../../../shared/language/render.ts';
import { plain, say, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import { CannotKeepCard, type JobCard, type JobThreads } from '../job-cards.ts';
import { edit, notice } from './content.ts';
import { NotSent, transactionOf } from './delivery.ts';
import type { Memory } from './memory.ts';
import { type MatrixPosterParts, posterFor } from './poster.ts';
import { type Drawn, isUrgent, renderForMatrix } from './render.ts';
import { MATRIX } from './requester.ts';
import { maySend } from './rooms.ts';
import { POST_TAG } from './speaker.ts';
import { asSaidHere } from './wording.ts';

/** One message must hold a card: body and HTML together, in bytes. */
const CARD_BYTES = 50_000;
const redactedSchema = z.object({ unsigned: z.object({ redacted_because: z.unknown() }) });

export interface MatrixJobThreadsParts extends MatrixPosterParts {
  database: Database;
  memory: Memory;
  clock: () => Date;
  log: (id: string, error: unknown) => void;
}

export function matrixJobThreadsOf(parts: MatrixJobThreadsParts): JobThreads {
  const { connection, delivery, rooms, speaker, memory, own, database, clock } = parts;

  /** A notification shows the first line: it says which job it is about, also where cautions come before the rest. */
  const draw = ({ reply: made }: JobCard): Drawn => {
    const [drawn] = renderForMatrix(asSaidHere(frontOf(made), parts.prefix, parts.commandNames), [], {
      most: CARD_BYTES,
    });
    const bare = { ...made, before: undefined, cautions: [], blocks: [], choices: [], sources: [] };
    const [about] = renderForMatrix(bare);
    if (!drawn || !about) throw new Error('a card without words');
    if (made.before === undefined && !made.cautions.length) return drawn;
    return { body: `${about.body}\n\n${drawn.body}`, html: `${about.html}${drawn.html}` };
  };

  /** Its choices are taken by a number in its thread, in answer to it, or by a reaction. */
  const keepOffer = (room: string, card: string, { reply: { choices } }: JobCard): void => {
    memory.saveOffer(card, {
      room,
      thread: card,
      asker: memory.markOf(own),
      tokens: choices.map(({ token = '' }) => token),
      question: null,
      more: null,
      at: clock().toISOString(),
    });
  };

  /** What only people can change is thrown as words for them. */
  const helped = async <T>({ name, reply: { language } }: JobCard, work: () => Promise<T>): Promise<T> => {
    try {
      return await work();
    } catch (error) {
      if (!(error instanceof NotSent)) throw error;
      const words =
        error.code === 'M_NOT_FOUND'
          ? say`The card of ${verbatim(name)} is gone. The job goes on without it; /room jobs makes it anew.`
          : say`I may not keep the card of ${verbatim(name)} in its room. The job goes on without it; let me send messages there, then say /room jobs again.`;
      throw new CannotKeepCard(render(words, language));
    }
  };

  const refuse = (code: string): never => {
    throw new NotSent({ kind: 'refused', code, what: 'the card of a job' });
  };
  const checkRight = async (room: string): Promise<void> => {
    const state = await delivery.keepTrying(() => rooms.state(room));
    if (!maySend(state, own, 'm.room.message')) refuse('M_FORBIDDEN');
  };

  /** Throws where it is not there any more. */
  const checkThere = async (room: string, card: string): Promise<void> => {
    const path = ['rooms', room, 'event', card].map(encodeURIComponent).join('/');
    const raw: unknown = await delivery.keepTrying(() =>
      connection().doRequest('GET', `/_matrix/client/v3/${path}`),
    );
    if (redactedSchema.safeParse(raw).success) refuse('M_NOT_FOUND');
  };

  return {
    open: (room, card, again) =>
      helped(card, async () => {
        await checkRight(room);
        const standing = again ? await posterFor(room, parts).find(card.key) : null;
        const spot = { room, thread: null, replyTo: null };
        const weight = isUrgent(card.reply) ? 'm.text' : 'm.notice';
        const id =
          standing ??
          (await delivery.send({
            room,
            type: 'm.room.message',
            content: { ...notice(draw(card), spot, weight), [POST_TAG]: { key: card.key, part: 0, of: 1 } },
            transaction: transactionOf('card', room, card.key, card.stamp),
          }));
        keepOffer(room, id, card);
        return { channel: room, thread: id, card: id };
      }),
    edit: ({ channel: room, card: id }, card) =>
      helped(card, async () => {
        await checkRight(room);
        await checkThere(room, id);
        await delivery.send({
          room,
          type: 'm.room.message',
          content: edit(draw(card), id, card.reply.title),
          // A job that comes back to an earlier state says so again.
          transaction: transactionOf('card', room, id, card.stamp),
        });
        keepOffer(room, id, card);
      }),
    tell: async (collective, words) => {
      const found = database.collectives.find(collective);
      const room = found && database.of(found).jobPosts.channelOf(MATRIX)?.channel;
      const told: Reply = inWords(reply({ title: plain`${verbatim(words)}`, tone: 'caution' }));
      try {
        if (!room) return;
        await checkRight(room);
        await speaker.say({
          reply: told,
          spot: { room, thread: null, replyTo: null },
          key: `card told ${words}`,
        });
      } catch (error) {
        if (!(error instanceof NotSent)) throw error;
        parts.log(MATRIX, words);
      }
    },
  };
}
