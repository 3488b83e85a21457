import { z } from 'zod';
import { numberRow, type Sql, timeColumn } from './sql.ts';

/** `server`: a whole Discord server. `room`: one channel or room. `direct`: a room of one person and the bot. */
export const placeKinds = ['server', 'room', 'direct'] as const;
export type PlaceKind = (typeof placeKinds)[number];

/** A place on a chat platform that belongs to a collective. */
export interface Place {
  /** `discord`, `matrix`. */
  platform: string;
  /** The platform's own id. */
  id: string;
  /** Id of the collective. */
  collective: number;
  kind: PlaceKind;
  /** The weekly post goes there. */
  weekly: boolean;
  at: Date;
}

const columns = 'platform, id, collective, kind, weekly, at';
const placeRow = z.object({
  platform: z.string(),
  id: z.string(),
  collective: z.number().int(),
  kind: z.enum(placeKinds),
  weekly: z.number().transform(Boolean),
  at: timeColumn,
});
const homeRow = z.object({ collective: z.number().int() });
const stateRow = z.object({ value: z.string() });

/** What a surface must remember over a restart, as text under its own keys. */
export interface SurfaceState {
  get(surface: string, key: string): string | null;
  set(surface: string, key: string, value: string, at: Date): void;
  delete(surface: string, key: string): void;
  /** Drops what was set before an instant, for keys that begin with `prefix`; the number dropped. */
  dropBefore(surface: string, prefix: string, at: Date): number;
}

/**
 * Which place belongs to which collective, and where a person's direct messages go. It is asked before the collective is
 * known, so it is not bound to one; what people say is not in it.
 */
export interface Places {
  placeOf(platform: string, id: string): Place | null;
  /** A place that is bound already moves; its weekly post stays where it was only within its collective. */
  bind(place: Pick<Place, 'platform' | 'id' | 'collective' | 'kind'>, at: Date): Place;
  /** False when it was not bound. */
  unbind(platform: string, id: string): boolean;
  /** All places of a collective, in the order in which they were bound. */
  list(collective: number): Place[];
  /** Those that the weekly post goes to. */
  weeklyPlaces(collective: number): Place[];
  /** False when the place is not bound. */
  setWeekly(platform: string, id: string, on: boolean): boolean;
  /** The collective that a person chose for direct messages; null when they chose none. */
  homeOf(person: string): number | null;
  setHome(person: string, collective: number): void;
  /** Collectives in which a person has spoken, by id. */
  seenIn(person: string): number[];
  state: SurfaceState;
}

export function placesOf(sql: Sql): Places {
  const listWhere = (collective: number, where: string): Place[] =>
    sql.all(
      placeRow,
      `SELECT ${columns} FROM places WHERE collective = ?${where} ORDER BY at, platform, id`,
      collective,
    );
  return {
    placeOf: (platform, id) =>
      sql.one(placeRow, `SELECT ${columns} FROM places WHERE platform = ? AND id = ?`, platform, id),
    bind: ({ platform, id, collective, kind }, at) => {
      const bound = sql.one(
        placeRow,
        `INSERT INTO places (platform, id, collective, kind, weekly, at) VALUES (?, ?, ?, ?, 0, ?)
         ON CONFLICT DO UPDATE SET
           weekly = CASE WHEN collective = excluded.collective THEN weekly ELSE 0 END,
           collective = excluded.collective, kind = excluded.kind, at = excluded.at
         RETURNING ${columns}`,
        platform,
        id,
        collective,
        kind,
        at.toISOString(),
      );
      if (!bound) throw new Error(`${platform} ${id} was not bound`);
      return bound;
    },
    unbind: (platform, id) => sql.run('DELETE FROM places WHERE platform = ? AND id = ?', platform, id) === 1,
    list: (collective) => listWhere(collective, ''),
    weeklyPlaces: (collective) => listWhere(collective, ' AND weekly = 1'),
    setWeekly: (platform, id, on) =>
      sql.run('UPDATE places SET weekly = ? WHERE platform = ? AND id = ?', on ? 1 : 0, platform, id) === 1,
    homeOf: (person) =>
      sql.one(homeRow, 'SELECT collective FROM homes WHERE person = ?', person)?.collective ?? null,
    setHome: (person, collective) => {
      sql.run(
        `INSERT INTO homes (person, collective) VALUES (?, ?)
         ON CONFLICT DO UPDATE SET collective = excluded.collective`,
        person,
        collective,
      );
    },
    seenIn: (person) =>
      sql
        .all(numberRow, 'SELECT collective AS n FROM people WHERE key = ? ORDER BY collective', person)
        .map(({ n }) => n),
    state: {
      get: (surface, key) =>
        sql.one(stateRow, 'SELECT value FROM surface_state WHERE surface = ? AND key = ?', surface, key)
          ?.value ?? null,
      set: (surface, key, value, at) => {
        sql.run(
          `INSERT INTO surface_state (surface, key, value, at) VALUES (?, ?, ?, ?)
           ON CONFLICT DO UPDATE SET value = excluded.value, at = excluded.at`,
          surface,
          key,
          value,
          at.toISOString(),
        );
      },
      delete: (surface, key) => {
        sql.run('DELETE FROM surface_state WHERE surface = ? AND key = ?', surface, key);
      },
      dropBefore: (surface, prefix, at) =>
        sql.run(
          'DELETE FROM surface_state WHERE surface = ? AND substr(key, 1, length(?)) = ? AND at < ?',
          surface,
          prefix,
          prefix,
          at.toISOString(),
        ),
    },
  };
}
