/**
 * What is still to be answered: one thing after another in each room, rooms side by side. Tells when everything that came
 * with a batch of the sync has been dealt with, so that the place to go on from is saved no sooner.
 */
export interface Backlog {
  add(room: string, work: () => Promise<void>): void;
  /** Runs `then` when all that was added before, and what was marked before, is done. */
  mark(then: () => void): void;
  /** Resolves when there is nothing left. */
  idle(): Promise<void>;
}

/** `onError` says whether to go on: after `halt` nothing more counts as done, and nothing more is run. */
export function backlogOf(onError: (error: unknown) => 'go on' | 'halt'): Backlog {
  const rooms = new Map<string, Promise<void>>();
  let marked: Promise<void> = Promise.resolve();
  let halted = false;
  const safely = async (work: () => Promise<void> | void): Promise<void> => {
    if (halted) return;
    try {
      await work();
    } catch (error) {
      if (onError(error) === 'halt') halted = true;
    }
  };
  return {
    add: (room, work) => {
      const next = (rooms.get(room) ?? Promise.resolve()).then(() => safely(work));
      rooms.set(room, next);
      void next.then(() => {
        if (rooms.get(room) === next) rooms.delete(room);
      });
    },
    mark: (then) => {
      const before = [...rooms.values()];
      marked = marked.then(async () => {
        await Promise.all(before);
        await safely(then);
      });
    },
    idle: async () => {
      while (rooms.size) await Promise.all(rooms.values());
      await marked;
    },
  };
}
