/**
 * Draws the files of replies in a thread of its own, so that nobody waits for a picture but who asked for it. What was drawn is
 * kept for a while: the same data give the same picture.
 */
import { createHash } from 'node:crypto';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { Worker } from 'node:worker_threads';
import { z } from 'zod';
import { fileSchema, type ReplyFile } from '../../commands/framework/reply.ts';

/** What the thread is told: to draw a file, or to load what drawing takes. */
export const drawOrderSchema = z.object({ id: z.number().int(), file: fileSchema.nullable() });
const drawnSchema = z.union([
  z.object({ id: z.number().int(), bytes: z.instanceof(Uint8Array) }),
  z.object({ id: z.number().int(), why: z.string() }),
]);
export type DrawnFile = z.infer<typeof drawnSchema>;

/** So many bytes of drawings are kept. */
const KEPT_BYTES = 16 * 1024 * 1024;

export interface DrawingThread {
  /** The bytes of a file. Throws what the drawing threw, in words. */
  draw(file: ReplyFile): Promise<Buffer>;
  /** Loads all that drawing takes, which otherwise the first picture does. */
  load(): Promise<void>;
  /** Ends the thread once what it was told is done, or after some seconds. */
  stop(): Promise<void>;
}

/** So long an end waits for what is being drawn. */
const MOST_WAIT_MS = 10_000;

interface Waiting {
  resolve: (bytes: Buffer) => void;
  reject: (error: Error) => void;
}

/** The program of the thread: beside the built program, or beside this source. */
const programOf = (): string => {
  const built = join(import.meta.dirname, 'draw-worker.js');
  return existsSync(built) ? built : join(import.meta.dirname, 'draw-worker.ts');
};

export const drawingThread = (): DrawingThread => new Drawings();

class Drawings implements DrawingThread {
  private worker: Worker | null = null;
  private readonly waiting = new Map<number, Waiting>();
  private ids = 0;
  /** The newest last. */
  private readonly kept = new Map<string, Promise<Buffer>>();
  private readonly sizes = new Map<string, number>();

  draw(file: ReplyFile): Promise<Buffer> {
    if (file.text !== undefined) return Promise.resolve(Buffer.from(file.text));
    const key = createHash('sha256')
      .update(JSON.stringify(file.draw ?? null))
      .digest('base64url');
    const known = this.kept.get(key);
    const drawn = known ?? this.order(file);
    this.kept.delete(key);
    this.kept.set(key, drawn);
    if (!known)
      drawn.then(
        ({ length }) => this.keep(key, length),
        () => this.kept.delete(key),
      );
    return drawn;
  }

  async load(): Promise<void> {
    await this.order(null);
  }

  async stop(): Promise<void> {
    // Node 24 dies of a thread that is ended while it loads modules ("Check failed: (location_) != nullptr").
    const most = Date.now() + MOST_WAIT_MS;
    while (this.waiting.size > 0 && Date.now() < most) await setTimeout(20);
    await this.worker?.terminate();
  }

  /** Drops the oldest where there are too many bytes. */
  private keep(key: string, size: number): void {
    this.sizes.set(key, size);
    let all = [...this.sizes.values()].reduce((sum, one) => sum + one, 0);
    for (const [oldest] of this.kept) {
      if (all <= KEPT_BYTES) return;
      all -= this.sizes.get(oldest) ?? 0;
      this.sizes.delete(oldest);
      this.kept.delete(oldest);
    }
  }

  private order(file: ReplyFile | null): Promise<Buffer> {
    this.ids += 1;
    const id = this.ids;
    return new Promise((resolve, reject) => {
      this.waiting.set(id, { resolve, reject });
      this.running().postMessage(drawOrderSchema.parse({ id, file }));
    });
  }

  /** The thread; a new one where there is none, as after a fault in it. */
  private running(): Worker {
    if (this.worker) return this.worker;
    const worker = new Worker(programOf());
    // A bot that ends does not wait for a drawing.
    worker.unref();
    worker.on('message', (message: unknown) => {
      const drawn = drawnSchema.parse(message);
      const waits = this.waiting.get(drawn.id);
      this.waiting.delete(drawn.id);
      if ('bytes' in drawn) waits?.resolve(Buffer.from(drawn.bytes));
      else waits?.reject(new Error(drawn.why));
    });
    const ended = (why: string): void => {
      if (this.worker === worker) this.worker = null;
      for (const { reject } of this.waiting.values()) reject(new Error(`nothing was drawn: ${why}`));
      this.waiting.clear();
    };
    worker.on('error', (error: unknown) => ended(error instanceof Error ? error.message : String(error)));
    worker.on('exit', () => ended('the drawing thread ended'));
    this.worker = worker;
    return worker;
  }
}
