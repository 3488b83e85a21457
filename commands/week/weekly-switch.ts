/** Turns the weekly post on and off. */

import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { dateOf, instant, say, verbatim } from '../../shared/language/say.ts';
import { nextDue } from '../../shared/week/due.ts';
import { formatWeek } from '../../shared/week/iso-week.ts';
import type { Context } from '../framework/context.ts';
import { type Draft, reply, text } from '../framework/reply.ts';

export const weekSwitchData = z.object({
  on: z.boolean(),
  changed: z.boolean(),
  /** The post that goes out next; null when it is off. */
  next: z.object({ week: z.string(), at: z.iso.datetime() }).nullable(),
});

/** "Monday 9 March 2026 at 09:00". */
function timeInWords({ collective }: Context, at: Date): Message {
  const { zone } = collective.settings;
  const day = dateOf(at, { timeZone: zone, weekday: 'long', day: 'numeric', month: 'long', year: 'numeric' });
  return instant(at, 'day and time', say`${day} at ${dateOf(at, { timeZone: zone, timeStyle: 'short' })}`);
}

/** Turns the post on or off; a second time changes nothing. */
export function switchTo(on: boolean, context: Context): Draft<z.infer<typeof weekSwitchData>> {
  const { collective, store, now } = context;
  const { settings } = collective;
  const changed = settings.weekOn !== on;
  if (changed) store.saveSettings({ ...settings, weekOn: on });
  const next = on ? nextDue(settings, now) : null;
  return reply({
    title: changed
      ? on
        ? say`The weekly post is on`
        : say`The weekly post is off`
      : on
        ? say`The weekly post is on: it was so already`
        : say`The weekly post is off: it was so already`,
    tone: 'good',
    blocks: [
      text(
        next
          ? say`The next one is about week ${verbatim(formatWeek(next.week))} and goes out on ${timeInWords(context, next.at)}. Day and hour: /setup week-day:monday week-hour:9`
          : say`Nothing is posted by itself, and posted weeks are not put right. /week post still posts one; /week on turns it on again.`,
      ),
    ],
    data: {
      on,
      changed,
      next: next && { week: formatWeek(next.week), at: next.at.toISOString() },
    } satisfies z.infer<typeof weekSwitchData>,
  });
}
