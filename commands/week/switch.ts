/** Turns the weekly post on and off. */
import { z } from 'zod';
import { say } from '../../shared/language/say.ts';
import { nextDue } from '../../shared/week/due.ts';
import { formatWeek } from '../../shared/week/iso-week.ts';
import type { Context } from '../framework/context.ts';
import { type Reply, reply, text } from '../framework/reply.ts';

export const weekSwitchData = z.object({
  on: z.boolean(),
  changed: z.boolean(),
  /** The post that goes out next; null when it is off. */
  next: z.object({ week: z.string(), at: z.iso.datetime() }).nullable(),
});

/** "Monday 9 March 2026 at 09:00". */
function timeInWords({ collective }: Context, at: Date): string {
  const { zone } = collective.settings;
  const day = new Intl.DateTimeFormat('en-GB', { timeZone: zone, dateStyle: 'full' }).format(at);
  const time = new Intl.DateTimeFormat('en-GB', { timeZone: zone, timeStyle: 'short' }).format(at);
  return say`${day.replace(',', '')} at ${time}`;
}

/** Turns the post on or off; a second time changes nothing. */
export function switchTo(on: boolean, context: Context): Reply {
  const { collective, store, now } = context;
  const { settings } = collective;
  const changed = settings.weekOn !== on;
  if (changed) store.saveSettings({ ...settings, weekOn: on });
  const next = on ? nextDue(settings, now) : null;
  return reply({
    title: `${on ? say`The weekly post is on` : say`The weekly post is off`}${changed ? '' : say`: it was so already`}`,
    tone: 'good',
    blocks: [
      text(
        next
          ? say`The next one is about week ${formatWeek(next.week)} and goes out on ${timeInWords(context, next.at)}. Day and hour: /setup week-day:monday week-hour:9`
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
