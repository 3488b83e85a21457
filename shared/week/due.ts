/** When the weekly post goes out, and for which week. */
import { hourOfWeek, type IsoWeek, nextWeek, previousWeek, weekOf } from './iso-week.ts';

export interface PostTime {
  /** Monday 1 to Sunday 7. */
  weekDay: number;
  /** 0 to 23, on the clocks of the zone. */
  weekHour: number;
  /** IANA. */
  zone: string;
}

/** A post: the week that it is about, and when it is due. */
export interface Due {
  week: IsoWeek;
  at: Date;
}

/** The post that goes out in a week is about the last full one before it. */
const dueIn = (running: IsoWeek, { weekDay, weekHour, zone }: PostTime): Due => ({
  week: previousWeek(running),
  at: hourOfWeek(running, weekDay, weekHour, zone),
});

/**
 * The newest post that is due at `now`, or was: after a stop of any length it is the one to make up, and those before it
 * lapse. The hour is of the wall clock, so posts are 167 or 169 hours apart where the clocks change; an hour that is not
 * there or is there twice is read as RFC 5545 reads it (see `instantOf`), so a post is neither lost nor doubled.
 */
export function lastDue(settings: PostTime, now: Date): Due {
  const running = weekOf(now, settings.zone);
  const due = dueIn(running, settings);
  return due.at.getTime() <= now.getTime() ? due : dueIn(previousWeek(running), settings);
}

/** The first post that is due after `now`. */
export function nextDue(settings: PostTime, now: Date): Due {
  const running = weekOf(now, settings.zone);
  const due = dueIn(running, settings);
  return due.at.getTime() > now.getTime() ? due : dueIn(nextWeek(running), settings);
}
