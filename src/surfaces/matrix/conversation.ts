/** What the bot does with what it hears: a command, a choice, or nothing. */
import type { Command } from '../../../commands/framework/command.ts';
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import { languageAt } from '../../../commands/framework/place-language.ts';
import { commandWord, privateCommandIn } from '../../../commands/framework/private.ts';
import { inWords, reply, text } from '../../../commands/framework/reply.ts';
import { withLocale } from '../../../shared/language/locale.ts';
import { say } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import type { ChatMessages } from '../chat-messages.ts';
import { numbersIn } from '../choice-numbers.ts';
import { isMoreWord } from '../more-word.ts';
import { isMoreKey, isSeveral, lineOf, numberOfKey, type Self } from './address.ts';
import type { AdminRoom } from './admin-room.ts';
import { type Replies, type RepliesParts, repliesOf } from './answers.ts';
import type { Attachments } from './attachments.ts';
import type { MatrixConnection } from './client.ts';
import { type Delivery, NotSent } from './delivery.ts';
import { NotPrivate } from './direct-rooms.ts';
import type { Heard } from './events.ts';
import { homesOf } from './homes.ts';
import { type Lines, linesOf } from './lines.ts';
import { DIRECT, type Offers, offersOf } from './offers.ts';
import { MATRIX, type MatrixRequesters, matrixKeyOf, type Turn } from './requester.ts';
import { maySend, type Rooms } from './rooms.ts';
import { runnerOf } from './runner.ts';
import { type TellOfSilence, tellOfSilenceOver } from './silence.ts';

export interface ConversationParts extends RepliesParts {
  database: Database;
  dispatcher: Dispatcher;
  commands: readonly Command[];
  makeId: () => string;
  clock: () => Date;
  log: Log;
  own: string;
  ownName: () => string | null;
  prefix: string;
  stewardLevel: number;
  requesters: MatrixRequesters;
  adminRoom: AdminRoom;
  /** Whether the bot can read in encrypted rooms. */
  canDecrypt: boolean;
  connection: () => MatrixConnection;
  delivery: Delivery;
  rooms: Rooms;
  attachments: Attachments;
  messages: ChatMessages;
}

export interface Conversation {
  /** Replies what was heard in a room, where it is for the bot. */
  hear(room: string, heard: Heard): Promise<void>;
  tellOfSilence: TellOfSilence;
}

type Message = Extract<Heard, { kind: 'message' }>;

/** All that has a say in a conversation. */
interface Talk extends ConversationParts {
  answers: Replies;
  lines: Lines;
  offers: Offers;
  tellOfSilence: TellOfSilence;
}

const selfOf = ({ own, ownName, prefix }: Talk): Self => ({ id: own, name: ownName(), prefix });
const nameTest =
  ({ commands }: Talk) =>
  (word: string): boolean =>
    commands.some(({ name }) => name === word);
const isCommand = (talk: Talk, line: string): boolean =>
  nameTest(talk)(commandWord(line)?.toLowerCase() ?? '');
const lineIn = (talk: Talk, message: Message, direct: boolean): string | null =>
  lineOf(message, selfOf(talk), direct, nameTest(talk));

