/** Tells of an outage once, then by the minute, and when it is over. */
import type { Log } from '../../environment/log.ts';

const AGAIN_MS = 60_000;

export class Outage {
  private readonly log: Log;
  /** Milliseconds of a clock that is never set. */
  private readonly now: () => number;
  private since: number | null = null;
  private told = 0;

  constructor(log: Log, now: () => number = () => performance.now()) {
    this.log = log;
    this.now = now;
  }

  /** `what` went wrong; `next` is what is done about it. */
  tell(what: string, next: string): void {
    const now = this.now();
    const first = this.since === null;
    this.since ??= now;
    if (!first && now - this.told < AGAIN_MS) return;
    this.told = now;
    const lasting = first ? '' : `, for ${Math.round((now - this.since) / 60_000)} min now`;
    this.log('discord', `${what}${lasting}; ${next}`);
  }

  over(): void {
    if (this.since === null) return;
    const seconds = Math.round((this.now() - this.since) / 1000);
    this.since = null;
    this.log('discord', `the connection is back, after ${seconds} s`);
  }
}
