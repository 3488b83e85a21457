import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

const here = dirname(fileURLToPath(import.meta.url));

/** `npm run test:homeserver`: the Matrix surface against a real Synapse. */
export default defineConfig({
  test: {
    root: join(here, '..', '..'),
    include: ['tests/homeserver/**/*.homeserver.ts'],
    globalSetup: [join(here, '..', 'built.ts'), join(here, 'setup.ts')],
    // Every wait is for something to happen; these are for a machine that is busy, and never met.
    testTimeout: 600_000,
    hookTimeout: 600_000,
    // matrix-js-sdk writes much.
    onConsoleLog: () => false,
    // One homeserver, on two cores: one file after another.
    fileParallelism: false,
  },
});
