import { z } from 'zod';
import { say } from '../shared/language/say.ts';
import { nextDue } from '../shared/week/due.ts';
import {
  formatWeek,
  type IsoWeek,
  parseWeek,
  previousWeek,
  spanOf,
  weekOf,
} from '../shared/week/iso-week.ts';
import { defineAction, defineCommand } from './command.ts';
import type { Context } from './context.ts';
import { type Option, optional } from './option.ts';
import { Refusal } from './refusal.ts';
import { type Reply, reply, text } from './reply.ts';
import { weekPost } from './week-reply.ts';

export { weekData } from './week-reply.ts';

export const weekPostData = z.object({ asked: z.string() });
export const weekSwitchData = z.object({
  on: z.boolean(),
  changed: z.boolean(),
  /** The post that goes out next; null when it is off. */
  next: z.object({ week: z.string(), at: z.iso.datetime() }).nullable(),
});

/** A week of ISO 8601, "2026-W09", that has begun. */
const weekOption = (summary: string): Option<IsoWeek, false> =>
  optional({
    summary,
    example: '2026-W09',
    required: true,
    many: false,
    wire: { type: 'text', max: 8 },
    expected: say`a week as ISO 8601 writes it, like 2026-W09, that is not in the future`,
    schema: ({ collective, now }) =>
      z.string().transform((written, issue) => {
        const week = parseWeek(written);
        const running = formatWeek(weekOf(now, collective.settings.zone));
        if (week && formatWeek(week) <= running) return week;
        issue.addIssue({
          code: 'custom',
          message: week
            ? `${formatWeek(week)} has not begun; this is ${running}`
            : `"${written}" is not a week`,
        });
        return z.NEVER;
      }),
  });

/** "Monday 9 March 2026 at 09:00". */
function timeInWords({ collective }: Context, at: Date): string {
  const { zone } = collective.settings;
  const day = new Intl.DateTimeFormat('en-GB', { timeZone: zone, dateStyle: 'full' }).format(at);
  const time = new Intl.DateTimeFormat('en-GB', { timeZone: zone, timeStyle: 'short' }).format(at);
  return say`${day.replace(',', '')} at ${time}`;
}

const preview = defineAction({
  summary: 'Show what the weekly post says, or would say so far',
  options: { week: weekOption('Which week; the one of the next post when left out') },
  examples: ['/week preview', '/week preview 2026-W09'],
  run: ({ week }, context) => {
    const { collective, now, store } = context;
    const meant = week ?? nextDue(collective.settings, now).week;
    const made = weekPost(context, meant);
    const name = formatWeek(meant);
    const posted = store.weeks.ofWeek(name).some(({ state }) => state === 'sent');
    const running = spanOf(meant, collective.settings.zone).to.getTime() > now.getTime();
    const note = posted
      ? say`This week is posted; what changes later is put right there.`
      : running
        ? say`The week is not over: this is how it stands.`
        : null;
    return note && made.blocks.length ? { ...made, blocks: [...made.blocks, text(note)] } : made;
  },
});

const post = defineAction({
  summary: 'Post a week now, without waiting for its hour',
  who: 'steward',
  options: { week: weekOption('Which week; the last full one when left out') },
  examples: ['/week post', '/week post 2026-W09'],
  run: ({ week }, context) => {
    const { collective, now, store } = context;
    const meant = week ?? previousWeek(weekOf(now, collective.settings.zone));
    const name = formatWeek(meant);
    if (spanOf(meant, collective.settings.zone).to.getTime() > now.getTime()) {
      throw new Refusal({
        option: 'week',
        problem: say`Week ${name} is not over.`,
        expected: say`a week that is over; /week preview shows how this one stands`,
        example: '/week post',
      });
    }
    if (store.weeks.ofWeek(name).some(({ state }) => state === 'sent')) {
      throw new Refusal({
        option: 'week',
        problem: say`Week ${name} is posted already, and no week is posted twice.`,
        expected: say`a week that is not posted yet; what changed in a posted one is put right by itself`,
        example: `/week preview ${name}`,
      });
    }
    store.weeks.ask(name, now);
    return reply({
      title: say`Week ${name} will be posted within a minute or two, wherever the weekly post goes`,
      tone: 'good',
      blocks: [text(say`What it says: /week preview ${name}`)],
      data: { asked: name } satisfies z.infer<typeof weekPostData>,
    });
  },
});

/** Turns the post on or off; a second time changes nothing. */
function switchTo(on: boolean, context: Context): Reply {
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

const off = defineAction({
  summary: 'Stop the weekly post',
  who: 'steward',
  options: {},
  examples: ['/week off'],
  run: (_, context) => switchTo(false, context),
});

const on = defineAction({
  summary: 'Start the weekly post again',
  who: 'steward',
  options: {},
  examples: ['/week on'],
  run: (_, context) => switchTo(true, context),
});

export const week = defineCommand({
  name: 'week',
  summary: 'The week in restored phones: preview it, post it, turn the weekly post on or off',
  main: 'preview',
  actions: { preview, post, on, off },
});
