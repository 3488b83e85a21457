/** The store: one SQLite file. `openDatabase` gives the whole; `database.of(collective)` a view of one collective only. */
export type { BenchReading } from './bench-readings.ts';
export { DOUBT_DAYS } from './clock-guard.ts';
export {
  copyStore,
  emptyJournalAlone,
  isAhead,
  NoStore,
  readContents,
  type StoreContents,
  syncToDisk,
  type Verified,
  verifyStore,
} from './copy.ts';
export { type Database, openDatabase } from './database.ts';
export { ForeignFile, NewerFile } from './file-version.ts';
export { type HeldKind, type HeldRow, heldKinds } from './held-rows.ts';
export type { DuePost, JobPost } from './job-posts.ts';
export { LINK_MINUTES } from './link-words.ts';
export type { ModelRecord } from './models.ts';
export { nameKey } from './name-key.ts';
export type { NoteRecord } from './notes.ts';
export { ERASED_NAME, type Held } from './person-data.ts';
export type { PhoneSubject } from './phone-events.ts';
export type { SealedRecords, ShelfChange } from './sealed-records.ts';
export { isPassing, type SealedCount, type SealedKind } from './sealed-texts.ts';
export type { Wanted } from './shelf.ts';
export type {
  MessagePlace,
  Removal,
  RemovalPlace,
} from './shown-messages.ts';
export type { NewSighting, SightingRecord } from './sightings.ts';
export type { Store } from './store.ts';
export type { SurfaceState } from './surface-state.ts';
export type { SwapRecord } from './swaps.ts';
export type { TraceRecord } from './traces.ts';
export { COPY_KEPT_DAYS, type UpgradeCopy, upgradeCopiesOf } from './upgrade-copies.ts';
export type { WeekPost } from './weeks.ts';
