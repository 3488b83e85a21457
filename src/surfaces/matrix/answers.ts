/** Says what was made for a person where that person is to read it. */
import { type RefusalDetail, refusalReply } from '../../../commands/framework/refusal.ts';
import { inWords, type Reply, reply, text } from '../../../commands/framework/reply.ts';
import { render } from '../../../shared/language/render.ts';
import { say, verbatim } from '../../../shared/language/say.ts';
import type { Sent } from '../chat-messages.ts';
import { homeOfChoice } from '../home-command.ts';
import { NotSent } from './delivery.ts';
import { type DirectRooms, NotPrivate } from './direct-rooms.ts';
import type { Memory, Offer } from './memory.ts';
import type { Patience } from './patience.ts';
import type { Turn } from './requester.ts';
import type { Saying, Speaker } from './speaker.ts';
import { roughly } from './wording.ts';

/** Begins the token of a choice that means a collective. */
export const HOME = 'home:';

export interface RepliesParts {
  memory: Memory;
  patience: Patience;
  directs: DirectRooms;
  speaker: Speaker;
  /** Above this age an answer says that it is late, in milliseconds. */
  lateAfterMs: number;
}

interface Delivered {
  question?: Offer['question'];
  notes?: string[];
  /** The request that is kept and whose reply this is: its front is said, and the rest to who asks for more. */
  more?: string | null;
  /** Told of each message that stands there now, and whether it is in a direct room. */
  onSent?: (sent: Sent) => void;
  /** Where it is said elsewhere, nothing is said of that in the room: who asked knows. */
  quiet?: boolean;
}

export interface Replies {
  /** Where it was said. Throws NotPrivate where somebody has come into the direct room this moment. */
  inRoom(turn: Turn, said: Reply, more?: Partial<Saying>): Promise<string>;
  /** In the person's direct room, another one when somebody else turns up in it. Null when none can be had. */
  privately(person: string, saying: Omit<Saying, 'spot'>): Promise<string | null>;
  /** To where its audience is. What is refused stands where it was said: it repeats nothing but that. */
  deliver(turn: Turn, said: Reply, how?: Delivered): Promise<void>;
  refuse(turn: Turn, detail: RefusalDetail): Promise<string>;
  /** What is kept of the choices of a reply. */
  offerOf(person: string, said: Reply): Pick<Offer, 'asker' | 'tokens' | 'question' | 'more'>;
}

export function repliesOf(parts: RepliesParts): Replies {
  const { memory, directs, speaker, patience } = parts;

  const lateNote = ({ heard: { age } }: Turn): string[] =>
    age > parts.lateAfterMs ? [render(say`That reached me ${verbatim(roughly(age))} late.`)] : [];

  /** The words for a person who is not answered for a while from here on. */
  const lastWord = (turn: Turn, said: Reply): string[] => {
    const { room, heard } = turn;
    if (said.outcome === 'answered') {
      patience.answered(room, heard.sender);
      return [];
    }
    return patience.refused(room, heard.sender, heard.eventId)
      ? [
          render(
            say`That was one thing after another that I could not do. I am silent to you here for ten minutes.`,
          ),
        ]
      : [];
  };

  const inRoom: Replies['inRoom'] = (turn, said, { notes = lateNote(turn), ...more } = {}) =>
    speaker.say({
      reply: said,
      spot: turn.spot,
      key: turn.heard.eventId,
      notes: [...notes, ...lastWord(turn, said)],
      ...(turn.direct ? { before: () => directs.check(turn.room, turn.heard.sender) } : {}),
      ...more,
    });

  const privately = async (person: string, saying: Omit<Saying, 'spot'>): Promise<string | null> => {
    for (let tries = 0; tries < 2; tries += 1) {
      try {
        const room = await directs.open(person);
        const spot = { room, thread: null, replyTo: null };
        await speaker.say({ ...saying, spot, before: () => directs.check(room, person) });
        return room;
      } catch (error) {
        if (error instanceof NotSent) return null;
        if (!(error instanceof NotPrivate)) throw error;
      }
    }
    return null;
  };

  const offerOf = (
    person: string,
    said: Reply,
    question: Offer['question'] = null,
    more: Offer['more'] = null,
  ) => ({
    more,
    asker: memory.markOf(person),
    tokens: said.choices.map(({ token = '', invoke }) => {
      const home = homeOfChoice(invoke);
      return home === null ? token : `${HOME}${home}`;
    }),
    question,
  });

  const deliver = async (
    turn: Turn,
    said: Reply,
    { question = null, notes = [], more = null, quiet = false, onSent }: Delivered = {},
  ): Promise<void> => {
    const noting = (alone: boolean) =>
      onSent ? { onSent: (channel: string, message: string) => onSent({ channel, message, alone }) } : {};
    const { sender, eventId } = turn.heard;
    const offer = offerOf(sender, said, question, more);
    const words = [...notes, ...lateNote(turn)];
    if (turn.direct || said.audience === 'room' || said.outcome !== 'answered') {
      try {
        await inRoom(turn, said, { offer, notes: words, ...noting(turn.direct) });
        return;
      } catch (error) {
        // Somebody has come into the direct room this moment: the rest goes to another.
        if (!(error instanceof NotPrivate)) throw error;
      }
    }
    // Answered elsewhere is answered, too.
    if (said.outcome === 'answered') patience.answered(turn.room, sender);
    const room = await privately(sender, {
      reply: said,
      key: eventId,
      notes: words,
      offer,
      ...noting(true),
    });
    if (quiet && room) return;
    await speaker.say({
      reply: inWords(
        room
          ? reply({ title: say`I answered you in our direct room.`, tone: 'good' })
          : reply({
              title: say`That answer is for you alone, and I cannot open a direct room with you.`,
              tone: 'caution',
              blocks: [text(say`Invite me to one, and ask again there.`)],
            }),
      ),
      spot: turn.spot,
      key: `${eventId} elsewhere`,
    });
  };

  const refuse = (turn: Turn, detail: RefusalDetail): Promise<string> =>
    inRoom(turn, inWords(refusalReply(detail)));

  return { inRoom, privately, deliver, refuse, offerOf };
}
