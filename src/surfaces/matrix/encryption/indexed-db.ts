/**
 * The IndexedDB that the encryption library keeps its keys in: in memory (fake-indexeddb), and written to the store, sealed,
 * each time `flush` is called. What a transaction wrote counts from its end on; what was given up does not.
 */
import { createHash } from 'node:crypto';
import { deserialize, serialize } from 'node:v8';
import { IDBFactory } from 'fake-indexeddb';
import { z } from 'zod';
import type { SealedRecords } from '../../../../shared/store/index.ts';
import { type ChangeLog, changeLog } from './change-log.ts';
import {
  type IdbDatabase,
  type IdbFactory,
  type IdbOpenRequest,
  watchWrites,
  writesTo,
} from './idb-writes.ts';

export interface SealedIndexedDb {
  factory: IdbFactory;
  /** Writes what has changed to the store. */
  flush(): void;
}

const keyPath = z.union([z.string(), z.array(z.string())]);
const shapeSchema = z.object({
  version: z.number(),
  stores: z.array(
    z.object({
      name: z.string(),
      keyPath: keyPath.nullable(),
      autoIncrement: z.boolean(),
      indexes: z.array(z.object({ name: z.string(), keyPath, unique: z.boolean(), multiEntry: z.boolean() })),
    }),
  ),
});
type Shape = z.infer<typeof shapeSchema>;
const recordSchema = z.object({ key: z.unknown(), value: z.unknown() });

/** The shelf on which the shapes of the databases lie. */
const SHAPES = 'shapes';
const shelfOf = (database: string, store: string): string => JSON.stringify([database, store]);
const idOf = (key: unknown): string => createHash('sha256').update(serialize(key)).digest('base64url');

const shapeOf = (database: IdbDatabase): Shape => {
  const names = [...database.objectStoreNames];
  const transaction = names.length ? database.transaction(names, 'readonly') : null;
  return shapeSchema.parse({
    version: database.version,
    stores: names.flatMap((name) => {
      const store = transaction?.objectStore(name);
      if (!store) return [];
      return {
        name,
        keyPath: store.keyPath,
        autoIncrement: store.autoIncrement,
        indexes: [...store.indexNames].map((index) => {
          const { keyPath: path, unique, multiEntry } = store.index(index);
          return { name: index, keyPath: path, unique, multiEntry };
        }),
      };
    }),
  });
};

const opened = (request: IdbOpenRequest): Promise<IdbDatabase> =>
  new Promise((resolve, reject) => {
    request.addEventListener('success', () => resolve(request.result));
    request.addEventListener('error', () => reject(new Error('a database of keys cannot be opened')));
  });

/** Makes a database as it was, with what was in it. */
async function restore(
  factory: IdbFactory,
  name: string,
  shape: Shape,
  recordsOf: (store: string) => readonly { key: unknown; value: unknown }[],
): Promise<void> {
  const request = factory.open(name, shape.version);
  request.addEventListener('upgradeneeded', () => {
    for (const { name: store, keyPath: path, autoIncrement, indexes } of shape.stores) {
      const made = request.result.createObjectStore(store, { keyPath: path, autoIncrement });
      for (const { name: index, keyPath: on, unique, multiEntry } of indexes)
        made.createIndex(index, on, { unique, multiEntry });
    }
  });
  const database = await opened(request);
  const names = shape.stores.map(({ name: store }) => store);
  if (names.length) {
    const transaction = database.transaction(names, 'readwrite');
    const done = new Promise<void>((resolve, reject) => {
      transaction.addEventListener('complete', () => resolve());
      transaction.addEventListener('abort', () => reject(new Error('kept keys cannot be taken up')));
    });
    for (const { name: store, keyPath: path } of shape.stores) {
      const target = transaction.objectStore(store);
      for (const { key, value } of recordsOf(store)) {
        if (path === null) target.put(value, key);
        else target.put(value);
      }
    }
    await done;
  }
  database.close();
}

/** Notes what is written to every database that the factory opens, and the shapes that they take. */
function watch(factory: IdbFactory, log: ChangeLog): void {
  const open = factory.open.bind(factory);
  factory.open = (name, version) => {
    const request = version === undefined ? open(name) : open(name, version);
    const notes = writesTo({
      put: (store, key, value) => log.put(shelfOf(name, store), idOf(key), serialize({ key, value })),
      remove: (store, key) => log.remove(shelfOf(name, store), idOf(key)),
      clear: (store) => log.clear(shelfOf(name, store)),
    });
    let upgraded = false;
    let before: string[] = [];
    request.addEventListener('upgradeneeded', () => {
      upgraded = true;
      before = [...request.result.objectStoreNames];
      watchWrites(request.result, notes);
    });
    request.addEventListener('success', () => {
      const database = request.result;
      watchWrites(database, notes);
      if (!upgraded) return;
      const shape = shapeOf(database);
      for (const store of before)
        if (!shape.stores.some((one) => one.name === store)) log.clear(shelfOf(name, store));
      log.put(SHAPES, name, serialize(shape));
    });
    return request;
  };
}

/** Everything kept under `space`, ready for use. Throws CannotOpen where it was sealed under a key that is not here. */
export async function openIndexedDb(records: SealedRecords, space: string): Promise<SealedIndexedDb> {
  const factory: IdbFactory = new IDBFactory();
  const kept = records.all(space);
  for (const { id: name, bytes } of kept.filter(({ shelf }) => shelf === SHAPES)) {
    const shape = shapeSchema.parse(deserialize(bytes));
    await restore(factory, name, shape, (store) =>
      kept
        .filter(({ shelf }) => shelf === shelfOf(name, store))
        .map((one) => recordSchema.parse(deserialize(one.bytes))),
    );
  }
  const log = changeLog();
  watch(factory, log);
  return { factory, flush: () => records.write(space, log.take()) };
}