async function takeMessage(talk: Talk, turn: Turn, message: Message, marked: boolean): Promise<void> {
  const { answers, commands, lines, memory, offers } = talk;
  const line = lineIn(talk, message, marked);
  if (marked && !turn.direct) {
    // What people say to each other in it is not for the bot, but for what may have been meant to be private.
    const meant = lineIn(talk, message, false) !== null;
    if (line === null) return;
    if (meant || privateCommandIn(line, commands) || memory.firstTelling(`crowded:${turn.room}`, 24))
      await lines.crowded(turn, line);
    return;
  }
  if (isSeveral(message, selfOf(talk), turn.direct, nameTest(talk))) {
    await answers.refuse(turn, {
      code: 'bad-option',
      problem: say`Those are several commands in one message, and I have run none of them.`,
      expected: say`each in a message of its own`,
    });
    return;
  }
  const numbers = numbersIn(message.body) ?? numbersIn(line?.slice(1) ?? '');
  const offer = offers.offerFor(turn, message);
  // Several numbers that are no choices are words like any others.
  const taken = numbers?.length === 1 || numbers?.every((one) => one <= (offer?.tokens.length ?? 0));
  if (numbers && taken && offer && (offer.tokens.length || !offer.question))
    return offers.choose(turn, offer, numbers);
  const newest = offers.offerFor(turn, message, 'any');
  if (newest && newest.more !== null && isMoreWord(line ?? message.body))
    return offers.showMore(turn, newest);
  // In a direct room all words are commands, but for an answer to the question that stands last.
  const waiting = offer?.question && (line === null || (turn.direct && !isCommand(talk, line)));
  const explicit = message.replyTo !== null || message.thread !== null || turn.direct;
  if (offer && waiting && explicit) return offers.fillIn(turn, offer, message.body);
  if (line === null) return;
  const told = await talk.adminRoom.answer(turn.room, line);
  if (told) await answers.inRoom(turn, told);
  else await lines.take(turn, line);
}

/** An encrypted message that cannot be read. */
async function takeSealed(talk: Talk, turn: Turn): Promise<void> {
  const { answers, memory, speaker } = talk;
  if (!memory.firstTelling(`sealed:${turn.room}`, 24)) return;
  if (talk.canDecrypt) {
    await speaker.say({
      reply: inWords(
        reply({
          title: say`I cannot read a message here: its key has not reached me.`,
          tone: 'caution',
          blocks: [text(say`If it was for me, say it again, or write to me in a direct room.`)],
        }),
      ),
      spot: turn.spot,
      key: turn.heard.eventId,
    });
    return;
  }
  const said = inWords(
    reply({
      title: say`This room is encrypted, and I cannot read here.`,
      tone: 'caution',
      blocks: [text(say`I can talk with you in a direct room that is not encrypted.`)],
      choices: [
        {
          label: say`Open an unencrypted direct room with me`,
          invoke: { command: 'help', action: '', options: {} },
          token: DIRECT,
        },
      ],
    }),
  );
  const offer = answers.offerOf(turn.heard.sender, said);
  await speaker.say({ reply: said, spot: turn.spot, key: turn.heard.eventId, offer });
}

/** Whether the bot would do anything about it; so that nothing is asked of the homeserver for talk among people. */
function concerns(talk: Talk, room: string, heard: Heard, marked: boolean): boolean {
  const { memory, offers } = talk;
  if (heard.kind === 'reaction')
    return (numberOfKey(heard.key) !== null || isMoreKey(heard.key)) && memory.offerOf(heard.target) !== null;
  if (heard.kind === 'sealed') return true;
  // An edit counts where it mends what was refused; anything else has been answered as it was.
  if (heard.edits !== null && !memory.wasRefused(heard.edits, heard.sender)) return false;
  const spot = { room, thread: heard.thread, replyTo: heard.eventId };
  return (
    lineIn(talk, heard, marked) !== null ||
    offers.offerFor({ room, heard, direct: marked, spot }, heard, 'any') !== null
  );
}

/** Whether the room is of the person and the bot alone, looked at anew. */
async function isPrivateNow(talk: Talk, room: string, person: string): Promise<boolean> {
  try {
    await talk.directs.check(room, person);
    return true;
  } catch (error) {
    if (error instanceof NotPrivate) return false;
    throw error;
  }
}

