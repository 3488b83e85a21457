/** The weekly posts of a collective: which are due, which a steward asked for, and which are to be put right. */
import type { Collective } from '../../shared/collective/collective-settings.ts';
import type { Store } from '../../shared/store/index.ts';
import { lastDue } from '../../shared/week/due.ts';
import { formatWeek, type IsoWeek, parseWeek, shiftWeek, spanOf } from '../../shared/week/iso-week.ts';
import { type PostOnceParts, type PostPlace, postOnceOf } from './post-once.ts';

export interface WeeklyPostParts extends PostOnceParts {
  /** Asked at every tick. */
  placesOf: (collective: Collective) => readonly PostPlace[];
  /** Gets what went wrong with one post; the others have their turn all the same. */
  onFault: (error: unknown) => void;
}

const DAY = 24 * 60 * 60_000;
/** A post that a steward asked for is given up after this. */
const ASKED_FOR = 7 * DAY;
/** Posts of so many weeks are put right. */
const CORRECTED_WEEKS = 8;

/** Does for a collective what is due. */
export function weeklyPostsOf(parts: WeeklyPostParts): (collective: Collective, now: Date) => Promise<void> {
  const { database, placesOf, onFault } = parts;
  const { send, settle, correct } = postOnceOf(parts);

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
    const alone = (work: Promise<void>) => work.catch(onFault);
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

  return attendCollective;
}
