/**
 * One weekly post at one place, sent once, whenever the program is stopped or killed: its intent is saved before it is sent,
 * and what may have been sent is looked for before it is sent again.
 */
import type { Context } from '../../commands/framework/context.ts';
import { renderingIn } from '../../commands/framework/rendering.ts';
import { type Reply, renderReply, replySchema } from '../../commands/framework/reply.ts';
import { weekContent, weekReplyOf } from '../../commands/week/reply.ts';
import type { Knowledge } from '../../knowledge/load.ts';
import type { Collective } from '../../shared/collective/collective-settings.ts';
import { render } from '../../shared/language/render.ts';
import type { Database, Store, WeekPost } from '../../shared/store/index.ts';
import { formatWeek, type IsoWeek, parseWeek, spanOf } from '../../shared/week/iso-week.ts';
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

export interface PostOnceParts {
  database: Database;
  knowledge: Knowledge;
  at?: (step: ClockStep) => void;
}

interface PostOnce {
  /** Saves the intent, looks for it where it may have been sent before, and sends it. */
  send(store: Store, to: PostPlace, week: IsoWeek, now: Date): Promise<void>;
  /** For a post of an older week of which nobody knows whether it was sent: it is looked for, never sent. */
  settle(store: Store, to: PostPlace, post: WeekPost, now: Date): Promise<void>;
  /** Puts a post right that no longer says what it should. */
  correct(store: Store, to: PostPlace, post: WeekPost, now: Date): Promise<void>;
}

const MINUTE = 60_000;
/** After a failure the next try waits one minute, then two, four and so on, up to this. */
const LONGEST_WAIT = 6 * 60 * MINUTE;
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

function replyOf(knowledge: Knowledge, store: Store, week: IsoWeek, now: Date): Reply {
  const { language } = store.collective.settings;
  const rendering = renderingIn(knowledge, language);
  const context: Context = {
    ...{ collective: store.collective, store, knowledge, now, direct: false, locale: language },
    person: { key: 'clock', name: '', role: 'member' },
    write: (message) => render(message, language),
  };
  return renderReply(weekReplyOf(context, week), rendering);
}

export function postOnceOf({ database, knowledge, at = () => undefined }: PostOnceParts): PostOnce {
  /** What the store said when a post was last found to be right. In memory: after a start every one is looked at. */
  const right = new Map<string, string>();

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
    const reply = saved ?? replyOf(knowledge, store, week, now);
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
    const reply = replyOf(knowledge, store, week, now);
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

  return { send, settle, correct };
}
