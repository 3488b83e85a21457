/** Lookups: the things an option can name. One lookup feeds parsing, completion and "did you mean" on every surface. */
import Fuse from 'fuse.js';
import type { Message } from '../../shared/language/message.ts';
import { nameKey } from '../../shared/store/index.ts';
import type { Context } from './context.ts';
import type { Invocation } from './reply.ts';

export interface Named {
  id: string;
  /** In the asker's language, where it is a name of the pack. */
  name: string;
  alias?: readonly string[];
  /** What it is listed under, where a list of all is long. */
  group?: Message;
}
export interface Lookup {
  expected: Message;
  /** "Which model?" */
  which: Message;
  /** "no model is called ...". */
  none: (text: Message) => Message;
  entries: (context: Context) => readonly Named[];
  find: (text: string, entries: readonly Named[]) => Named | undefined;
  /** What is offered where nothing was said; all of it when not given. */
  offers?: (context: Context) => readonly Named[];
  /**
   * What is asked in place of a refusal where nothing is called so, or nothing was said; null where a refusal is right. With
   * `anyway` also where there are names close to it.
   */
  instead?: (text: string | undefined, context: Context, asked: AskedFor) => Invocation | null;
}
/** The command in which something was named that is not known, and by which option. */
export interface AskedFor {
  invoke: Invocation;
  option: string;
  /** Names of the options that it has. */
  options: readonly string[];
  anyway?: boolean;
}

const byName = (text: string, entries: readonly Named[]): Named | undefined => {
  const key = nameKey(text);
  return (
    entries.find((entry) => nameKey(entry.id) === key || nameKey(entry.name) === key) ??
    entries.find((entry) => entry.alias?.some((alias) => nameKey(alias) === key))
  );
};

/** No name is so long that its beginning would not tell it; the search takes a step more for each 32 characters. */
const LONGEST_SOUGHT = 32;

const closest = (text: string, entries: readonly Named[], threshold: number): Named[] =>
  new Fuse([...entries], { keys: ['name', 'alias', 'id'], threshold, ignoreLocation: true, shouldSort: true })
    .search(text.slice(0, LONGEST_SOUGHT))
    .map((hit) => hit.item);

/** Up to three names that are close to what was typed. */
export const nearestNames = (text: string, entries: readonly Named[]): string[] =>
  closest(text, entries, 0.45)
    .slice(0, 3)
    .map((entry) => entry.name);

/** At most 25 entries for what has been typed so far: those that begin with it first, then those close to it. */
export function complete(typed: string, entries: readonly Named[]): Named[] {
  const key = nameKey(typed);
  if (!key) return entries.slice(0, 25);
  const begins = entries.filter((entry) =>
    [entry.name, entry.id, ...(entry.alias ?? [])].some((name) => nameKey(name).startsWith(key)),
  );
  return [...new Set([...begins, ...closest(typed, entries, 0.35)])].slice(0, 25);
}

/** True where a name is so close to one that is there that it may be a slip. */
export const isNear = (text: string, entries: readonly Named[], threshold = 0.3): boolean =>
  closest(text, entries, threshold).length > 0;

export const lookup = (parts: Omit<Lookup, 'find'>): Lookup => ({ ...parts, find: byName });
