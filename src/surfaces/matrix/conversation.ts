/** What the bot does with what it hears: a command, a choice, or nothing; and where the answer goes. */

import type { Command } from '../../../commands/framework/command.ts';
import type { Context, Role } from '../../../commands/framework/context.ts';
import type { Dispatcher, Request, RequestOrigin } from '../../../commands/framework/dispatch.ts';
import { languageAt } from '../../../commands/framework/place-language.ts';
import { commandWord, privateCommandIn } from '../../../commands/framework/private.ts';
import { Refusal, type RefusalDetail, refusalReply } from '../../../commands/framework/refusal.ts';
import { type Invocation, inWords, type Reply, reply, text } from '../../../commands/framework/reply.ts';
import { staleWord } from '../../../commands/setup/link.ts';
import { isSaidAsCommand, plainLine } from '../../../commands/shared/plain-line.ts';
import { withLocale } from '../../../shared/language/locale.ts';
import { render } from '../../../shared/language/render.ts';
import { say, typed, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import { homeOfChoice } from '../home-command.ts';
import { lineOf, numberOf, numberOfKey } from './address.ts';
import type { Attachments } from './attachments.ts';
import type { MatrixConnection } from './client.ts';
import { type Delivery, NotSent, transactionOf } from './delivery.ts';
import { type DirectRooms, NotPrivate } from './direct-rooms.ts';
import type { Heard } from './events.ts';
import { type FormQuestion, questionAfter, questionReply } from './forms.ts';
import { found, linkWordIn } from './founding.ts';
import type { Memory, Offer } from './memory.ts';
import { MATRIX, type MatrixRequesters, matrixKeyOf, type Turn } from './requester.ts';
import { mayRedact, maySend, powerOf, type Rooms } from './rooms.ts';
import type { Saying, Speaker } from './speaker.ts';
import { roughly } from './wording.ts';

export interface ConversationParts {
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
  /** Whether the bot can read in encrypted rooms. */
  canDecrypt: boolean;
  /** Above this age an answer says that it is late, in milliseconds. */
  lateAfterMs: number;
  connection: () => MatrixConnection;
  delivery: Delivery;
  memory: Memory;
  rooms: Rooms;
  requesters: MatrixRequesters;
  directs: DirectRooms;
  speaker: Speaker;
  attachments: Attachments;
}

export interface Conversation {
  /** Answers what was heard in a room, where it is for the bot. */
  hear(room: string, heard: Heard): Promise<void>;
  /** Tells a steward, once a day for each `what`, that the bot may not speak in a room. `what`: why it wanted to. */
  tellOfSilence(room: string, why: keyof typeof silences, key: string): Promise<void>;
}

/** For so long a bare number in a shared room still answers the choices before it. */
const BARE_NUMBER_MS = 30 * 60_000;

type Message = Extract<Heard, { kind: 'message' }>;
type Say = Request['say'];

/** What waits where the bot may not speak. */
const silences = {
  spoken: say`Somebody spoke to me there.`,
  weekly: say`The weekly post waits to go there.`,
} as const;
const HOME = 'home:';
const DIRECT = 'direct:';

export function conversationOf(parts: ConversationParts): Conversation {
  const { database, dispatcher, commands, clock, own, memory, rooms, directs, speaker, delivery } = parts;
  const { roleIn, rolesOf, askedIn } = parts.requesters;

  // --- saying -------------------------------------------------------------------------------------------------------

  const lateNote = ({ heard: { age } }: Turn): string[] =>
    age > parts.lateAfterMs ? [render(say`That reached me ${verbatim(roughly(age))} late.`)] : [];

  const inRoom = (turn: Turn, said: Reply, more: Partial<Saying> = {}): Promise<string> =>
    speaker.say({
      reply: said,
      spot: turn.spot,
      key: turn.heard.eventId,
      notes: lateNote(turn),
      ...(turn.direct ? { before: () => directs.check(turn.room, turn.heard.sender) } : {}),
      ...more,
    });

  /** In the person's direct room, another one when somebody else turns up in it. Null when none can be had. */
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

  const offerOf = (person: string, said: Reply, question: Offer['question'] = null) => ({
    asker: memory.markOf(person),
    tokens: said.choices.map(({ token = '', invoke }) => {
      const home = homeOfChoice(invoke);
      return home === null ? token : `${HOME}${home}`;
    }),
    question,
  });

  /** To where its audience is. What is refused stands where it was said: it repeats nothing but that. */
  const deliver = async (
    turn: Turn,
    said: Reply,
    { question = null, notes = [] }: { question?: Offer['question']; notes?: string[] } = {},
  ): Promise<void> => {
    const { sender, eventId } = turn.heard;
    const offer = offerOf(sender, said, question);
    const words = [...notes, ...lateNote(turn)];
    if (turn.direct || said.audience === 'room' || said.outcome !== 'answered') {
      try {
        await inRoom(turn, said, { offer, notes: words });
        return;
      } catch (error) {
        // Somebody has come into the direct room this moment: the rest goes to another.
        if (!(error instanceof NotPrivate)) throw error;
      }
    }
    const room = await privately(sender, {
      reply: said,
      key: eventId,
      notes: words,
      offer,
    });
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

  // --- which collective, and as whom --------------------------------------------------------------------------------

  /** Asks which collective a direct room is for, or says that there is none. */
  const askHome = async (turn: Turn, candidates: ReadonlyMap<number, Role>): Promise<void> => {
    const [first] = candidates;
    if (!first) {
      await refuse(turn, {
        code: 'no-collective',
        problem: say`I do not know you from any room yet.`,
        expected: say`to speak to me in a room of your collective first, and to be in it`,
      });
      return;
    }
    const [collective, role] = first;
    const invoke = { command: 'home', action: '', options: {} };
    await command(turn, { ...(await askedIn(turn, collective, role)), unsettled: true }, { invoke });
  };

  const homeOf = async (turn: Turn): Promise<RequestOrigin | null> => {
    const { sender } = turn.heard;
    const chosen = database.channelBindings.homeOf(matrixKeyOf(sender));
    if (chosen !== null) {
      const role = (await rolesOf(sender, chosen)).get(chosen);
      if (role) return askedIn(turn, chosen, role);
    }
    const roles = await rolesOf(sender);
    const [only] = roles;
    if (roles.size !== 1 || !only) {
      await askHome(turn, roles);
      return null;
    }
    database.channelBindings.setHome(matrixKeyOf(sender), only[0]);
    return askedIn(turn, only[0], only[1]);
  };

  /** A room that belongs to no collective: a steward's /setup makes one, or joins the one that gave a word. */
  const setUp = async (turn: Turn, line: string | null): Promise<void> => {
    const role = await roleIn(turn.room, turn.heard.sender);
    const hint = say`a steward to say /setup for a new collective, or /setup link word:… to join one`;
    if (line === null || commandWord(line)?.toLowerCase() !== 'setup') {
      await refuse(turn, {
        code: 'no-collective',
        problem: say`This room belongs to no collective yet.`,
        expected: hint,
      });
      return;
    }
    if (role !== 'steward') {
      const needed = say`somebody with a power level of ${parts.stewardLevel} or more`;
      await refuse(turn, {
        code: 'not-allowed',
        problem: say`Only a steward sets a room up.`,
        expected: needed,
      });
      return;
    }
    const word = linkWordIn(line, commands);
    if (word === undefined) {
      const { name } = await rooms.state(turn.room);
      const asked = await askedIn(turn, 0, role);
      const made = found(parts, turn, asked, line, name ?? render(say`Workshop`));
      await deliver(turn, made.said, { notes: made.notes });
      return;
    }
    const linked = database.linkedBy(word, clock());
    if (!linked) {
      await refuse(turn, staleWord().detail);
      return;
    }
    await command(turn, await askedIn(turn, linked.id, role), { line });
  };

  // --- commands -----------------------------------------------------------------------------------------------------

  /** Keeps what a question is about, sealed as any choice is, and gives its choices their tokens. */
  const keepQuestion = (
    asked: RequestOrigin,
    question: FormQuestion,
  ): { said: Reply; kept: Offer['question'] } => {
    const { store, person, now } = dispatcher.contextFor(asked);
    const said = questionReply(question);
    const save = (invoke: Invocation, label: string): string => {
      const token = parts.makeId();
      const kept = { token, person: person.key, label, invoke, subject: null, revision: null };
      store.choices.save([kept], now);
      return token;
    };
    return database.transaction(() => ({
      said: { ...said, choices: said.choices.map((one) => ({ ...one, token: save(one.invoke, one.label) })) },
      kept: { token: save(question.invoke, question.option), option: question.option },
    }));
  };

  /**
   * What was decided for each event whose answer is still on its way: when the homeserver goes away meanwhile it is tried
   * again, and what a private command showed is kept nowhere else.
   */
  const decided = new Map<string, Reply>();

  const command = async (turn: Turn, asked: RequestOrigin, say: Say): Promise<void> => {
    const requestId = turn.heard.eventId;
    const said = decided.get(requestId) ?? dispatcher.handle({ ...asked, requestId, say });
    decided.set(requestId, said);
    if (said.repeats) return;
    if (said.outcome === 'refused' && !('token' in say)) {
      const context: Context = dispatcher.contextFor(asked);
      const question = questionAfter(said, say, commands, context);
      if (question) {
        const { said: askedBack, kept } = keepQuestion(asked, question);
        await deliver(turn, askedBack, { question: kept });
        return;
      }
    }
    await deliver(turn, said);
  };

  /** A private command in a shared room: refused without its words, which are taken away where the bot may. */
  const takeAway = async (turn: Turn): Promise<boolean> => {
    if (!mayRedact(await rooms.state(turn.room), own)) return false;
    const { eventId } = turn.heard;
    const address = ['rooms', turn.room, 'redact', eventId, transactionOf('redact', eventId)];
    try {
      await delivery.keepTrying(() =>
        parts
          .connection()
          .doRequest('PUT', `/_matrix/client/v3/${address.map(encodeURIComponent).join('/')}`, null, {
            reason: say`private, said in a shared room`,
          }),
      );
      return true;
    } catch (error) {
      if (error instanceof NotSent) return false;
      throw error;
    }
  };

  const hideAndRefuse = async (turn: Turn, name: string): Promise<void> => {
    const gone = await takeAway(turn);
    await refuse(turn, {
      code: 'not-here',
      problem: say`${typed(`/${name}`)} works in a direct room only, so that nobody else reads it.`,
      expected: gone
        ? say`the same in our direct room; I have taken your message away here`
        : say`the same in our direct room; take your message away here, I may not`,
    });
  };

  /** A direct room in which somebody else is now: nothing is answered in it, and a new one is made. */
  const crowded = async (turn: Turn, line: string): Promise<void> => {
    const hidden = privateCommandIn(line, commands);
    if (hidden) await takeAway(turn);
    const room = await privately(turn.heard.sender, {
      reply: inWords(
        reply({
          title: say`Somebody else is in our other room now. Here we are alone again.`,
          blocks: [text(say`Say here what you wanted to say there.`)],
        }),
      ),
      key: `${turn.heard.eventId} moved`,
    });
    await refuse(turn, {
      code: 'not-here',
      problem: say`Somebody else is in this room, so I answer nothing here.`,
      expected: room
        ? say`the same in the direct room to which I have just asked you`
        : say`the same in a direct room`,
    });
  };

  /** Runs a line, with the file that came with it; a file that cannot be taken is refused. */
  const run = async (turn: Turn, asked: RequestOrigin, line: string): Promise<void> => {
    // In a direct room what is no command is a sentence about a phone.
    const plain = turn.direct && turn.heard.kind === 'message' && !isSaidAsCommand(line, commands);
    let say: Say = plain ? { invoke: plainLine(line.replace(/^\//, '')) } : { line };
    try {
      if (turn.heard.kind === 'message' && !plain)
        say = (await parts.attachments.invocation(turn.room, turn.heard, line)) ?? say;
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      await refuse(turn, error.detail);
      return;
    }
    await command(turn, asked, say);
  };

  const takeLine = async (turn: Turn, line: string): Promise<void> => {
    const word = commandWord(line)?.toLowerCase();
    // What the command will offer.
    if (word === 'home') await rolesOf(turn.heard.sender);
    if (turn.direct) {
      const asked = await homeOf(turn);
      if (asked) await run(turn, asked, line);
      return;
    }
    const hidden = privateCommandIn(line, commands);
    if (hidden) return hideAndRefuse(turn, hidden.name);
    const place = database.channelBindings.bindingOf(MATRIX, turn.room);
    if (!place) return setUp(turn, line);
    const asked = await askedIn(turn, place.collective, await roleIn(turn.room, turn.heard.sender));
    await run(turn, asked, line);
  };

  // --- choices ------------------------------------------------------------------------------------------------------

  const askedFor = async (turn: Turn): Promise<RequestOrigin | null> => {
    if (turn.direct) return homeOf(turn);
    const place = database.channelBindings.bindingOf(MATRIX, turn.room);
    if (place) return askedIn(turn, place.collective, await roleIn(turn.room, turn.heard.sender));
    await setUp(turn, null);
    return null;
  };

  const choose = async (turn: Turn, offer: Offer, number: number): Promise<void> => {
    const { sender } = turn.heard;
    const token = offer.tokens[number - 1];
    if (token === undefined) {
      const most = offer.tokens.length;
      await refuse(turn, {
        code: 'stale-choice',
        problem: say`There is no choice ${number}.`,
        expected: most ? say`a number from 1 to ${most}` : say`an answer in words`,
      });
      return;
    }
    if (token.startsWith(DIRECT)) {
      await privately(sender, {
        reply: inWords(
          reply({
            title: say`Here we can talk without encryption.`,
            blocks: [text(say`Say /help to see what you can ask.`)],
          }),
        ),
        key: `${turn.heard.eventId} direct`,
      });
      return;
    }
    if (token.startsWith(HOME)) {
      const id = Number(token.slice(HOME.length));
      const role = offer.asker === memory.markOf(sender) ? (await rolesOf(sender)).get(id) : undefined;
      if (!role) return;
      const invoke = { command: 'home', action: '', options: { collective: String(id) } };
      await command(turn, await askedIn(turn, id, role), { invoke });
      return;
    }
    const asked = await askedFor(turn);
    if (asked) await command(turn, asked, { token });
  };

  /** A typed value that a question of the bot waits for. */
  const fillIn = async (turn: Turn, offer: Offer, value: string): Promise<void> => {
    const asked =
      offer.question && offer.asker === memory.markOf(turn.heard.sender) ? await askedFor(turn) : null;
    if (!asked || !offer.question) return;
    const { token, option } = offer.question;
    const kept = dispatcher.contextFor(asked).store.choices.take(token, clock());
    if (!kept || kept.person !== asked.person.key) {
      await refuse(turn, {
        code: 'stale-choice',
        problem: say`That question is no longer open.`,
        expected: say`the whole command again`,
      });
      return;
    }
    await command(turn, asked, {
      invoke: { ...kept.invoke, options: { ...kept.invoke.options, [option]: value } },
    });
  };

  /** The offer that a message in the same thread, or in answer to it, can be about. */
  const offerFor = ({ room, heard, direct }: Turn, message: Message): Offer | null => {
    const named = message.replyTo === null ? null : memory.offerOf(message.replyTo);
    if (named) return named.room === room ? named : null;
    if (message.thread !== null) {
      return memory.lastOffer(room, message.thread)?.offer ?? memory.offerOf(message.thread);
    }
    const last = memory.lastOffer(room, null)?.offer ?? null;
    if (!last || direct) return last;
    const fresh = clock().getTime() - Date.parse(last.at) < BARE_NUMBER_MS;
    return fresh && last.asker === memory.markOf(heard.sender) ? last : null;
  };

  const isCommand = (line: string): boolean => {
    const word = commandWord(line)?.toLowerCase();
    return commands.some(({ name }) => name === word);
  };

  const takeMessage = async (turn: Turn, message: Message, marked: boolean): Promise<void> => {
    const self = { id: own, name: parts.ownName(), prefix: parts.prefix };
    const line = lineOf(message, self, marked);
    if (marked && !turn.direct) {
      // What people say to each other in it is not for the bot, but for what may have been meant to be private.
      const meant = lineOf(message, self, false) !== null;
      if (line === null) return;
      if (meant || privateCommandIn(line, commands) || memory.firstTelling(`crowded:${turn.room}`, 24))
        await crowded(turn, line);
      return;
    }
    const number = numberOf(message.body) ?? numberOf(line?.slice(1) ?? '');
    const offer = offerFor(turn, message);
    if (number !== null && offer && (offer.tokens.length || !offer.question))
      return choose(turn, offer, number);
    // In a direct room all words are commands, but for an answer to the question that stands last.
    const waiting = offer?.question && (line === null || (turn.direct && !isCommand(line)));
    const explicit = message.replyTo !== null || message.thread !== null || turn.direct;
    if (offer && waiting && explicit) return fillIn(turn, offer, message.body);
    if (line !== null) await takeLine(turn, line);
  };

  /** An encrypted message that cannot be read. */
  const takeSealed = async (turn: Turn): Promise<void> => {
    if (!memory.firstTelling(`sealed:${turn.room}`, 24)) return;
    if (parts.canDecrypt) {
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
    const offer = offerOf(turn.heard.sender, said);
    await speaker.say({ reply: said, spot: turn.spot, key: turn.heard.eventId, offer });
  };

  /** In their direct room; false when there is none to tell. */
  const tellSteward = async (room: string, told: Reply, key: string): Promise<boolean> => {
    const state = await rooms.state(room);
    const { joined } = await rooms.membersOf(room);
    const stewards = joined
      .filter((person) => person !== own && powerOf(state, person) >= parts.stewardLevel)
      .sort((a, b) => powerOf(state, b) - powerOf(state, a));
    for (const steward of stewards.slice(0, 3))
      if ((await privately(steward, { reply: told, key })) !== null) return true;
    return false;
  };

  const tellOfSilence: Conversation['tellOfSilence'] = async (room, why, key) => {
    if (!memory.firstTelling(`silent:${room}:${why}`, 24)) return;
    const { name } = await rooms.state(room);
    const told = withLocale(languageAt(database, MATRIX, room, ''), () =>
      inWords(
        reply({
          title: say`I may not speak in ${verbatim(name ?? room)}.`,
          tone: 'caution',
          blocks: [text(say`${silences[why]} Raise my power level, or lower the one needed for messages.`)],
        }),
      ),
    );
    if (!(await tellSteward(room, told, key)))
      parts.log('matrix', `may not speak in ${room}, and no steward can be told`);
  };

  /** Whether the bot would do anything about it; so that nothing is asked of the homeserver for talk among people. */
  const concerns = (room: string, heard: Heard, marked: boolean): boolean => {
    if (heard.kind === 'reaction')
      return numberOfKey(heard.key) !== null && memory.offerOf(heard.target) !== null;
    if (heard.kind === 'sealed') return true;
    const self = { id: own, name: parts.ownName(), prefix: parts.prefix };
    const turn = {
      room,
      heard,
      direct: marked,
      spot: { room, thread: heard.thread, replyTo: heard.eventId },
    };
    return lineOf(heard, self, marked) !== null || offerFor(turn, heard) !== null;
  };

  const answer = async (room: string, heard: Heard): Promise<void> => {
    const marked = directs.isMarked(room, heard.sender);
    if (!concerns(room, heard, marked)) return;
    const state = await rooms.state(room);
    if (!maySend(state, own, 'm.room.message')) return tellOfSilence(room, 'spoken', heard.eventId);
    let direct = marked;
    if (marked) {
      try {
        await directs.check(room, heard.sender);
      } catch (error) {
        if (!(error instanceof NotPrivate)) throw error;
        direct = false;
      }
    }
    if (heard.kind === 'reaction') {
      const offer = memory.offerOf(heard.target);
      const number = numberOfKey(heard.key);
      if (!offer || number === null || offer.room !== room || number > offer.tokens.length) return;
      const spot = { room, thread: offer.thread, replyTo: heard.target };
      if (marked && !direct) return crowded({ room, heard, direct, spot }, '');
      return choose({ room, heard, direct, spot }, offer, number);
    }
    const thread = heard.kind === 'message' ? heard.thread : null;
    const turn: Turn = { room, heard, direct, spot: { room, thread, replyTo: heard.eventId } };
    if (heard.kind === 'sealed') await takeSealed(turn);
    else await takeMessage(turn, heard, marked);
  };

  return {
    tellOfSilence,
    hear: async (room, heard) => {
      if (memory.isDone(heard.eventId)) return;
      try {
        // Everything in it can be done again: what is saved is saved once by its event, what is sent by its transaction.
        await withLocale(languageAt(database, MATRIX, room, matrixKeyOf(heard.sender)), () =>
          delivery.keepTrying(() => answer(room, heard)),
        );
      } catch (error) {
        if (!(error instanceof NotSent)) throw error;
        parts.log('matrix', error);
        if (error.code === 'M_FORBIDDEN') await tellOfSilence(room, 'spoken', heard.eventId);
      } finally {
        decided.delete(heard.eventId);
      }
      memory.markDone(heard.eventId);
    },
  };
}
