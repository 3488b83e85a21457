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

function lateNote(parts: RepliesParts, { heard: { age } }: Turn): string[] {
  return age > parts.lateAfterMs ? [render(say`That reached me ${verbatim(roughly(age))} late.`)] : [];
}

/** The words for a person who is not answered for a while from here on. */
function lastWord(parts: RepliesParts, turn: Turn, said: Reply): string[] {
  const { patience } = parts;
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
}

function inRoom(
  parts: RepliesParts,
  turn: Turn,
  said: Reply,
  { notes = lateNote(parts, turn), ...more }: Partial<Saying> = {},
): Promise<string> {
  const { speaker, directs } = parts;
  return speaker.say({
    reply: said,
    spot: turn.spot,
    key: turn.heard.eventId,
    notes: [...notes, ...lastWord(parts, turn, said)],
    ...(turn.direct ? { before: () => directs.check(turn.room, turn.heard.sender) } : {}),
    ...more,
  });
}

async function privately(
  parts: RepliesParts,
  person: string,
  saying: Omit<Saying, 'spot'>,
): Promise<string | null> {
  const { directs, speaker } = parts;
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
}

function offerOf(
  parts: RepliesParts,
  person: string,
  said: Reply,
  question: Offer['question'] = null,
  more: Offer['more'] = null,
): ReturnType<Replies['offerOf']> {
  return {
    more,
    asker: parts.memory.markOf(person),
    tokens: said.choices.map(({ token = '', invoke }) => {
      const home = homeOfChoice(invoke);
      return home === null ? token : `${HOME}${home}`;
    }),
    question,
  };
}

async function deliver(
  parts: RepliesParts,
  turn: Turn,
  said: Reply,
  { question = null, notes = [], more = null, quiet = false, onSent }: Delivered = {},
): Promise<void> {
  const { patience, speaker } = parts;
  const noting = (alone: boolean) =>
    onSent ? { onSent: (channel: string, message: string) => onSent({ channel, message, alone }) } : {};
  const { sender, eventId } = turn.heard;
  const offer = offerOf(parts, sender, said, question, more);
  const words = [...notes, ...lateNote(parts, turn)];
  if (turn.direct || said.audience === 'room' || said.outcome !== 'answered') {
    try {
      await inRoom(parts, turn, said, { offer, notes: words, ...noting(turn.direct) });
      return;
    } catch (error) {
      // Somebody has come into the direct room this moment: the rest goes to another.
      if (!(error instanceof NotPrivate)) throw error;
    }
  }
  // Answered elsewhere is answered, too.
  if (said.outcome === 'answered') patience.answered(turn.room, sender);
  const room = await privately(parts, sender, {
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
}

function refuse(parts: RepliesParts, turn: Turn, detail: RefusalDetail): Promise<string> {
  return inRoom(parts, turn, inWords(refusalReply(detail)));
}

export const repliesOf = (parts: RepliesParts): Replies => ({
  inRoom: (turn, said, more) => inRoom(parts, turn, said, more),
  privately: (person, saying) => privately(parts, person, saying),
  deliver: (turn, said, how) => deliver(parts, turn, said, how),
  refuse: (turn, detail) => refuse(parts, turn, detail),
  offerOf: (person, said) => offerOf(parts, person, said),
});
