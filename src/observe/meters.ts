/** Counts what a serving bot does. Every set of labels is of a fixed size, so that nothing here grows with time. */
import { statSync } from 'node:fs';
import { monitorEventLoopDelay } from 'node:perf_hooks';
import type { Dispatcher } from '../../commands/framework/dispatch.ts';
import { refusalCodes, refusalData } from '../../commands/framework/refusal.ts';
import type { Log } from '../environment/log.ts';
import type { SurfaceWatch } from '../surfaces/surface-watch.ts';
import type { Poster } from '../surfaces/weekly-poster.ts';
import type { MetricFamily, Sample } from './exposition.ts';

/** Upper bounds of the buckets, in seconds. */
const BOUNDS = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5] as const;
/** Over how long the largest lag of the event loop is told, in ms. */
const LAG_SPAN_MS = 60_000;

type Outcome = 'answered' | 'refused' | 'fault';

/** How a platform stands: connected since, lost since, or not connected yet. */
interface Standing {
  state: 'starting' | 'connected' | 'lost' | 'ended';
  since: Date;
}

interface MeterParts {
  storeFile: string;
  clock: () => Date;
  /** How many requests wait for their turn. */
  waiting: () => number;
}

export class Meters implements SurfaceWatch {
  private readonly parts: MeterParts;
  readonly startedAt: Date;
  private readonly outcomes: Record<Outcome, number> = { answered: 0, refused: 0, fault: 0 };
  private readonly refusals = new Map<string, number>(Object.keys(refusalCodes).map((code) => [code, 0]));
  private readonly buckets = new Array<number>(BOUNDS.length).fill(0);
  private seconds = 0;
  private deferrals = 0;
  private lateAnswers = 0;
  private posts = { sent: 0, edited: 0, failed: 0 };
  private news = 0;
  faults = 0;
  lastFault: { id: string; at: Date } | null = null;
  readonly platforms = new Map<string, Standing>();
  private readonly lag = monitorEventLoopDelay({ resolution: 20 });
  private lagBefore = 0;
  private readonly lagTimer: NodeJS.Timeout;

  constructor(parts: MeterParts) {
    this.parts = parts;
    this.startedAt = parts.clock();
    this.lag.enable();
    this.lagTimer = setInterval(() => this.turnLag(), LAG_SPAN_MS);
    this.lagTimer.unref();
  }

  stop(): void {
    clearInterval(this.lagTimer);
    this.lag.disable();
  }

  private turnLag(): void {
    this.lagBefore = this.lag.max;
    this.lag.reset();
  }

  /** The largest lag of the last one to two minutes, in seconds, beyond the 20 ms at which it is looked at. */
  get lagSeconds(): number {
    return Math.max(0, Math.max(this.lag.max, this.lagBefore) / 1e9 - 0.02);
  }

  get commands(): number {
    const { answered, refused, fault } = this.outcomes;
    return answered + refused + fault;
  }

  get waiting(): number {
    return this.parts.waiting();
  }

  connected(platform: string, is: boolean): void {
    this.stands(platform, is ? 'connected' : 'lost');
  }

  stands(platform: string, state: Standing['state']): void {
    if (this.platforms.get(platform)?.state === state) return;
    this.platforms.set(platform, { state, since: this.parts.clock() });
  }

  deferred(): void {
    this.deferrals += 1;
  }

  late(): void {
    this.lateAnswers += 1;
  }

  /** A log that is counted. */
  counting(log: Log): Log {
    return (id, error) => {
      if (error instanceof Error) {
        this.faults += 1;
        this.lastFault = { id, at: this.parts.clock() };
      } else this.news += 1;
      log(id, error);
    };
  }

  /** A dispatcher of which each answer is counted and timed, whatever surface's commands it has. */
  watching(dispatcher: Dispatcher): Dispatcher {
    return {
      contextFor: (asked) => dispatcher.contextFor(asked),
      offer: (refused, asked) => dispatcher.offer(refused, asked),
      rehearse: (choice, asked) => dispatcher.rehearse(choice, asked),
      handle: (request) => {
        const from = performance.now();
        const reply = dispatcher.handle(request);
        this.answered(reply.outcome, (performance.now() - from) / 1000);
        if (reply.outcome === 'refused') this.refused(refusalData.safeParse(reply.data).data?.code);
        return reply;
      },
      withCommands: (commands) => this.watching(dispatcher.withCommands(commands)),
    };
  }

