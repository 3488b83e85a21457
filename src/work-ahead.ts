/** What somebody may press next is worked out while they read: the plan behind an answer is then known when it comes. */
import type { Dispatcher } from '../commands/framework/dispatch.ts';
import type { Reply } from '../commands/framework/reply.ts';
import type { Request, RequestOrigin } from '../commands/framework/request.ts';

/** Nothing is worked out ahead until nobody has asked for so long: who asks comes first. */
export const QUIET_MS = 150;
/** Choices that wait, the newest first; older ones have been read by then. */
const MOST = 12;
/** Choices of one reply: those that stand first. */
const OF_ONE = 4;

/** The dispatcher, which rehearses the choices of its replies while it has nothing else to do. */
export function workingAhead(dispatcher: Dispatcher, clock: () => Date, quietMs = QUIET_MS): Dispatcher {
  const waiting: { choice: Reply['choices'][number]; asked: RequestOrigin }[] = [];
  let timer: NodeJS.Timeout | undefined;
  const next = (): void => {
    const one = waiting.shift();
    if (!one) return;
    const ran = dispatcher.rehearse(one.choice, { ...one.asked, now: clock() });
    // One at a time, with a pause in which whoever asks is heard; what there was nothing to run of costs nothing.
    later(ran ? quietMs : 0);
  };
  const later = (ms: number): void => {
    clearTimeout(timer);
    timer = waiting.length ? setTimeout(next, ms).unref() : undefined;
  };
  // What was said is not kept: it may be private.
  const note = (reply: Reply, { say: _said, requestId: _id, ...asked }: Request): void => {
    const choices = reply.choices.filter(({ aside }) => !aside);
    waiting.unshift(...choices.slice(0, OF_ONE).map((choice) => ({ choice, asked })));
    waiting.length = Math.min(waiting.length, MOST);
    later(quietMs);
  };
  return {
    contextFor: (asked) => dispatcher.contextFor(asked),
    offer: (refused, asked) => dispatcher.offer(refused, asked),
    rehearse: (choice, asked) => dispatcher.rehearse(choice, asked),
    handle: (request) => {
      const reply = dispatcher.handle(request);
      if (reply.outcome === 'answered') note(reply, request);
      else later(quietMs);
      return reply;
    },
    withCommands: (commands) => workingAhead(dispatcher.withCommands(commands), clock, quietMs),
  };
}
