import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    globalSetup: ['tests/built.ts'],
    // Two cores are the smallest bench machine; each file opens its own store, so files may run side by side.
    // The limits are for what hangs: a busy machine does not decide a test.
    testTimeout: 300_000,
    hookTimeout: 300_000,
  },
});
