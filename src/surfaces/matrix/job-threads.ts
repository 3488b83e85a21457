/** Threads of jobs on Matrix: the card is a message in the room that is edited, and the root of the job's thread. */
import { z } from 'zod';
import { inWords, reply } from '../../../commands/framework/reply.ts';
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

/** What only people can change is thrown as words for them. */
async function helped<T>({ name, reply: { language } }: JobCard, work: () => Promise<T>): Promise<T> {
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
}

const refuse = (code: string): never => {
  throw new NotSent({ kind: 'refused', code, what: 'the card of a job' });
};

export class MatrixJobThreads implements JobThreads {
  private readonly parts: MatrixJobThreadsParts;

  constructor(parts: MatrixJobThreadsParts) {
    this.parts = parts;
  }

  readonly open: JobThreads['open'] = (room, card, again) =>
    helped(card, async () => {
      await this.checkRight(room);
      const id =
        (again ? await posterFor(room, this.parts).find(card.key) : null) ?? (await this.send(room, card));
      this.keepOffer(room, id, card);
      return { channel: room, thread: id, card: id };
    });

  readonly edit: JobThreads['edit'] = ({ channel: room, card: id }, card) =>
    helped(card, async () => {
      await this.checkRight(room);
      await this.checkThere(room, id);
      await this.parts.delivery.send({
        room,
        type: 'm.room.message',
        content: edit(this.draw(card), id, card.reply.title),
        // A job that comes back to an earlier state says so again.
        transaction: transactionOf('card', room, id, card.stamp),
      });
      this.keepOffer(room, id, card);
    });

  readonly tell: JobThreads['tell'] = async (collective, words) => {
    const { database, speaker, log } = this.parts;
    const found = database.collectives.find(collective);
    const room = found && database.of(found).jobPosts.channelOf(MATRIX)?.channel;
    if (!room) return;
    const told = inWords(reply({ title: plain`${verbatim(words)}`, tone: 'caution' }));
    try {
      await this.checkRight(room);
      const spot = { room, thread: null, replyTo: null };
      await speaker.say({ reply: told, spot, key: `card told ${words}` });
    } catch (error) {
      if (!(error instanceof NotSent)) throw error;
      log(MATRIX, words);
    }
  };

  private send(room: string, card: JobCard): Promise<string> {
    const weight = isUrgent(card.reply) ? 'm.text' : 'm.notice';
    const said = notice(this.draw(card), { room, thread: null, replyTo: null }, weight);
    return this.parts.delivery.send({
      room,
      type: 'm.room.message',
      content: { ...said, [POST_TAG]: { key: card.key, part: 0, of: 1 } },
      transaction: transactionOf('card', room, card.key, card.stamp),
    });
  }

  /** A notification shows the first line: it says which job it is about, also where cautions come before the rest. */
  private draw({ reply: made }: JobCard): Drawn {
    const { prefix, commandNames } = this.parts;
    const [drawn] = renderForMatrix(asSaidHere(frontOf(made), prefix, commandNames), [], {
      most: CARD_BYTES,
    });
    const bare = { ...made, before: undefined, cautions: [], blocks: [], choices: [], sources: [] };
    const [about] = renderForMatrix(bare);
    if (!drawn || !about) throw new Error('a card without words');
    if (made.before === undefined && !made.cautions.length) return drawn;
    return { body: `${about.body}\n\n${drawn.body}`, html: `${about.html}${drawn.html}` };
  }

  /** Its choices are taken by a number in its thread, in answer to it, or by a reaction. */
  private keepOffer(room: string, card: string, { reply: { choices } }: JobCard): void {
    const { memory, own, clock } = this.parts;
    memory.saveOffer(card, {
      room,
      thread: card,
      asker: memory.markOf(own),
      tokens: choices.map(({ token = '' }) => token),
      question: null,
      more: null,
      at: clock().toISOString(),
    });
  }

  private async checkRight(room: string): Promise<void> {
    const { delivery, rooms, own } = this.parts;
    const state = await delivery.keepTrying(() => rooms.state(room));
    if (!maySend(state, own, 'm.room.message')) refuse('M_FORBIDDEN');
  }

  /** Throws where it is not there any more. */
  private async checkThere(room: string, card: string): Promise<void> {
    const { delivery, connection } = this.parts;
    const path = ['rooms', room, 'event', card].map(encodeURIComponent).join('/');
    const raw: unknown = await delivery.keepTrying(() =>
      connection().doRequest('GET', `/_matrix/client/v3/${path}`),
    );
    if (redactedSchema.safeParse(raw).success) refuse('M_NOT_FOUND');
  }
}
