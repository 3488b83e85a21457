/** What a phone is offered with: what is so of it, good and bad, what is asked, and what ones like it sell for. Nothing private. */
import type { JobRecord } from '../../shared/jobs/job.ts';
import type { Message } from '../../shared/language/message.ts';
import { inSentence, joined, listWords, packText, plain, say } from '../../shared/language/say.ts';
import { valueQuantile } from '../../shared/market/value.ts';
import { amount, fromMajor, type Money } from '../../shared/money/money.ts';
import type { Context } from '../framework/context.ts';
import { economicsFor } from '../shared/appraise-phone.ts';
import { untestedOf } from '../shared/job-words.ts';
import { conditions, conditionWords, phoneOfJob } from '../shared/phone.ts';
import { stateOfJob } from '../shared/phone-state.ts';
import {
  batteryLines,
  doneLines,
  oddityLines,
  partLines,
  promiseLines,
  remediesOf,
  wasEverOpened,
  waterLines,
} from './hand-over-lines.ts';

export interface SaleRange {
  /** Eight such phones in ten sell between the two. */
  low: Money;
  middle: Money;
  high: Money;
  /** Prices seen that it rests on. */
  seen: number;
}

/**
 * What such a phone sells for today in that condition (-2 to 2), after what its remedies take off its worth: the 10 %, 50 % and
 * 90 % quantiles of the market's prediction. Null where nothing is known of its price.
 */
export function saleRange(context: Context, job: JobRecord, grade: number): SaleRange | null {
  const { value, standIn, market, currency } = economicsFor(context, phoneOfJob(context, job), { grade });
  if (standIn) return null;
  const keeps = remediesOf(context, job).reduce((share, remedy) => share * remedy.keeps, 1);
  const at = (p: number): Money => fromMajor(keeps * valueQuantile(value, p), currency);
  return { low: at(0.1), middle: at(0.5), high: at(0.9), seen: market?.n ?? 0 };
}

/** "Like ones sell for AUD 90 to AUD 134 eight times in ten (8 prices seen here)". */
const rangeInWords = ({ low, high }: Pick<SaleRange, 'low' | 'high'>): Message =>
  say`Phones like it sell for ${amount(low)} to ${amount(high)} eight times in ten, as far as is known here.`;

interface Section {
  heading: Message;
  lines: Message[];
}

/** The text, in sections; what is not so, or not known, is said too. */
export function saleSections(
  context: Context,
  job: JobRecord,
  { grade, asked, range }: { grade: number; asked: Money | null; range: SaleRange | null },
): Section[] {
  const state = stateOfJob(context, job);
  const opened = wasEverOpened(context, job);
  const untested = untestedOf(context, job).map(({ name }) => inSentence(packText(name)));
  const condition = conditionWords[conditions[2 - grade] ?? 'fair'];
  const oddities = oddityLines(context, job);
  const section = (heading: Message, lines: Message[]) => (lines.length ? [{ heading, lines }] : []);
  return [
    ...section(say`Condition`, [
      say`It looks ${inSentence(condition)}.`,
      ...(untested.length ? [say`Not tested: ${listWords(untested)}.`] : []),
    ]),
    ...section(say`What was done`, doneLines(context, job, state, opened)),
    ...section(say`Parts fitted`, partLines(context, job)),
    ...section(say`Battery`, batteryLines(job, state)),
    ...section(say`Water`, waterLines(job, opened)),
    ...section(say`Known oddities`, oddities.length ? oddities : [say`None known.`]),
    ...section(say`What is promised`, promiseLines(context, job)),
    ...section(say`Price`, [
      asked ? say`Asked: ${amount(asked)}.` : say`Asked: no price yet.`,
      ...(range ? [rangeInWords(range)] : []),
    ]),
  ];
}

/** The whole as plain text, to be put where it is offered. */
export const saleText = (title: Message, sections: readonly Section[]): Message =>
  joined(
    [
      plain`${title}`,
      ...sections.map(
        ({ heading, lines }) =>
          plain`${heading}\n${joined(
            lines.map((line) => plain`- ${line}`),
            '\n',
          )}`,
      ),
    ],
    '\n\n',
  );
