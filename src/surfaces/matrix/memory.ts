/** What the Matrix surface remembers over a restart, in the store's surface state. */
import { createHash } from 'node:crypto';
import { z } from 'zod';
import type { SurfaceState } from '../../../shared/store/index.ts';

const offerSchema = z.object({
  room: z.string(),
  /** Root of the thread it stands in; null in the room's main timeline. */
  thread: z.string().nullable(),
  /** Stands for whom it was made to: a hash, so that no list of people grows here. */
  asker: z.string(),
  /** One for each choice, in order: tokens of saved choices, or `home:ID` and `direct:` of the surface itself. */
  tokens: z.array(z.string()),
  /** A question that a typed value answers: the saved command, and the option that is missing in it. */
  question: z.object({ token: z.string(), option: z.string() }).nullable(),
  /** The request whose reply has more behind it; null where nothing has. */
  more: z.string().nullable().default(null),
  at: z.iso.datetime(),
});
/** Choices that hang on a message of the bot. */
export type Offer = z.infer<typeof offerSchema>;

const DAY_MS = 24 * 3600_000;
const KEPT_DAYS = { refused: 1, done: 30, offer: 60, last: 60, newest: 60, told: 7 } as const;

export interface Memory {
  /** Rooms that were seen to be encrypted, with their settings. */
  encryption: { get(room: string): string | null; set(room: string, settings: string): void };
  syncToken(): string | null;
  saveSyncToken(token: string): void;
  isDone(eventId: string): boolean;
  markDone(eventId: string): void;
  /** What was said in an event was refused: an edit of it is run. */
  markRefused(eventId: string, person: string): void;
  wasRefused(eventId: string, person: string): boolean;
  forgetRefused(eventId: string): void;
  saveOffer(eventId: string, offer: Offer): void;
  offerOf(eventId: string): Offer | null;
  /** What stands for a person in an offer. */
  markOf(person: string): string;
  /**
   * The message with the newest offer in a thread, or in a room's main timeline: `answer` of those that a number or a value
   * answers, `any` of all, such as one that only has more behind it. `asker`: of those made to them, by their mark.
   */
  lastOffer(
    room: string,
    thread: string | null,
    of: 'answer' | 'any',
    asker?: string,
  ): { eventId: string; offer: Offer } | null;
  /** True once in so many hours for each thing to be told, so that nobody is told the same over and over. */
  firstTelling(what: string, hours: number): boolean;
  /** Forgets what is too old to matter. */
  tidy(): void;
}

/** `account` is the bot's own Matrix id: another account starts with an empty memory. */
export function memoryOf(state: SurfaceState, account: string, clock: () => Date): Memory {
  const surface = `matrix:${account}`;
  const get = (key: string) => state.get(surface, key);
  const set = (key: string, value: string) => state.set(surface, key, value, clock());
  const offerOf = (eventId: string): Offer | null => {
    const text = get(`offer:${eventId}`);
    return text === null ? null : offerSchema.parse(JSON.parse(text));
  };
  const timeline = (room: string, thread: string | null, of: 'answer' | 'any', asker = '') =>
    `${of === 'answer' ? 'last' : 'newest'}:${room}:${thread ?? ''}${asker && ` ${asker}`}`;
  const markOf = (person: string): string =>
    createHash('sha256').update(`${account} ${person}`).digest('base64url').slice(0, 22);
  return {
    encryption: {
      get: (room) => get(`encrypted:${room}`),
      set: (room, settings) => {
        if (get(`encrypted:${room}`) !== settings) set(`encrypted:${room}`, settings);
      },
    },
    syncToken: () => get('sync'),
    saveSyncToken: (token) => set('sync', token),
    isDone: (eventId) => get(`done:${eventId}`) !== null,
    markDone: (eventId) => set(`done:${eventId}`, ''),
    markRefused: (eventId, person) => set(`refused:${eventId}`, markOf(person)),
    wasRefused: (eventId, person) => get(`refused:${eventId}`) === markOf(person),
    forgetRefused: (eventId) => state.delete(surface, `refused:${eventId}`),
    saveOffer: (eventId, offer) => {
      set(`offer:${eventId}`, JSON.stringify(offerSchema.parse(offer)));
      const { room, thread, asker } = offer;
      const kinds = offer.tokens.length || offer.question ? (['any', 'answer'] as const) : (['any'] as const);
      for (const of of kinds)
        for (const whose of ['', asker]) set(timeline(room, thread, of, whose), eventId);
    },
    offerOf,
    markOf,
    lastOffer: (room, thread, of, asker) => {
      const eventId = get(timeline(room, thread, of, asker));
      const offer = eventId === null ? null : offerOf(eventId);
      return eventId !== null && offer ? { eventId, offer } : null;
    },
    firstTelling: (what, hours) => {
      const before = get(`told:${what}`);
      const now = clock();
      if (before !== null && now.getTime() - Date.parse(before) < hours * 3600_000) return false;
      set(`told:${what}`, now.toISOString());
      return true;
    },
    tidy: () => {
      for (const [prefix, days] of Object.entries(KEPT_DAYS))
        state.dropBefore(surface, `${prefix}:`, new Date(clock().getTime() - days * DAY_MS), clock());
    },
  };
}
