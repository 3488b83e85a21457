/**
 * Patience with whoever says one thing after another that is refused, such as another bot that answers everything: after a few
 * the bot says so once, and is silent to them there for a while. Anything that is answered begins the count anew.
 */
const MOST = 5;
const WITHIN_MS = 5 * 60_000;
const SILENT_MS = 10 * 60_000;
/** So many people are remembered; the oldest is forgotten first. */
const REMEMBERED = 1000;

export interface Patience {
  /** Whether to be silent to a person in a room. */
  isOver(room: string, person: string): boolean;
  /** True for the refusal after which, however often it is tried to say it, the bot falls silent. */
  refused(room: string, person: string, eventId: string): boolean;
  answered(room: string, person: string): void;
}

export function patienceOf(clock: () => number): Patience {
  const known = new Map<string, { refusals: { at: number; eventId: string }[]; silentUntil: number }>();
  const keyOf = (room: string, person: string): string => `${room} ${person}`;
  return {
    isOver: (room, person) => (known.get(keyOf(room, person))?.silentUntil ?? 0) > clock(),
    refused: (room, person, eventId) => {
      const now = clock();
      const key = keyOf(room, person);
      const before = (known.get(key)?.refusals ?? []).filter(
        (one) => now - one.at < WITHIN_MS && one.eventId !== eventId,
      );
      const refusals = [...before, { at: now, eventId }];
      const ends = refusals.length >= MOST;
      known.delete(key);
      known.set(key, { refusals, silentUntil: ends ? now + SILENT_MS : 0 });
      const [oldest] = known.keys();
      if (known.size > REMEMBERED && oldest !== undefined) known.delete(oldest);
      return ends;
    },
    answered: (room, person) => {
      known.delete(keyOf(room, person));
    },
  };
}
