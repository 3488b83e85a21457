import { z } from 'zod';
import { type Sql, timeColumn } from './sql.ts';

interface PersonRecord {
  key: string;
  name: string;
  seen: Date;
}

const personRow = z.object({ key: z.string(), name: z.string(), seen: timeColumn });
const DAY_MS = 24 * 3600 * 1000;

/** The name each person last went by. */
export interface People {
  get(key: string): PersonRecord | null;
  /** Those seen last first; 200 at most. */
  list(): PersonRecord[];
  /** Writes only when the name is new or a day has passed, so that looking something up writes nothing. */
  meet(key: string, name: string, now: Date): void;
}

export function peopleOf(sql: Sql, collective: number): People {
  const get = (key: string) =>
    sql.one(
      personRow,
      'SELECT key, name, seen FROM people WHERE collective = ? AND key = ?',
      collective,
      key,
    );
  return {
    get,
    list: () =>
      sql.all(
        personRow,
        'SELECT key, name, seen FROM people WHERE collective = ? ORDER BY seen DESC, name LIMIT 200',
        collective,
      ),
    meet: (key, name, now) => {
      const known = get(key);
      if (known && known.name === name && now.getTime() - known.seen.getTime() < DAY_MS) return;
      sql.run(
        `INSERT INTO people (collective, key, name, seen) VALUES (?, ?, ?, ?)
         ON CONFLICT DO UPDATE SET name = excluded.name, seen = excluded.seen`,
        collective,
        key,
        name,
        now.toISOString(),
      );
    },
  };
}
