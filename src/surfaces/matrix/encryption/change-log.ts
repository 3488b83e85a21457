/** What has changed since the last writing, by shelf: of many changes of one record only the last is written. */
import type { ShelfChange } from '../../../../shared/store/index.ts';

export interface ChangeLog {
  put(shelf: string, id: string, bytes: Buffer): void;
  remove(shelf: string, id: string): void;
  clear(shelf: string): void;
  /** What has changed since it was last taken. */
  take(): ReadonlyMap<string, ShelfChange>;
}

export function changeLog(): ChangeLog {
  let shelves = new Map<string, { cleared: boolean; records: Map<string, Buffer | null> }>();
  const on = (shelf: string) => {
    const found = shelves.get(shelf) ?? { cleared: false, records: new Map<string, Buffer | null>() };
    shelves.set(shelf, found);
    return found;
  };
  return {
    put: (shelf, id, bytes) => {
      on(shelf).records.set(id, bytes);
    },
    remove: (shelf, id) => {
      on(shelf).records.set(id, null);
    },
    clear: (shelf) => {
      shelves.set(shelf, { cleared: true, records: new Map() });
    },
    take: () => {
      const taken = shelves;
      shelves = new Map();
      return taken;
    },
  };
}
