/** Loads matrix-bot-sdk, with or without its native encryption library. */
import { createRequire, Module } from 'node:module';
import type * as Sdk from 'matrix-bot-sdk';
import { z } from 'zod';

const NATIVE = '@matrix-org/matrix-sdk-crypto-nodejs';

export interface LoadedSdk {
  sdk: typeof Sdk;
  /** Null when encryption works; otherwise why it does not, in a few words. */
  withoutEncryption: string | null;
  /** The native library's number for a store in SQLite, where it is there. */
  sqliteStore: number;
}

const nativeShape = z.object({ OlmMachine: z.unknown(), StoreType: z.object({ Sqlite: z.number() }) });

let loaded: LoadedSdk | undefined;

/**
 * The SDK imports its native library at once, and the import fails as a whole where that library could not be fetched
 * when it was installed. An empty module in its place lets the SDK load; nothing of it is called without a crypto store.
 */
export function loadSdk(): LoadedSdk {
  if (loaded) return loaded;
  // Loaded when it is wanted, and not by the bundler: the native part is found beside its own package.
  const require = createRequire(import.meta.url);
  const nativePath = createRequire(require.resolve('matrix-bot-sdk')).resolve(NATIVE);
  let withoutEncryption: string | null = null;
  let sqliteStore = 0;
  try {
    sqliteStore = nativeShape.parse(require(nativePath)).StoreType.Sqlite;
  } catch {
    withoutEncryption = 'its native library is not installed';
  }
  if (withoutEncryption !== null) {
    const empty = new Module(nativePath);
    empty.exports = {};
    empty.loaded = true;
    require.cache[nativePath] = empty;
  }
  const sdk: typeof Sdk = require('matrix-bot-sdk');
  // What it logs by itself may hold what people said; the surface says what matters in its own words.
  const quiet = () => {};
  sdk.LogService.setLogger({ info: quiet, warn: quiet, error: quiet, debug: quiet, trace: quiet });
  loaded = { sdk, withoutEncryption, sqliteStore };
  return loaded;
}
