/**
 * What was typed into a form that was refused, so that it comes back filled in. It is kept in memory for its writer alone, for a
 * quarter of an hour, and written nowhere: after a restart the form comes back empty.
 */
import { LRUCache } from 'lru-cache';

/** What stood in each field. */
type Values = Readonly<Record<string, string>>;

const KEPT_MS = 15 * 60_000;
const MOST_KEPT = 500;

export interface Drafts {
  /** The id to ask for it by. */
  keep(user: string, values: Values): string;
  /** Null where it is kept no more, or was typed by somebody else. */
  find(user: string, id: string): Values | null;
}

export function draftsOf(makeId: () => string, clock: () => Date): Drafts {
  const kept = new LRUCache<string, { user: string; values: Values; until: number }>({ max: MOST_KEPT });
  return {
    keep: (user, values) => {
      const id = makeId();
      kept.set(id, { user, values, until: clock().getTime() + KEPT_MS });
      return id;
    },
    find: (user, id) => {
      const found = kept.get(id);
      if (!found || found.user !== user) return null;
      if (found.until >= clock().getTime()) return found.values;
      kept.delete(id);
      return null;
    },
  };
}
