/** A month or a year, as it is typed. */
import { z } from 'zod';
import { type Period, readPeriod } from '../../shared/jobs/period.ts';
import type { Message } from '../../shared/language/message.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import { type Option, refuseValue } from '../framework/option.ts';

export const periodOption = (base: { summary: Message; example: string }): Option<Period, true> => ({
  ...base,
  required: true,
  many: false,
  wire: { type: 'text', max: 10 },
  expected: say`a month like 2026-03, or a year`,
  schema: () =>
    z.string().transform((given, issue) => {
      return readPeriod(given) ?? refuseValue(issue, say`"${verbatim(given)}" is no month and no year`);
    }),
});
