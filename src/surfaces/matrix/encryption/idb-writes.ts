/**
 * Sees every write to an IndexedDB of fake-indexeddb: its object stores and cursors tell of what they wrote, once the
 * transaction that it was part of is complete. The interfaces are those parts of the standard that are used here (W3C,
 * "Indexed Database API 3.0").
 */
import { IDBCursor, IDBKeyRange, IDBObjectStore } from 'fake-indexeddb';

interface Listening {
  addEventListener(type: string, listener: () => void): void;
}
interface IdbRequest extends Listening {
  readonly result: unknown;
}
export interface IdbOpenRequest extends Listening {
  readonly result: IdbDatabase;
}
interface IdbIndex {
  readonly keyPath: unknown;
  readonly unique: boolean;
  readonly multiEntry: boolean;
}
interface IdbStore {
  readonly name: string;
  readonly keyPath: unknown;
  readonly autoIncrement: boolean;
  readonly indexNames: Iterable<string>;
  readonly transaction: IdbTransaction;
  index(name: string): IdbIndex;
  createIndex(name: string, keyPath: unknown, options: object): unknown;
  put(value: unknown, key?: unknown): IdbRequest;
  add(value: unknown, key?: unknown): IdbRequest;
  delete(query: unknown): IdbRequest;
  clear(): IdbRequest;
  getAllKeys(query: unknown): IdbRequest;
}
interface IdbTransaction extends Listening {
  readonly db: IdbDatabase;
  objectStore(name: string): IdbStore;
}
export interface IdbDatabase {
  readonly version: number;
  readonly objectStoreNames: Iterable<string>;
  createObjectStore(name: string, options: object): IdbStore;
  transaction(stores: readonly string[], mode: string): IdbTransaction;
  close(): void;
}
export interface IdbFactory {
  open(name: string, version?: number): IdbOpenRequest;
}
interface IdbCursor {
  readonly source: IdbStore | { readonly objectStore: IdbStore };
  readonly primaryKey: unknown;
  update(value: unknown): IdbRequest;
  delete(): IdbRequest;
}

export interface Writes {
  put(store: string, key: unknown, value: unknown): void;
  remove(store: string, key: unknown): void;
  clear(store: string): void;
}

type Step = (writes: Writes) => void;

const watched = new WeakMap<IdbDatabase, (transaction: IdbTransaction, step: Step) => void>();

/** Collects the writes of each transaction, and tells of them in order when it is complete. */
export function writesTo(writes: Writes): (transaction: IdbTransaction, step: Step) => void {
  const pending = new WeakMap<IdbTransaction, Step[]>();
  return (transaction, step) => {
    const known = pending.get(transaction);
    if (known) {
      known.push(step);
      return;
    }
    const steps = [step];
    pending.set(transaction, steps);
    transaction.addEventListener('complete', () => {
      for (const one of steps) one(writes);
    });
  };
}

/** From now on what is written to the database is told. */
export const watchWrites = (database: IdbDatabase, notes: ReturnType<typeof writesTo>): void => {
  watched.set(database, notes);
};

const note = (store: IdbStore, step: Step): void =>
  watched.get(store.transaction.db)?.(store.transaction, step);

/** After a request that worked. */
const after = (request: IdbRequest, work: () => void): IdbRequest => {
  request.addEventListener('success', work);
  return request;
};

function watchStores(prototype: IdbStore): void {
  const { put, add, delete: remove, clear } = prototype;
  const writing = (write: IdbStore['put']): IdbStore['put'] =>
    function (this: IdbStore, value, key) {
      const request = key === undefined ? write.call(this, value) : write.call(this, value, key);
      return after(request, () => note(this, (writes) => writes.put(this.name, request.result, value)));
    };
  prototype.put = writing(put);
  prototype.add = writing(add);
  prototype.delete = function (this: IdbStore, query) {
    if (!(query instanceof IDBKeyRange))
      return after(remove.call(this, query), () => note(this, (writes) => writes.remove(this.name, query)));
    const keys = this.getAllKeys(query);
    return after(remove.call(this, query), () => {
      const gone = Array.isArray(keys.result) ? keys.result : [];
      note(this, (writes) => {
        for (const key of gone) writes.remove(this.name, key);
      });
    });
  };
  prototype.clear = function (this: IdbStore) {
    return after(clear.call(this), () => note(this, (writes) => writes.clear(this.name)));
  };
}

const storeOf = ({ source }: IdbCursor): IdbStore => ('objectStore' in source ? source.objectStore : source);

function watchCursors(prototype: IdbCursor): void {
  const { update, delete: remove } = prototype;
  prototype.update = function (this: IdbCursor, value) {
    const [store, key] = [storeOf(this), this.primaryKey];
    return after(update.call(this, value), () => note(store, (writes) => writes.put(store.name, key, value)));
  };
  prototype.delete = function (this: IdbCursor) {
    const [store, key] = [storeOf(this), this.primaryKey];
    return after(remove.call(this), () => note(store, (writes) => writes.remove(store.name, key)));
  };
}

// The library makes these objects itself, so that they can be followed at their prototypes only.
watchStores(IDBObjectStore.prototype);
watchCursors(IDBCursor.prototype);
