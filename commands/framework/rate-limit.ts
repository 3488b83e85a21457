/**
 * A share of the bot for each person, so that one who says a great deal at once does not hold up the others: a bucket that
 * so many requests fit into, and that is filled again as time passes. It goes by the times that the requests carry.
 */
import { counted, say } from '../../shared/language/say.ts';
import { Refusal } from './refusal.ts';

export interface RateLimit {
  /** Requests that may come at once; at least 1. */
  atOnce: number;
  /** Requests a second after that; above 0. */
  perSecond: number;
}

/** More than anyone types, and less than keeps others waiting for long. */
export const DEFAULT_LIMIT: RateLimit = { atOnce: 30, perSecond: 1 };

/** One request too many. */
export class RateLimited extends Refusal {
  /** True when this person was told a moment ago, and nothing of theirs was answered since. */
  readonly again: boolean;
  constructor(seconds: number, again: boolean) {
    super({
      code: 'rate-limited',
      problem: say`One moment, please: that was a lot at once, and others want their turn too.`,
      expected: counted(
        seconds,
        'the same again in a second; nothing of it was done',
        'the same again in {0} seconds; nothing of it was done',
      ),
    });
    this.again = again;
  }
}

interface Bucket {
  left: number;
  /** Milliseconds; the time of the last request. */
  at: number;
  told: boolean;
}

/** Of so many people the buckets are remembered; those not heard for longest are forgotten, which fills theirs. */
const MOST = 10_000;

/** Takes a turn for `key` at a time; throws RateLimited when there is none left. */
export function rateLimiterOf({ atOnce, perSecond }: RateLimit): (key: string, now: Date) => void {
  const buckets = new Map<string, Bucket>();
  return (key, now) => {
    const at = now.getTime();
    const before = buckets.get(key) ?? { left: atOnce, at, told: false };
    // A clock that was set back gives nothing and takes nothing.
    const passed = Math.max(0, at - before.at) / 1000;
    const left = Math.min(atOnce, before.left + passed * perSecond);
    const free = left >= 1;
    buckets.delete(key);
    buckets.set(key, { left: free ? left - 1 : left, at, told: !free });
    if (buckets.size > MOST) {
      const [oldest] = buckets.keys();
      if (oldest !== undefined) buckets.delete(oldest);
    }
    if (!free) throw new RateLimited(Math.ceil((1 - left) / perSecond), before.told);
  };
}
