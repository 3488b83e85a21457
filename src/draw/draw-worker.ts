/** Draws files in a thread of its own: the other end of `src/draw/drawing-thread.ts`. */
import { parentPort } from 'node:worker_threads';
import { drawFile, loadDrawing } from './draw-file.ts';
import { type DrawnFile, drawOrderSchema } from './drawing-thread.ts';
import { loadLazyParts } from './lazy-parts.ts';

async function done(order: ReturnType<typeof drawOrderSchema.parse>): Promise<Uint8Array> {
  if (order.file) return drawFile(order.file);
  await loadDrawing();
  loadLazyParts();
  return new Uint8Array();
}

parentPort?.on('message', async (message: unknown) => {
  const order = drawOrderSchema.parse(message);
  let drawn: DrawnFile;
  try {
    drawn = { id: order.id, bytes: Uint8Array.from(await done(order)) };
  } catch (error) {
    drawn = { id: order.id, why: error instanceof Error ? error.message : String(error) };
  }
  parentPort?.postMessage(drawn);
});
