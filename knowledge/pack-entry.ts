/** What is read of the pack, with the places where it stands. */
import type { z } from 'zod';
import type { PackFile, packFiles } from './schema.ts';

export interface PackEntry<T> {
  value: T;
  file: string;
  /** Its place in the file's list. */
  index: number;
  /** True when it comes from the last folder. */
  top: boolean;
}
export type PackEntries = {
  [F in ListFile]: ReadonlyMap<string, PackEntry<z.infer<(typeof packFiles)[F]>[number]>>;
};

export type ListFile = Exclude<PackFile, 'regions'>;
