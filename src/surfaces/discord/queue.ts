/**
 * Work of the one thread, in turn: between two pieces timers and sockets get theirs, so that an answer that has to wait is
 * deferred in time. Commands come before completions, and of completions the newest comes first: an older one is for
 * letters that have been typed over since.
 */
export interface WorkQueue {
  /** Runs when its turn has come; at once when nothing is waiting. */
  add(work: () => void): void;
  /** The same for a completion; it is dropped when its turn comes too late. */
  addCompletion(work: () => void): void;
  /** How much is waiting. */
  readonly waiting: number;
}

/** Discord takes no completion after 3 s. */
export const STALE_MS = 2500;
const MOST_COMPLETIONS = 200;

/** Commands that wait are run together for so long at most, then timers and sockets get their turn. */
const TOGETHER_MS = 8;

export interface QueueParts {
  /** Runs several commands that wait together; what they answer is sent after it. */
  together?: (work: () => void) => void;
  now?: () => number;
  staleMs?: number;
}

export function workQueue({
  together = (work) => work(),
  now = () => performance.now(),
  staleMs = STALE_MS,
}: QueueParts = {}): WorkQueue {
  const commands: (() => void)[] = [];
  const completions: { work: () => void; at: number }[] = [];
  let busy = false;

  const nextCompletion = (): (() => void) | undefined => {
    const newest = completions.pop();
    if (!newest) return undefined;
    if (now() - newest.at <= staleMs) return newest.work;
    // All others are older still.
    completions.length = 0;
    return undefined;
  };
  const runCommands = (): void => {
    const until = now() + TOGETHER_MS;
    for (let work = commands.shift(); work; work = now() < until ? commands.shift() : undefined) work();
  };
  const turn = (): void => {
    const work = commands.length ? () => together(runCommands) : nextCompletion();
    if (!work) {
      busy = false;
      return;
    }
    setImmediate(turn);
    work();
  };
  const wake = (): void => {
    if (busy) return;
    busy = true;
    turn();
  };
  return {
    add: (work) => {
      commands.push(work);
      wake();
    },
    addCompletion: (work) => {
      if (completions.length >= MOST_COMPLETIONS) completions.shift();
      completions.push({ work, at: now() });
      wake();
    },
    get waiting() {
      return commands.length + completions.length;
    },
  };
}
