import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    globalSetup: ['tests/built.ts'],
    // Two cores are the smallest bench machine; each file opens its own store, so files may run side by side.
    testTimeout: 20_000,
  },
});
