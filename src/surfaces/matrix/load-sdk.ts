/** Loads matrix-bot-sdk without the native encryption library that it asks for: encryption is done beside it. */
import { createRequire, Module } from 'node:module';
import type * as Sdk from 'matrix-bot-sdk';
import { requestOverFetch } from './http.ts';

const NATIVE = '@matrix-org/matrix-sdk-crypto-nodejs';

let loaded: typeof Sdk | undefined;

/**
 * The SDK imports its native library at once, whose install script would fetch a binary; package.json puts another package
 * in its place. An empty module stands for it here, so that nothing of either is run: it is used with a crypto store only.
 */
export function loadSdk(): typeof Sdk {
  if (loaded) return loaded;
  const require = createRequire(import.meta.url);
  const nativePath = createRequire(require.resolve('matrix-bot-sdk')).resolve(NATIVE);
  const empty = new Module(nativePath);
  empty.exports = {};
  empty.loaded = true;
  require.cache[nativePath] = empty;
  const sdk: typeof Sdk = require('matrix-bot-sdk');
  // What it logs by itself may hold what people said; the surface says what matters in its own words.
  const quiet = () => {};
  sdk.LogService.setLogger({ info: quiet, warn: quiet, error: quiet, debug: quiet, trace: quiet });
  sdk.setRequestFn(requestOverFetch);
  loaded = sdk;
  return loaded;
}
