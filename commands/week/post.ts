import { z } from 'zod';
import { say, typed } from '../../shared/language/say.ts';
import { formatWeek, previousWeek, spanOf, weekOf } from '../../shared/week/iso-week.ts';
import { defineAction } from '../framework/command.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { weekOption } from './options.ts';

export const weekPostData = z.object({ asked: z.string() });

export const weekPost = defineAction({
  summary: say`Post a week now, without waiting for its hour`,
  who: 'steward',
  options: { week: weekOption(say`Which week; the last full one when left out`) },
  examples: ['/week post', '/week post 2026-W09'],

  data: weekPostData,
  refuses: ['wrong-state'],
  run: ({ week }, context) => {
    const { collective, now, store } = context;
    const meant = week ?? previousWeek(weekOf(now, collective.settings.zone));
    const name = formatWeek(meant);
    if (spanOf(meant, collective.settings.zone).to.getTime() > now.getTime()) {
      throw new Refusal({
        code: 'wrong-state',
        option: 'week',
        problem: say`Week ${typed(name)} is not over.`,
        expected: say`a week that is over; /week preview shows how this one stands`,
        example: '/week post',
      });
    }
    if (store.weeks.ofWeek(name).some(({ state }) => state === 'sent')) {
      throw new Refusal({
        code: 'wrong-state',
        option: 'week',
        problem: say`Week ${typed(name)} is posted already, and no week is posted twice.`,
        expected: say`a week that is not posted yet; what changed in a posted one is put right by itself`,
        example: `/week preview ${name}`,
      });
    }
    store.weeks.ask(name, now);
    return reply({
      title: say`Week ${typed(name)} will be posted within a minute or two, wherever the weekly post goes`,
      tone: 'good',
      blocks: [text(say`What it says: /week preview ${typed(name)}`)],
      data: { asked: name } satisfies z.infer<typeof weekPostData>,
    });
  },
});
