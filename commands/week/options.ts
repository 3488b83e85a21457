/** The week that is meant. */

import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { say, typed, verbatim } from '../../shared/language/say.ts';
import { formatWeek, type IsoWeek, parseWeek, weekOf } from '../../shared/week/iso-week.ts';
import { type Option, optional, refuseValue } from '../framework/option.ts';

/** A week of ISO 8601, "2026-W09", that has begun. */
export const weekOption = (summary: Message): Option<IsoWeek, false> =>
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
        return refuseValue(
          issue,
          week
            ? say`${typed(formatWeek(week))} has not begun; this is ${typed(running)}`
            : say`"${verbatim(written)}" is not a week`,
        );
      }),
  });
