/** The money of a job: what an hour costs, what is left, and what was promised. */

import { type JobRecord, totalsOf } from '../../shared/jobs/job.ts';
import type { Message } from '../../shared/language/message.ts';
import { quantity, say } from '../../shared/language/say.ts';
import { amount, fromMajor, type Money, money, toMajor } from '../../shared/money/money.ts';
import { referenceHour } from '../../shared/money/reference-hour.ts';
import type { Way } from '../../shared/worth/verdict.ts';
import type { Context } from '../framework/context.ts';
import { type DraftBlock, facts } from '../framework/reply.ts';

/** What an hour at the bench costs the collective, in major units. */
export function hourRate({ settings }: Context['collective']): number {
  return settings.hourlyRate ?? toMajor(referenceHour(settings.currency).rate);
}

/** What is left when the bench time is paid. */
export function netAfterTime(context: Context, job: JobRecord): Money {
  const { net, minutes } = totalsOf(job);
  const time = fromMajor((hourRate(context.collective) * minutes) / 60, net.currency);
  return money(net.minor - time.minor, net.currency);
}

const byWay: Record<Exclude<Way, 'pass'>, Message> = {
  restore: say`by restoring it`,
  'look-first': say`by looking first`,
  strip: say`by stripping it`,
  'sell-as-is': say`by selling it as it is`,
  'hand-on': say`by handing it to someone qualified first`,
};

function expectedInWords({ promise: { mean, low, high, verdict } }: JobRecord): Message {
  if (verdict === 'pass') return say`nothing to be had: pass (${amount(mean)} at best)`;
  if (verdict === null) return say`nothing yet: no price was known for it`;
  return say`${amount(mean)} after time (${amount(low)} to ${amount(high)}), ${byWay[verdict]}`;
}

/** The money of a job, and what was promised. */
export function moneyFacts(context: Context, job: JobRecord): DraftBlock {
  const { out, back, worth, net, minutes } = totalsOf(job);
  const { minutes: expected } = job.promise;
  return facts(
    [
      [
        say`Out so far`,
        job.price.minor ? say`${amount(out)}, ${amount(job.price)} of it the phone` : amount(out),
      ],
      ...(back.minor ? [[say`Came back`, amount(back)] as const] : []),
      ...(worth.minor ? [[say`Worth in use here`, amount(worth)] as const] : []),
      ...(job.ended
        ? [
            [say`Left`, amount(net)] as const,
            [say`Left after the time`, amount(netAfterTime(context, job))] as const,
          ]
        : []),
      [
        say`At the bench`,
        expected
          ? say`${minutes} min; about ${Math.round(expected)} were expected`
          : quantity(minutes, 'min'),
      ],
      // Somebody else's phone is given back, whatever it would sell for.
      ...(job.came === 'customer' ? [] : [[say`Expected at intake`, expectedInWords(job)] as const]),
    ],
    say`Money and time`,
  );
}
