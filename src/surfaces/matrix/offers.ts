/** Replies to choices and questions of the bot: a reaction, a number, or a typed value. */
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import { inWords, reply, replySchema, text } from '../../../commands/framework/reply.ts';
import { backOf } from '../../../commands/framework/sides.ts';
import { say } from '../../../shared/language/say.ts';
import type { Sent } from '../chat-messages.ts';
import { HOME, type Replies } from './answers.ts';
import type { Heard } from './events.ts';
import type { Lines } from './lines.ts';
import type { Memory, Offer } from './memory.ts';
import type { MatrixRequesters, Turn } from './requester.ts';
import type { Runner } from './runner.ts';

/** The token of the choice that opens a direct room without encryption. */
export const DIRECT = 'direct:';
/** For so long a bare number in a shared room still answers the choices before it. */
const BARE_NUMBER_MS = 30 * 60_000;

type Message = Extract<Heard, { kind: 'message' }>;

export interface OffersParts {
  dispatcher: Dispatcher;
  clock: () => Date;
  memory: Memory;
  answers: Replies;
  lines: Lines;
  requesters: MatrixRequesters;
  runner: Runner;
}

export interface Offers {
  /** `numbers`: several where the choices of those can be taken at once. */
  choose(turn: Turn, offer: Offer, numbers: readonly number[]): Promise<void>;
  /** Says what stands behind the reply of an offer to who asks, in their direct room. */
  showMore(turn: Turn, offer: Offer): Promise<void>;
  /** A typed value that a question of the bot waits for. */
  fillIn(turn: Turn, offer: Offer, value: string): Promise<void>;
  /** The offer that a message in the same thread, or in answer to it, can be about; `any`: also one that only has more behind it. */
  offerFor(turn: Turn, message: Message, of?: 'answer' | 'any'): Offer | null;
}

async function choose(
  parts: OffersParts,
  turn: Turn,
  offer: Offer,
  numbers: readonly number[],
): Promise<void> {
  const { answers, memory, requesters, runner, lines } = parts;
  const { sender } = turn.heard;
  const number = numbers.find((one) => offer.tokens[one - 1] === undefined);
  const [token, ...also] = numbers.flatMap((one) => offer.tokens[one - 1] ?? []);
  if (token === undefined || number !== undefined) {
    const most = offer.tokens.length;
    await answers.refuse(turn, {
      code: 'stale-choice',
      problem: say`There is no choice ${number ?? ''}.`,
      expected: most ? say`a number from 1 to ${most}` : say`an answer in words`,
    });
    return;
  }
  if (token.startsWith(DIRECT)) {
    await answers.privately(sender, {
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
    const role =
      offer.asker === memory.markOf(sender) ? (await requesters.rolesOf(sender)).get(id) : undefined;
    if (!role) return;
    const invoke = { command: 'home', action: '', options: { collective: String(id) } };
    await runner.run(turn, await requesters.askedIn(turn, id, role), { invoke });
    return;
  }
  const asked = await lines.askedFor(turn);
  if (asked) await runner.run(turn, asked, { token, also });
}

async function showMore(parts: OffersParts, turn: Turn, offer: Offer): Promise<void> {
  const { dispatcher, memory, answers, lines, runner } = parts;
  const asked = offer.more === null ? null : await lines.askedFor(turn);
  if (!asked || offer.more === null) return;
  const kept = dispatcher.contextFor(asked).store.requests.answered(offer.more);
  const saved = replySchema.safeParse(kept).data;
  const back = saved && backOf(saved);
  const theirs = saved?.audience === 'room' || offer.asker === memory.markOf(turn.heard.sender);
  if (back && theirs) {
    const sent: Sent[] = [];
    await answers.deliver(turn, back, { quiet: true, onSent: (one) => sent.push(one) });
    return runner.note(asked, offer.more, { ...saved, choices: [] }, sent);
  }
  await answers.refuse(turn, {
    code: 'stale-choice',
    problem: say`The rest of that answer is not kept any more; it is for a week.`,
    expected: say`the command itself once more`,
  });
}

async function fillIn(parts: OffersParts, turn: Turn, offer: Offer, value: string): Promise<void> {
  const { dispatcher, memory, clock, answers, runner, lines } = parts;
  const asked =
    offer.question && offer.asker === memory.markOf(turn.heard.sender) ? await lines.askedFor(turn) : null;
  if (!asked || !offer.question) return;
  const { token, option } = offer.question;
  const kept = dispatcher.contextFor(asked).store.choices.take(token, clock());
  if (!kept || kept.person !== asked.person.key) {
    await answers.refuse(turn, {
      code: 'stale-choice',
      problem: say`That question is no longer open.`,
      expected: say`the whole command again`,
    });
    return;
  }
  await runner.run(turn, asked, {
    invoke: { ...kept.invoke, options: { ...kept.invoke.options, [option]: value } },
  });
}

function offerFor(
  parts: OffersParts,
  { room, heard, direct }: Turn,
  message: Message,
  of: 'answer' | 'any' = 'answer',
): Offer | null {
  const { memory, clock } = parts;
  const named = message.replyTo === null ? null : memory.offerOf(message.replyTo);
  if (named) return named.room === room ? named : null;
  if (message.thread !== null) {
    return memory.lastOffer(room, message.thread, of)?.offer ?? memory.offerOf(message.thread);
  }
  if (direct) return memory.lastOffer(room, null, of)?.offer ?? null;
  // In a room of several people a bare number answers the last that was asked of who says it.
  const last = memory.lastOffer(room, null, of, memory.markOf(heard.sender))?.offer ?? null;
  return last && clock().getTime() - Date.parse(last.at) < BARE_NUMBER_MS ? last : null;
}

export const offersOf = (parts: OffersParts): Offers => ({
  choose: (turn, offer, numbers) => choose(parts, turn, offer, numbers),
  showMore: (turn, offer) => showMore(parts, turn, offer),
  fillIn: (turn, offer, value) => fillIn(parts, turn, offer, value),
  offerFor: (turn, message, of) => offerFor(parts, turn, message, of),
});
