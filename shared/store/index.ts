/** The store: one SQLite file. `openDatabase` gives the whole; `database.of(collective)` a view of one collective only. */
export type { SavedChoice } from './choices.ts';
export type { Collectives } from './collectives.ts';
export { type Database, ForeignFile, NewerFile, openDatabase } from './database.ts';
export type { Lessons, Taught } from './lessons.ts';
export type { ModelRecord } from './models.ts';
export { nameKey } from './name-key.ts';
export type { PersonRecord } from './people.ts';
export type { Collective, CollectiveSettings } from './settings.ts';
export { defaultSettings, settingsSchema } from './settings.ts';
export { type NewSighting, type PartGrade, partGrades, type SightingRecord } from './sightings.ts';
export type { Store } from './store.ts';
export type { SwapRecord } from './swaps.ts';
export type { TraceRecord, TraceStep } from './traces.ts';
