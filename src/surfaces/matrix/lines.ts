/** A line that was said to the bot: which command it is, and whether it may be said there. */

import type { Command } from '../../../commands/framework/command.ts';
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import { commandWord, isSurelyPrivate, privateCommandIn } from '../../../commands/framework/private.ts';
import { Refusal } from '../../../commands/framework/refusal.ts';
import { inWords, reply, text } from '../../../commands/framework/reply.ts';
import type { RequestOrigin } from '../../../commands/framework/request.ts';
import { staleWord } from '../../../commands/setup/link.ts';
import { isSaidAsCommand, plainLine } from '../../../commands/shared/plain-line.ts';
import { render } from '../../../shared/language/render.ts';
import { say, typed } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Replies } from './answers.ts';
import type { Attachments } from './attachments.ts';
import type { MatrixConnection } from './client.ts';
import { type Delivery, NotSent, transactionOf } from './delivery.ts';
import { found, linkWordIn } from './founding.ts';
import type { Homes } from './homes.ts';
import { MATRIX, type MatrixRequesters, type Turn } from './requester.ts';
import { mayRedact, type Rooms } from './rooms.ts';
import type { Runner } from './runner.ts';

export interface LinesParts {
  database: Database;
  dispatcher: Dispatcher;
  commands: readonly Command[];
  clock: () => Date;
  own: string;
  prefix: string;
  stewardLevel: number;
  connection: () => MatrixConnection;
  delivery: Delivery;
  rooms: Rooms;
  attachments: Attachments;
  answers: Replies;
  homes: Homes;
  requesters: MatrixRequesters;
  runner: Runner;
}

export interface Lines {
  take(turn: Turn, line: string): Promise<void>;
  /** A direct room in which somebody else is now: nothing is answered in it, and a new one is made. */
  crowded(turn: Turn, line: string): Promise<void>;
  /** Who asks, in the collective of the room; null when the room, or the person, has none, which has been said then. */
  askedFor(turn: Turn): Promise<RequestOrigin | null>;
}

/** A room that belongs to no collective: a steward's /setup makes one, or joins the one that gave a word. */
async function setUp(parts: LinesParts, turn: Turn, line: string | null): Promise<void> {
  const { database, rooms, commands, clock, answers, runner, requesters } = parts;
  const { refuse, deliver } = answers;
  const { askedIn, roleIn } = requesters;
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
  await runner.run(turn, await askedIn(turn, linked.id, role), { line });
}

/** A private command in a shared room: refused without its words, which are taken away where the bot may. */
async function takeAway(parts: LinesParts, turn: Turn): Promise<boolean> {
  const { rooms, own, delivery } = parts;
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
}

/** What may be private is not repeated; what surely is, is taken away. */
async function hideAndRefuse(parts: LinesParts, turn: Turn, name: string, line: string): Promise<void> {
  const {
    commands,
    answers: { refuse },
  } = parts;
  if (!isSurelyPrivate(line, commands)) {
    await refuse(turn, {
      code: 'not-here',
      problem: say`That is no command. If you meant ${typed(`/${name}`)}: it works in a direct room only, so that nobody else reads it.`,
      expected: say`the same in our direct room; take your message away here if it is private`,
    });
    return;
  }
  const gone = await takeAway(parts, turn);
  await refuse(turn, {
    code: 'not-here',
    problem: say`${typed(`/${name}`)} works in a direct room only, so that nobody else reads it.`,
    expected: gone
      ? say`the same in our direct room; I have taken your message away here`
      : say`the same in our direct room; take your message away here, I may not`,
  });
}

async function crowded(parts: LinesParts, turn: Turn, line: string): Promise<void> {
  const {
    commands,
    answers: { privately, refuse },
  } = parts;
  const hidden = privateCommandIn(line, commands);
  if (hidden && isSurelyPrivate(line, commands)) await takeAway(parts, turn);
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
}

/** Runs a line, with the file that came with it; a file that cannot be taken is refused. */
async function run(parts: LinesParts, turn: Turn, asked: RequestOrigin, line: string): Promise<void> {
  const {
    commands,
    answers: { refuse },
    runner,
  } = parts;
  // In a direct room what is no command is a sentence about a phone.
  const plain = turn.direct && turn.heard.kind === 'message' && !isSaidAsCommand(line, commands);
  let said: Parameters<Runner['run']>[2] = plain ? { invoke: plainLine(line.replace(/^\//, '')) } : { line };
  try {
    if (turn.heard.kind === 'message' && !plain)
      said = (await parts.attachments.invocation(turn.room, turn.heard, line)) ?? said;
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    await refuse(turn, error.detail);
    return;
  }
  await runner.run(turn, asked, said);
}

async function take(parts: LinesParts, turn: Turn, line: string): Promise<void> {
  const {
    database,
    commands,
    homes,
    requesters: { askedIn, roleIn, rolesOf },
  } = parts;
  const word = commandWord(line)?.toLowerCase();
  // What the command will offer.
  if (word === 'home') await rolesOf(turn.heard.sender);
  if (turn.direct) {
    const asked = await homes.homeOf(turn);
    if (asked) await run(parts, turn, asked, line);
    return;
  }
  const hidden = privateCommandIn(line, commands);
  if (hidden) return hideAndRefuse(parts, turn, hidden.name, line);
  const place = database.channelBindings.bindingOf(MATRIX, turn.room);
  if (!place) return setUp(parts, turn, line);
  const asked = await askedIn(turn, place.collective, await roleIn(turn.room, turn.heard.sender));
  await run(parts, turn, asked, line);
}

async function askedFor(parts: LinesParts, turn: Turn): Promise<RequestOrigin | null> {
  const {
    database,
    homes,
    requesters: { askedIn, roleIn },
  } = parts;
  if (turn.direct) return homes.homeOf(turn);
  const place = database.channelBindings.bindingOf(MATRIX, turn.room);
  if (place) return askedIn(turn, place.collective, await roleIn(turn.room, turn.heard.sender));
  await setUp(parts, turn, null);
  return null;
}

export const linesOf = (parts: LinesParts): Lines => ({
  take: (turn, line) => take(parts, turn, line),
  crowded: (turn, line) => crowded(parts, turn, line),
  askedFor: (turn) => askedFor(parts, turn),
});
