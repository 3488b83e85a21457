/**
 * What happens at a time: the weekly post of every collective, and what is done once a day. A post goes out once, whenever
 * the program is stopped or killed: its intent is saved before it is sent, and what may have been sent is looked for before
 * it is sent again.
 */

import { randomBytes } from 'node:crypto';
import { renderingIn } from '../../commands/framework/rendering.ts';
import { type Reply, renderReply, replySchema } from '../../commands/framework/reply.ts';
import { weekContent, weekReplyOf } from '../../commands/week/reply.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import type { Collective } from '../../shared/collective/collective-settings.ts';
import { eraseOldNotes } from '../../shared/notes/kept.ts';
import type { Database, Store, WeekPost } from '../../shared/store/index.ts';
import { lastDue } from '../../shared/week/due.ts';
import { formatWeek, type IsoWeek, parseWeek, shiftWeek, spanOf } from '../../shared/week/iso-week.ts';
import type { Log } from '../environment/log.ts';
import type { Poster } from '../surfaces/weekly-poster.ts';

/** Where the weekly post of a collective goes. */
export interface PostPlace {
  /** Unique within the collective, over all surfaces, and the same after a restart. */
  place: string;
  poster: Poster;
}

/** Moments at which the program may end; tests end it there. */
export type ClockStep =
  | 'intent-unsaved'
  | 'intent-saved'
  | 'looked'
  | 'posted'
  | 'sent-unsaved'
  | 'sent-saved'
  | 'edited'
  | 'correction-unsaved'
  | 'correction-saved';

export interface ClockParts {
  database: Database;
  knowledge: Knowledge;
  /** Asked at every tick. */
  placesOf: (collective: Collective) => readonly PostPlace[];
  log: Log;
  at?: (step: ClockStep) => void;
}

export interface Clock {
  /** Does what is due. Never rejects; a second call while one runs waits for that one and does nothing more. */
  tick(now: Date): Promise<void>;
  /** Ticks now and at the beginning of every minute, without keeping the program alive. */
  start(time: () => Date): void;
  /** No further tick; resolves when the running one has ended. */
  stop(): Promise<void>;
}

const MINUTE = 60_000;
const DAY = 24 * 60 * MINUTE;
/** After a failure the next try waits one minute, then two, four and so on, up to this. */
const LONGEST_WAIT = 6 * 60 * MINUTE;
/** A post that a steward asked for is given up after this. */
const ASKED_FOR = 7 * DAY;
/** A clock that is so much further than a day ago may be wrong; a bot that stood still for as long may not. */
const LEAP = 30 * DAY;
/** After a leap nothing is erased for so long: somebody may notice, and set the clock right. */
const DOUBT = 7 * DAY;
/** Posts of so many weeks are put right. */
const CORRECTED_WEEKS = 8;

/** What a post is known by at its place: the same for every try. At most 25 signs for ids of up to ten digits. */
export const postKey = (collective: Collective, week: string): string => `week-${collective.id}-${week}`;

function waits({ tries, at }: WeekPost, now: Date): boolean {
  const since = now.getTime() - at.getTime();
  // A clock that was set back must not hold a post up.
  return since >= 0 && since < Math.min(MINUTE * 2 ** Math.min(tries - 1, 20), LONGEST_WAIT);
}

/** A reply as it was saved; null when it cannot be read any more. */
function readReply(said: string): Reply | null {
  try {
    return replySchema.parse(JSON.parse(said));
  } catch {
    return null;
  }
}