  private answered(outcome: Outcome, seconds: number): void {
    this.outcomes[outcome] += 1;
    this.seconds += seconds;
    BOUNDS.forEach((bound, index) => {
      if (seconds <= bound) this.buckets[index] = (this.buckets[index] ?? 0) + 1;
    });
  }

  private refused(code: string | undefined): void {
    const known = code !== undefined && this.refusals.get(code);
    if (typeof known === 'number' && code !== undefined) this.refusals.set(code, known + 1);
  }

  /** A poster of which each post is counted. */
  posting(poster: Poster): Poster {
    const count =
      <Given extends unknown[], Made>(what: 'sent' | 'edited', work: (...given: Given) => Promise<Made>) =>
      async (...given: Given): Promise<Made> => {
        try {
          const made = await work(...given);
          this.posts[what] += 1;
          return made;
        } catch (error) {
          this.posts.failed += 1;
          throw error;
        }
      };
    return {
      post: count('sent', (key, reply) => poster.post(key, reply)),
      edit: count('edited', (message, reply) => poster.edit(message, reply)),
      find: (key) => poster.find(key),
    };
  }

  /** Bytes of the store and of its journal. */
  storeBytes(): { store: number; journal: number } {
    const sizeOf = (path: string): number => statSync(path, { throwIfNoEntry: false })?.size ?? 0;
    return { store: sizeOf(this.parts.storeFile), journal: sizeOf(`${this.parts.storeFile}-wal`) };
  }

  /** All measurements, as they are now. */
  families(): MetricFamily[] {
    const { store, journal } = this.storeBytes();
    const by = (label: string, counts: Iterable<readonly [string, number]>): Sample[] =>
      [...counts].map(([text, value]) => ({ labels: { [label]: text }, value }));
    const counter = (name: string, help: string, samples: readonly Sample[]): MetricFamily => ({
      name: `thirdhand_${name}_total`,
      kind: 'counter',
      help,
      samples,
    });
    const gauge = (name: string, help: string, samples: readonly Sample[]): MetricFamily => ({
      name,
      kind: 'gauge',
      help,
      samples,
    });
    return [
      counter(
        'commands',
        'Requests that got a reply, by its outcome.',
        by('outcome', Object.entries(this.outcomes)),
      ),
      counter(
        'refusals',
        'Requests that were refused, by the code of the refusal.',
        by('code', this.refusals),
      ),
      counter('faults', 'Faults that were logged.', [{ value: this.faults }]),
      counter('deferrals', 'Answers that were not ready in time, and were put off.', [
        { value: this.deferrals },
      ]),
      counter('late_answers', 'Answers that a platform took no more.', [{ value: this.lateAnswers }]),
      counter('posts', 'Weekly posts, by what became of them.', by('result', Object.entries(this.posts))),
      counter('news', 'Lines of the log that are no faults, such as a connection that was lost.', [
        { value: this.news },
      ]),
      this.durations(),
      gauge('thirdhand_queue', 'Requests that wait for their turn.', [{ value: this.waiting }]),
      gauge(
        'thirdhand_event_loop_lag_seconds',
        'Largest delay of the event loop in the last one to two minutes.',
        [{ value: this.lagSeconds }],
      ),
      gauge(
        'thirdhand_connected',
        'Whether a platform is connected.',
        by(
          'platform',
          [...this.platforms].map(([name, { state }]) => [name, state === 'connected' ? 1 : 0] as const),
        ),
      ),
      gauge(
        'thirdhand_store_bytes',
        'Size of the store and of its journal.',
        by('file', [
          ['store', store],
          ['journal', journal],
        ]),
      ),
      {
        name: 'process_cpu_seconds_total',
        kind: 'counter',
        help: 'Processor time that the bot used.',
        samples: [{ value: (({ user, system }) => (user + system) / 1e6)(process.cpuUsage()) }],
      },
      gauge('process_resident_memory_bytes', 'Resident memory.', [{ value: process.memoryUsage.rss() }]),
      gauge('process_start_time_seconds', 'When the bot was started, in seconds since 1970.', [
        { value: this.startedAt.getTime() / 1000 },
      ]),
    ];
  }

  private durations(): MetricFamily {
    return {
      name: 'thirdhand_command_seconds',
      kind: 'histogram',
      help: 'How long a reply was worked on.',
      samples: [
        ...BOUNDS.map((bound, index) => ({
          suffix: '_bucket',
          labels: { le: String(bound) },
          value: this.buckets[index] ?? 0,
        })),
        { suffix: '_bucket', labels: { le: '+Inf' }, value: this.commands },
        { suffix: '_sum', value: this.seconds },
        { suffix: '_count', value: this.commands },
      ],
    };
  }
}
