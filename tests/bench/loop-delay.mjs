/** Loaded into a bot that is measured: on SIGUSR2 it says how long its event loop was blocked at most since the last time. */
import { monitorEventLoopDelay } from 'node:perf_hooks';
import { isMainThread } from 'node:worker_threads';

if (isMainThread) {
  const delay = monitorEventLoopDelay({ resolution: 1 });
  delay.enable();
  process.on('SIGUSR2', () => {
    process.stdout.write(`blocked ${delay.max / 1e6} ms\n`);
    delay.reset();
  });
}
