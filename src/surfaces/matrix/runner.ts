/** Runs a command for a person and says its answer; what is missing in it is asked for. */
import type { Command } from '../../../commands/framework/command.ts';
import type { Context } from '../../../commands/framework/context.ts';
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import { type Invocation, type Reply, replySchema } from '../../../commands/framework/reply.ts';
import type { Request, RequestOrigin } from '../../../commands/framework/request.ts';
import { hasBack } from '../../../commands/framework/sides.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { ChatMessages, Sent } from '../chat-messages.ts';
import { newestInstead } from '../outdated.ts';
import type { Replies } from './answers.ts';
import { type FormQuestion, questionAfter, questionReply } from './forms.ts';
import type { Memory, Offer } from './memory.ts';
import { MATRIX, type Turn } from './requester.ts';

type Say = Request['say'];

export interface RunnerParts {
  database: Database;
  dispatcher: Dispatcher;
  commands: readonly Command[];
  makeId: () => string;
  clock: () => Date;
  memory: Memory;
  answers: Replies;
  /** What becomes of messages after they were sent. */
  messages: ChatMessages;
}

export interface Runner {
  run(turn: Turn, asked: RequestOrigin, say: Say): Promise<void>;
  /** Remembers what the messages of a reply show. */
  note(asked: RequestOrigin, request: string, made: Reply, sent: readonly Sent[]): void;
  /** Forgets what was decided for an event, when it has been dealt with. */
  settle(eventId: string): void;
}

/** The message that was said, also where it is an edit of it that is answered. */
const mended = ({ heard }: Turn): string =>
  heard.kind === 'message' && heard.edits !== null ? heard.edits : heard.eventId;

/** Keeps what a question is about, sealed as any choice is, and gives its choices their tokens. */
function keepQuestion(
  parts: RunnerParts,
  asked: RequestOrigin,
  question: FormQuestion,
): { said: Reply; kept: Offer['question'] } {
  const { database, dispatcher } = parts;
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
}

/** What a choice stands for, so that what is missing in it can be asked for as in a typed command. */
function invoked(parts: RunnerParts, asked: RequestOrigin, say: Say): Exclude<Say, { token: string }> | null {
  const { dispatcher } = parts;
  if (!('token' in say)) return say;
  // Several at once are no command that could be gone on with.
  if (say.also?.length) return null;
  const kept = dispatcher.contextFor(asked).store.choices.take(say.token, parts.clock());
  return kept && (kept.person === null || kept.person === asked.person.key) ? { invoke: kept.invoke } : null;
}

/** Asks for the option that a refusal was about; false where there is nothing to ask. */
async function askBack(
  parts: RunnerParts,
  turn: Turn,
  asked: RequestOrigin,
  say: Say,
  refused: Reply,
): Promise<boolean> {
  const { dispatcher, commands, answers } = parts;
  const meant = invoked(parts, asked, say);
  const context: Context = dispatcher.contextFor(asked);
  const question = meant && questionAfter(refused, meant, commands, context);
  if (!question) return false;
  const { said, kept } = keepQuestion(parts, asked, question);
  await answers.deliver(turn, said, { question: kept });
  return true;
}

/** The request, where its reply is kept and has something behind it: a private command's is not. */
function keptAs(parts: RunnerParts, asked: RequestOrigin, requestId: string): string | null {
  const { dispatcher } = parts;
  const kept = dispatcher.contextFor(asked).store.requests.answered(requestId);
  const saved = replySchema.safeParse(kept).data;
  return saved && hasBack(saved) ? requestId : null;
}

/** What is answered: to a choice that came too late, how things stand now. */
async function decide(parts: RunnerParts, asked: RequestOrigin, requestId: string, say: Say): Promise<Reply> {
  const { dispatcher, messages } = parts;
  const handle = (said: Say) => dispatcher.handle({ ...asked, requestId, say: said });
  const first = handle(say);
  const newest = newestInstead(first, say, (line) => handle({ line }));
  const { id } = dispatcher.contextFor(asked).collective;
  return messages.finished(id, newest ?? first);
}

function note(
  parts: RunnerParts,
  asked: RequestOrigin,
  request: string,
  made: Reply,
  sent: readonly Sent[],
): void {
  const { dispatcher, messages } = parts;
  const { collective, person } = dispatcher.contextFor(asked);
  messages.shown({ platform: MATRIX, collective: collective.id, person: person.key, request }, made, sent);
}

export function runnerOf(parts: RunnerParts): Runner {
  const { dispatcher, answers, memory } = parts;

  /**
   * What was decided for each event whose answer is still on its way: when the homeserver goes away meanwhile it is tried
   * again, and what a private command showed is kept nowhere else.
   */
  const decided = new Map<string, Reply>();

  return {
    note: (asked, request, made, sent) => note(parts, asked, request, made, sent),
    run: async (turn, asked, say) => {
      const requestId = turn.heard.eventId;
      const said = decided.get(requestId) ?? (await decide(parts, asked, requestId, say));
      decided.set(requestId, said);
      if (said.repeats) return;
      if (said.outcome === 'refused') {
        // A slip that is mended by an edit of the message is run then.
        if ('line' in say) memory.markRefused(mended(turn), turn.heard.sender);
        if (await askBack(parts, turn, asked, say, said)) return;
        return answers.deliver(turn, dispatcher.offer(said, asked));
      }
      const sent: Sent[] = [];
      await answers.deliver(turn, said, {
        more: keptAs(parts, asked, requestId),
        onSent: (one) => sent.push(one),
      });
      note(parts, asked, requestId, said, sent);
    },
    settle: (eventId) => {
      decided.delete(eventId);
    },
  };
}
