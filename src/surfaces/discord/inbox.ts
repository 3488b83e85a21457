/** Interactions as they come in: each once, in turn, with its time running from here. */
import { setTimeout as pause } from 'node:timers/promises';
import { render } from '../../../shared/language/render.ts';
import { say } from '../../../shared/language/say.ts';
import { addressOf, type Incoming, readIncoming } from './incoming.ts';
import type { InteractionParts } from './interaction-parts.ts';
import { InteractionResponse } from './interaction-response.ts';
import { handleInteraction } from './interactions.ts';
import { plainMessage } from './outgoing.ts';
import { type WorkQueue, workQueue } from './queue.ts';

const STOP_MS = 10_000;
/** Ids of interactions that were seen, so that one delivered twice is not worked on twice. */
const REMEMBERED = 5000;

export class InteractionInbox {
  private readonly parts: InteractionParts;
  private readonly queue: WorkQueue;
  private readonly underWay = new Set<Promise<void>>();
  private readonly seen = new Set<string>();
  private stopping = false;

  constructor(parts: InteractionParts, staleMs?: number) {
    this.parts = parts;
    const { together } = parts.database;
    this.queue = workQueue({ together, ...(staleMs === undefined ? {} : { staleMs }) });
  }

  get waiting(): number {
    return this.queue.waiting;
  }

  readonly take = (raw: unknown): void => {
    const address = addressOf(raw);
    if (!address || !this.isNew(address.id)) return;
    const incoming = readIncoming(raw);
    if (!incoming) {
      this.parts.onFault(new Error(`an interaction of type ${address.type} that could not be read`));
      return;
    }
    if (this.stopping) this.putOff(incoming);
    else this.enqueue(incoming);
  };

  /** Takes nothing more, and waits for what is being answered just now; at most some seconds. */
  async stop(): Promise<void> {
    this.stopping = true;
    const until = performance.now() + STOP_MS;
    while ((this.underWay.size || this.queue.waiting) && performance.now() < until)
      await Promise.race([Promise.allSettled([...this.underWay]), pause(20)]);
  }

  private isNew(id: string): boolean {
    if (this.seen.has(id)) return false;
    this.seen.add(id);
    if (this.seen.size > REMEMBERED) {
      const [oldest] = this.seen;
      if (oldest !== undefined) this.seen.delete(oldest);
    }
    return true;
  }

  private track(work: Promise<void>): void {
    this.underWay.add(work);
    work.catch(this.parts.onFault).finally(() => this.underWay.delete(work));
  }

  private responseTo(incoming: Incoming): InteractionResponse {
    const { rest, deferMs, onFault, watch } = this.parts;
    return new InteractionResponse({ rest, incoming, deferMs, onFault, watch });
  }

  private putOff(incoming: Incoming): void {
    const word = plainMessage(render(say`I am being restarted. Say it again in a minute.`));
    const response = this.responseTo(incoming);
    this.track(incoming.kind === 'completion' ? response.complete([]) : response.reply([word], 'asker'));
  }

  private enqueue(incoming: Incoming): void {
    if (incoming.kind === 'completion') {
      this.queue.addCompletion(() => this.track(handleInteraction(this.parts, incoming)));
      return;
    }
    // Its time runs from here, also while it waits for its turn.
    const response = this.responseTo(incoming);
    this.queue.add(() => this.track(handleInteraction(this.parts, incoming, response)));
  }
}
