/**
 * The library that encrypts, `@matrix-org/matrix-sdk-crypto-wasm`: loaded when it is wanted, its binary inside its package.
 * Ids that are handed to it are used up by the call: each call gets its own.
 */

import type * as Library from '@matrix-org/matrix-sdk-crypto-wasm';
import * as standard from 'fake-indexeddb';
import type { IdbFactory } from './idb-writes.ts';

export type CryptoLibrary = typeof Library;

let loading: Promise<CryptoLibrary> | undefined;
export function loadCrypto(): Promise<CryptoLibrary> {
  loading ??= (async () => {
    const library = await import('@matrix-org/matrix-sdk-crypto-wasm');
    await library.initAsync();
    return library;
  })();
  return loading;
}

/** One at a time: the library finds its databases under a global name. */
let opening: Promise<unknown> = Promise.resolve();

/** Runs `work` while the library finds its databases in `factory`; what it opened meanwhile stays open. */
export function withIndexedDb<T>(factory: IdbFactory, work: () => Promise<T>): Promise<T> {
  const next = opening.then(async () => {
    for (const [name, value] of Object.entries(standard))
      if (name.startsWith('IDB')) Reflect.set(globalThis, name, value);
    Reflect.set(globalThis, 'indexedDB', factory);
    try {
      return await work();
    } finally {
      Reflect.deleteProperty(globalThis, 'indexedDB');
    }
  });
  opening = next.catch(() => {});
  return next;
}