export function createClock({ database, knowledge, placesOf, log, at = () => undefined }: ClockParts): Clock {
  const fault = (error: unknown): void => log(randomBytes(6).toString('base64url'), error);
  const replyOf = (store: Store, week: IsoWeek): Reply =>
    renderReply(
      weekReplyOf({ store, knowledge }, week),
      renderingIn(knowledge, store.collective.settings.language),
    );
  /** What the store said when a post was last found to be right. In memory: after a start every one is looked at. */
  const right = new Map<string, string>();
  let cleared = '';
  let running: Promise<void> | null = null;
  let timer: NodeJS.Timeout | undefined;
  let stopped = false;

  const markSent = (store: Store, week: string, place: string, message: string, now: Date): void => {
    database.transaction(() => {
      store.weeks.sent(week, place, message, now);
      at('sent-unsaved');
    });
    at('sent-saved');
  };

  /** Saves the intent, looks for it where it may have been sent before, and sends it. */
  const send = async (
    store: Store,
    { place, poster }: PostPlace,
    week: IsoWeek,
    now: Date,
  ): Promise<void> => {
    const name = formatWeek(week);
    const before = store.weeks.get(name, place);
    if (before?.state === 'sent' || (before && waits(before, now))) return;
    const key = postKey(store.collective, name);
    // A later try sends what the first one did: a part of that may be there.
    const saved = before && readReply(before.said);
    const reply = saved ?? replyOf(store, week);
    database.transaction(() => {
      if (saved) store.weeks.tried(name, place, now);
      else store.weeks.sending(name, place, JSON.stringify(reply), now);
      at('intent-unsaved');
    });
    at('intent-saved');
    const found = before ? await poster.find(key) : null;
    at('looked');
    const message = found ?? (await poster.post(key, reply));
    at('posted');
    markSent(store, name, place, message, now);
  };

  /** A post of an older week of which nobody knows whether it was sent: it is looked for, never sent. */
  const settle = async (store: Store, { place, poster }: PostPlace, post: WeekPost, now: Date) => {
    if (waits(post, now)) return;
    database.transaction(() => store.weeks.tried(post.week, place, now));
    const found = await poster.find(postKey(store.collective, post.week));
    if (found !== null) markSent(store, post.week, place, found, now);
    else database.transaction(() => store.weeks.drop(post.week, place));
  };

  /** Puts a post right that no longer says what it should. */
  const correct = async (store: Store, { place, poster }: PostPlace, post: WeekPost, now: Date) => {
    const week = parseWeek(post.week);
    if (!week || post.message === null || (post.tries > 0 && waits(post, now))) return;
    const { from, to } = spanOf(week, store.collective.settings.zone);
    const key = `${store.collective.id} ${place} ${post.week}`;
    const stamp = store.weeks.stamp(from, to);
    if (right.get(key) === stamp) return;
    const reply = replyOf(store, week);
    const saved = readReply(post.said);
    if (!saved || weekContent(saved) !== weekContent(reply)) {
      const { message } = post;
      database.transaction(() => store.weeks.tried(post.week, place, now));
      await poster.edit(message, reply);
      at('edited');
      database.transaction(() => {
        store.weeks.sent(post.week, place, message, now, JSON.stringify(reply));
        at('correction-unsaved');
      });
      at('correction-saved');
    }
    right.set(key, stamp);
  };

  /** The week that is due at a place by itself; null when there is none. */
  const dueAt = (store: Store, place: string, now: Date): IsoWeek | null => {
    const { settings } = store.collective;
    if (!settings.weekOn) return null;
    const { week } = lastDue(settings, now);
    const newest = store.weeks.newest(place);
    // A clock that was set back makes an older week due: it is not posted after a newer one.
    if (newest !== null) return newest > formatWeek(week) ? null : week;
    // A new place is not greeted with a week in which nothing was.
    const { from, to } = spanOf(week, settings.zone);
    return store.jobs.endedBetween(from, to).length ? week : null;
  };

  const attend = async (store: Store, to: PostPlace, asked: readonly string[], now: Date): Promise<void> => {
    const due = dueAt(store, to.place, now);
    const wanted = [...asked, ...(due ? [formatWeek(due)] : [])];
    const { week: last } = lastDue(store.collective.settings, now);
    /** One that fails must not keep the others from their turn. */
    const alone = (work: Promise<void>) => work.catch(fault);
    for (const post of store.weeks.unsent(to.place))
      if (!wanted.includes(post.week)) await alone(settle(store, to, post, now));
    for (const name of new Set(wanted)) {
      const week = parseWeek(name);
      if (week) await alone(send(store, to, week, now));
    }
    if (!store.collective.settings.weekOn) return;
    const oldest = formatWeek(shiftWeek(last, 1 - CORRECTED_WEEKS));
    for (const post of store.weeks.listOf(to.place, oldest))
      if (post.state === 'sent') await alone(correct(store, to, post, now));
  };

  const attendCollective = async (collective: Collective, now: Date): Promise<void> => {
    const store = database.of(collective);
    const lapses = new Date(now.getTime() - ASKED_FOR);
    const asked = store.weeks.asked();
    const open = asked.filter(({ at: when }) => when > lapses).map(({ week }) => week);
    const places = placesOf(collective);
    for (const place of places) await attend(store, place, open, now);
    // Another program may be the one that sends to some of them: a terminal beside a bot, on the same store.
    const bound = database.channelBindings
      .weeklyBindings(collective.id)
      .map(({ platform, id }) => `${platform}:${id}`);
    const everywhere = [...new Set([...bound, ...places.map(({ place }) => place)])];
    database.transaction(() => {
      for (const { week } of asked) {
        const sent = everywhere.every((place) => store.weeks.get(week, place)?.state === 'sent');
        if (!open.includes(week) || (everywhere.length > 0 && sent)) store.weeks.answered(week);
      }
    });
  };

  /**
   * False while the time may be wrong: what is erased by a clock that was set years ahead is gone for good. A clock that was
   * set back erases nothing that it should not.
   */
  const isTrusted = (now: Date): boolean => {
    const { surfaceState: state } = database;
    const read = (key: string): number | null => {
      const saved = state.get('clock', key);
      return saved === null ? null : Date.parse(saved);
    };
    const seen = read('seen');
    state.set('clock', 'seen', now.toISOString(), now);
    if (seen !== null && now.getTime() - seen > LEAP) {
      state.set('clock', 'leapt', now.toISOString(), now);
      log(
        'clock',
        `the time went from ${new Date(seen).toISOString()} to ${now.toISOString()}: no note is erased for ${DOUBT / DAY} days. If that is wrong, set the clock of this machine right.`,
      );
    }
    const leapt = read('leapt');
    if (leapt === null) return true;
    const since = now.getTime() - leapt;
    if (since >= 0 && since < DOUBT) return false;
    state.delete('clock', 'leapt');
    return true;
  };

  /** What is done once a day, and after every start. */
  const daily = (now: Date): void => {
    const day = now.toISOString().slice(0, 10);
    if (cleared === day) return;
    if (database.transaction(() => isTrusted(now))) eraseOldNotes(database, now);
    cleared = day;
  };

  const work = async (now: Date): Promise<void> => {
    if (stopped) return;
    try {
      daily(now);
    } catch (error) {
      fault(error);
    }
    for (const collective of database.collectives.list()) {
      if (stopped) return;
      try {
        await attendCollective(collective, now);
      } catch (error) {
        fault(error);
      }
    }
  };

  const tick = (now: Date): Promise<void> => {
    running ??= work(now).finally(() => {
      running = null;
    });
    return running;
  };

  const start = (time: () => Date): void => {
    const turn = () => {
      tick(time()).then(() => {
        if (stopped) return;
        timer = setTimeout(turn, MINUTE - (time().getTime() % MINUTE));
        timer.unref();
      });
    };
    turn();
  };

  return {
    tick,
    start,
    stop: async () => {
      stopped = true;
      clearTimeout(timer);
      await running;
    },
  };
}
