// placeholder until the store lands
import type { Collective } from './settings.ts';
export interface ModelRecord {
  id: number;
  name: string;
  family: string;
  launched: string | null;
  newPrice: number | null;
}
export interface Store {
  collective: Collective;
  models: { list(): ModelRecord[] };
}
export interface Database {
  of(collective: Collective): Store;
}
export declare function openDatabase(path: string): Database;
