import { z } from 'zod';
import { numberRow, type Sql, timeColumn } from './sql.ts';

/** `server`: a whole Discord server. `room`: one channel or room. `direct`: a room of one person and the bot. */
const channelKinds = ['server', 'room', 'direct'] as const;
type ChannelKind = (typeof channelKinds)[number];

/** A place on a chat platform that belongs to a collective. */
interface ChannelBinding {
  /** `discord`, `matrix`. */
  platform: string;
  /** The platform's own id. */
  id: string;
  /** Id of the collective. */
  collective: number;
  kind: ChannelKind;
  /** The weekly post goes there. */
  weekly: boolean;
  at: Date;
}

const columns = 'platform, id, collective, kind, weekly, at';
const placeRow = z.object({
  platform: z.string(),
  id: z.string(),
  collective: z.number().int(),
  kind: z.enum(channelKinds),
  weekly: z.number().transform(Boolean),
  at: timeColumn,
});
const homeRow = z.object({ collective: z.number().int() });

/**
 * Which place belongs to which collective, and where a person's direct messages go. It is asked before the collective is
 * known, so it is not bound to one; what people say is not in it.
 */
export interface ChannelBindings {
  bindingOf(platform: string, id: string): ChannelBinding | null;
  /** A place that is bound already moves; its weekly post stays where it was only within its collective. */
  bind(place: Pick<ChannelBinding, 'platform' | 'id' | 'collective' | 'kind'>, at: Date): ChannelBinding;
  /** False when it was not bound. */
  unbind(platform: string, id: string): boolean;
  /** All places of a collective, in the order in which they were bound. */
  list(collective: number): ChannelBinding[];
  /** Those that the weekly post goes to. */
  weeklyBindings(collective: number): ChannelBinding[];
  /** False when the place is not bound. */
  setWeekly(platform: string, id: string, on: boolean): boolean;
  /** The collective that a person chose for direct messages; null when they chose none. */
  homeOf(person: string): number | null;
  setHome(person: string, collective: number): void;
  /** Collectives in which a person has spoken, by id. */
  seenIn(person: string): number[];
}

export function channelBindingsOf(sql: Sql): ChannelBindings {
  const listWhere = (collective: number, where: string): ChannelBinding[] =>
    sql.all(
      placeRow,
      `SELECT ${columns} FROM places WHERE collective = ?${where} ORDER BY at, platform, id`,
      collective,
    );
  return {
    bindingOf: (platform, id) =>
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
    weeklyBindings: (collective) => listWhere(collective, ' AND weekly = 1'),
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
  };
}
