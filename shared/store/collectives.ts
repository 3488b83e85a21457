import { LRUCache } from 'lru-cache';
import { z } from 'zod';
import {
  type Collective,
  type CollectiveSettings,
  defaultSettings,
  settingsSchema,
} from '../collective/collective-settings.ts';
import { nameKey } from './name-key.ts';
import { jsonColumn, type Sql } from './sql.ts';

const columns = 'id, name, settings';
/** Settings as last read, by their text: they are read several times with every request. Frozen, since they are shared. */
const readBefore = new LRUCache<string, CollectiveSettings>({ max: 500 });
const collectiveRow = z.object({
  id: z.number().int(),
  name: z.string(),
  settings: jsonColumn(settingsSchema.readonly(), readBefore),
});

export interface Collectives {
  /** By id, or by name with case, spaces and hyphens ignored. */
  find(idOrName: number | string): Collective | null;
  /** Throws when the name is taken. Settings not given have their defaults. */
  create(name: string, settings?: Partial<CollectiveSettings>): Collective;
  list(): Collective[];
  saveSettings(id: number, settings: CollectiveSettings): void;
}

export const collectivesOf = (sql: Sql): Collectives => ({
  find: (idOrName) =>
    typeof idOrName === 'number'
      ? sql.one(collectiveRow, `SELECT ${columns} FROM collectives WHERE id = ?`, idOrName)
      : sql.one(collectiveRow, `SELECT ${columns} FROM collectives WHERE name_key = ?`, nameKey(idOrName)),
  create: (name, settings = {}) => {
    const made = sql.one(
      collectiveRow,
      `INSERT INTO collectives (name, name_key, settings) VALUES (?, ?, ?) RETURNING ${columns}`,
      name.trim(),
      nameKey(name),
      JSON.stringify(settingsSchema.parse({ ...defaultSettings, ...settings })),
    );
    if (!made) throw new Error(`collective ${name} was not made`);
    return made;
  },
  list: () => sql.all(collectiveRow, `SELECT ${columns} FROM collectives ORDER BY id`),
  saveSettings: (id, settings) => {
    const changed = sql.run(
      'UPDATE collectives SET settings = ? WHERE id = ?',
      JSON.stringify(settingsSchema.parse(settings)),
      id,
    );
    if (!changed) throw new Error(`there is no collective ${id}`);
  },
});
