/** The options that several of `/job`'s actions share, who writes an entry, and refusing for all that is in the way. */

import { z } from 'zod';
import { quantities } from '../../knowledge/schema.ts';
import { readReading } from '../../shared/diagnosis/reading.ts';
import { type Imei, readImei } from '../../shared/imei/imei.ts';
import type { Obstacle } from '../../shared/jobs/rules.ts';
import type { Message } from '../../shared/language/message.ts';
import { inRow, joined, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import { actorOf, type Context } from '../framework/context.ts';
import { choiceOption, type Option, optional, refuseValue } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import type { DraftCard, DraftChoice } from '../framework/reply.ts';

/** An IMEI in 14, 15 or 16 digits. Its refusals never repeat the number. */
export const imeiOption: Option<Imei, true> = {
  summary: say`The IMEI; the last four digits are shown, the rest is sealed`,
  example: '490154203237518',
  required: true,
  many: false,
  wire: { type: 'text', max: 24 },
  expected: say`the 15 digits that *#06# shows`,
  schema: () =>
    z.string().transform((text, issue) => {
      const read = readImei(text);
      if (read.ok) return read.imei;
      return refuseValue(issue, read.problem, { expected: read.expected });
    }),
};

export interface Reading {
  value: number;
  unit: (typeof quantities)[number];
  /** What was measured; empty when not said. */
  of: string;
}

/** A reading with its unit and, behind it, what was measured: `3.82 V cell`. */
export const readingOption: Option<Reading, true> = {
  summary: say`What a meter or the phone reads, and of what`,
  example: '3.82 V cell',
  required: true,
  many: false,
  free: true,
  wire: { type: 'text', max: 80 },
  expected: say`a number with a unit (${inRow(quantities.map((one) => typed(one)))}), such as 3.82 V cell`,
  schema: () =>
    z.string().transform((text, issue) => {
      const match = /^\s*([+-]?\d+(?:[.,]\d+)?\s*[a-zµΩ%°]{1,6})(?:\s+(\S.{0,59}))?\s*$/iu.exec(text);
      for (const unit of quantities) {
        const value = match && readReading(match[1] ?? '', unit);
        if (value !== null && match) return { value, unit, of: (match[2] ?? '').trim() };
      }
      return refuseValue(issue, say`"${verbatim(text)}" is no reading`);
    }),
};

/** Yes, or not said. */
export const yes = (summary: Message) =>
  optional(choiceOption({ summary, example: 'yes', choices: ['yes'] }));

/** Who writes an entry, and when. */
export const handOf = (context: Context) => ({ by: actorOf(context), at: context.now });

/** Refuses for all that stands in the way at once. */
export function refuseFor(
  obstacles: readonly Obstacle[],
  example?: string,
  cautions: readonly DraftCard[] = [],
  choices: readonly DraftChoice[] = [],
): never {
  throw new Refusal({
    code: obstacles.some(({ unsafe }) => unsafe) ? 'unsafe' : 'wrong-state',
    problem: plain`${joined(
      obstacles.map(({ problem }) => problem),
      '. ',
    )}.`,
    expected: joined(
      obstacles.map(({ expected }) => expected),
      '; ',
    ),
    ...(example === undefined ? {} : { example }),
    cautions: [...cautions],
    choices: [...choices],
  });
}
