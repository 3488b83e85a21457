/**
 * The card of each job in its thread on one platform: made when the job moves, and edited after each change, one card after another,
 * so that of each at most one edit is under way. What it says is read when its turn comes. What was begun is saved before it is done:
 * after a stop it is looked for, not done twice.
 */
import type { Context } from '../../commands/framework/context.ts';
import { withLocalCodes } from '../../commands/framework/danger-words.ts';
import type { Dispatcher } from '../../commands/framework/dispatch.ts';
import { renderingIn } from '../../commands/framework/rendering.ts';
import { type Reply, renderReply } from '../../commands/framework/reply.ts';
import type { RequestOrigin } from '../../commands/framework/request.ts';
import { type CardState, cardStateOf, cardStateWords, jobCard } from '../../commands/job/card.ts';
import { jobHeading } from '../../commands/job/reply.ts';
import { pathOnCard } from '../../commands/trace/trace-path.ts';
import type { Collective } from '../../shared/collective/collective-settings.ts';
import type { Message } from '../../shared/language/message.ts';
import { render } from '../../shared/language/render.ts';
import type { Database, DuePost, JobPost, Store } from '../../shared/store/index.ts';

/** A card as it is to stand there. */
export interface JobCard {
  /** Unique on the platform, and the same for every try. */
  key: string;
  /** What the thread is called, one line. */
  name: string;
  reply: Reply;
  state: CardState;
  /** What the state is called. */
  stateName: (state: CardState) => string;
  /** Revisions of what it says. */
  stamp: string;
}
export interface CardPlace {
  channel: string;
  thread: string;
  card: string;
}

/** Nothing can be done until people change something there; `message` says what. */
export class CannotKeepCard extends Error {
  constructor(why: string) {
    super(why);
    this.name = 'CannotKeepCard';
  }
}

/** How a platform keeps threads of jobs. All throw CannotKeepCard where only people can help. */
export interface JobThreads {
  /** Makes thread and card. `again`: a try before may have made some of it. */
  open(channel: string, card: JobCard, again: boolean): Promise<CardPlace>;
  /** `reopened`: its thread was put away when the job was closed. */
  edit(place: CardPlace, card: JobCard, reopened: boolean): Promise<void>;
  /** Says once that a job goes on without its thread, to somebody who can change that. */
  tell(collective: number, words: string): Promise<void>;
}

export interface JobCardsParts {
  platform: string;
  database: Database;
  dispatcher: Pick<Dispatcher, 'contextFor' | 'offer'>;
  threads: JobThreads;
  clock: () => Date;
  onFault: (error: unknown) => void;
}

const LOOK_MS = 60_000;

export class JobCards {
  private readonly parts: JobCardsParts;
  private readonly due = new Set<number>();
  private running: Promise<void> | null = null;
  private stopped = false;
  private timer: NodeJS.Timeout | undefined;

  constructor(parts: JobCardsParts) {
    this.parts = parts;
  }

  /** From here on cards are looked after; what another program changed is seen within a minute. */
  start(): void {
    const look = () => {
      for (const { id } of this.parts.database.collectives.list()) this.moved(id);
    };
    look();
    this.timer = setInterval(look, LOOK_MS);
    this.timer.unref();
  }

  /** Something may have changed in a collective. */
  readonly moved = (collective: number): void => {
    if (this.stopped) return;
    this.due.add(collective);
    this.running ??= this.work().finally(() => {
      this.running = null;
    });
  };

  /** Takes nothing more; what is under way is finished by the next start where it does not end now. */
  stop(): void {
    this.stopped = true;
    clearInterval(this.timer);
  }

  /** Resolves when nothing is left to do for now. */
  async idle(): Promise<void> {
    while (this.running) await this.running;
  }

  private async work(): Promise<void> {
    // What brought it here is answered first.
    await new Promise((resolve) => setImmediate(resolve));
    for (const id of this.due) {
      this.due.delete(id);
      const collective = this.parts.database.collectives.find(id);
      if (collective) await this.attend(collective);
      if (this.stopped) return;
    }
  }

  private async attend(collective: Collective): Promise<void> {
    const { database, platform, onFault } = this.parts;
    const store = database.of(collective);
    const failed = new Set<number>();
    for (;;) {
      const channel = store.jobPosts.channelOf(platform)?.channel;
      if (channel === undefined || this.stopped) return;
      const next = store.jobPosts.due(platform).find(({ job }) => !failed.has(job));
      if (!next) return;
      try {
        await this.keep(store, channel, next);
      } catch (error) {
        failed.add(next.job);
        if (!this.stopped) onFault(error);
      }
    }
  }

  private async keep(store: Store, channel: string, { job: number, stamp, post }: DuePost): Promise<void> {
    const { platform, database, threads } = this.parts;
    const save = (change: Partial<JobPost>): void => {
      const blank = { platform, job: number, channel, state: 'making', thread: null, card: null } as const;
      database.transaction(() => store.jobPosts.save({ ...blank, stamp, ...post, ...change }));
    };
    const card = this.draw(store, number, stamp);
    try {
      if (post?.thread && post.card) {
        const place = { channel: post.channel, thread: post.thread, card: post.card };
        await threads.edit(place, card, post.state === 'done' && card.state !== 'closed');
        save({ state: card.state === 'closed' ? 'done' : 'there', stamp });
        return;
      }
      const again = post?.state === 'making';
      if (!again) save({ state: 'making', channel });
      const place = await threads.open(channel, card, again);
      save({ ...place, state: card.state === 'closed' ? 'done' : 'there', stamp });
    } catch (error) {
      if (!(error instanceof CannotKeepCard)) throw error;
      save({ state: 'gone', stamp });
      await threads.tell(store.collective.id, error.message);
    }
  }

  /** As the job stands now, in the collective's language. Its choices are for anyone in the room. */
  private draw(store: Store, number: number, stamp: string): JobCard {
    const { dispatcher, clock } = this.parts;
    const { collective } = store;
    const { language } = collective.settings;
    const asked: RequestOrigin = {
      collective: collective.id,
      person: { key: 'card', name: '', role: 'member' },
      direct: false,
      now: clock(),
      locale: language,
    };
    const context: Context = dispatcher.contextFor(asked);
    const job = store.jobs.get(number);
    if (!job) throw new Error(`there is no job ${number}`);
    const trace = job.trace === null ? null : store.traces.get(job.trace);
    const draft = jobCard(context, job, trace ? pathOnCard(context, trace) : []);
    const guarded = withLocalCodes(draft, collective.settings.region);
    const drawn = renderReply(guarded, renderingIn(context.knowledge, language));
    const open = { ...drawn, choices: drawn.choices.map((choice) => ({ ...choice, open: true })) };
    const words = (message: Message): string => render(message, renderingIn(context.knowledge, language));
    return {
      key: `job ${collective.id} ${number}`,
      name: words(jobHeading(context, job)),
      reply: dispatcher.offer(open, asked),
      state: cardStateOf(context, job),
      stateName: (state) => words(cardStateWords[state]),
      stamp,
    };
  }
}