async function takeReaction(
  talk: Talk,
  room: string,
  heard: Extract<Heard, { kind: 'reaction' }>,
  marked: boolean,
  direct: boolean,
): Promise<void> {
  const { lines, memory, offers } = talk;
  const offer = memory.offerOf(heard.target);
  const number = numberOfKey(heard.key);
  if (!offer || offer.room !== room) return;
  const asksMore = offer.more !== null && isMoreKey(heard.key);
  if (!asksMore && (number === null || number > offer.tokens.length)) return;
  const spot = { room, thread: offer.thread, replyTo: heard.target };
  if (marked && !direct) return lines.crowded({ room, heard, direct, spot }, '');
  if (asksMore || number === null) return offers.showMore({ room, heard, direct, spot }, offer);
  return offers.choose({ room, heard, direct, spot }, offer, [number]);
}

/** Whoever runs the bot has not allowed this person: said once a day, and nothing else. */
async function turnAway(talk: Talk, room: string, heard: Heard): Promise<void> {
  const { answers, memory } = talk;
  if (heard.kind !== 'message' || !memory.firstTelling(`away:${room} ${memory.markOf(heard.sender)}`, 24))
    return;
  const spot = { room, thread: heard.thread, replyTo: heard.eventId };
  await answers.refuse(
    { room, heard, direct: false, spot },
    {
      code: 'not-allowed',
      problem: say`Whoever runs me has not allowed me to answer you.`,
      expected: say`to ask them: MATRIX_ALLOW names the servers and people that I answer`,
    },
  );
}

async function answer(talk: Talk, room: string, heard: Heard): Promise<void> {
  const { directs, memory, own, requesters, rooms, tellOfSilence } = talk;
  const marked = directs.isMarked(room, heard.sender);
  if (talk.patience.isOver(room, heard.sender) || !concerns(talk, room, heard, marked)) return;
  const state = await rooms.state(room);
  if (!maySend(state, own, 'm.room.message')) return tellOfSilence(room, 'spoken', heard.eventId);
  if (!requesters.isMember(heard.sender)) return turnAway(talk, room, heard);
  const direct = marked && (await isPrivateNow(talk, room, heard.sender));
  if (heard.kind === 'reaction') return takeReaction(talk, room, heard, marked, direct);
  const thread = heard.kind === 'message' ? heard.thread : null;
  const replyTo = heard.kind === 'message' && heard.edits !== null ? heard.edits : heard.eventId;
  const turn: Turn = { room, heard, direct, spot: { room, thread, replyTo } };
  if (heard.kind === 'sealed') return takeSealed(talk, turn);
  if (heard.edits !== null) memory.forgetRefused(heard.edits);
  return takeMessage(talk, turn, heard, marked);
}

export function conversationOf(parts: ConversationParts): Conversation {
  const { database, memory, delivery, requesters } = parts;
  const answers = repliesOf(parts);
  const tellOfSilence = tellOfSilenceOver({ ...parts, answers });
  const runner = runnerOf({ ...parts, answers });
  const homes = homesOf({ database, answers, requesters, runner });
  const lines = linesOf({ ...parts, answers, homes, requesters, runner });
  const offers = offersOf({ ...parts, answers, lines, requesters, runner });
  const talk: Talk = { ...parts, answers, lines, offers, tellOfSilence };

  return {
    tellOfSilence,
    hear: async (room, heard) => {
      // A message that could not be read at first is heard once more when it can.
      const once = heard.kind === 'sealed' ? `sealed ${heard.eventId}` : heard.eventId;
      if (memory.isDone(once)) return;
      try {
        // Everything in it can be done again: what is saved is saved once by its event, what is sent by its transaction.
        await withLocale(languageAt(database, MATRIX, room, matrixKeyOf(heard.sender)), () =>
          delivery.keepTrying(() => answer(talk, room, heard)),
        );
      } catch (error) {
        if (!(error instanceof NotSent)) throw error;
        parts.log('matrix', error);
        if (error.code === 'M_FORBIDDEN') await tellOfSilence(room, 'spoken', heard.eventId);
      } finally {
        runner.settle(heard.eventId);
      }
      memory.markDone(once);
    },
  };
}
