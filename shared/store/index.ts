/** The store: one SQLite file. `openStore` gives the whole; `store.of(collective)` a view of one collective only. */
export type { Collective, CollectiveSettings } from './settings.ts';
export { defaultSettings, settingsSchema } from './settings.ts';
export type { Database, Store } from './store.ts';
export { openDatabase } from './store.ts';
