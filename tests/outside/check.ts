/**
 * A check against the outside: one published value, the document it stands in, and the part of the bot that is held to it.
 * Run by vitest it is a test; while `gather` imports the files it only puts itself down, for the list in README.md.
 */
import { test } from 'vitest';
import { type Checked, sourceOf } from './sources.ts';

export interface OutsideCheck {
  /** Group and number: `imei-03`. One value, one id. */
  id: string;
  /** What is checked. */
  what: string;
  /** The value as published, or as it follows from the rule. */
  value: string;
  /** Ids in `sources.ts`; `practice` is common practice, no source. The first one is where the value stands. */
  source: string | readonly [string, ...string[]];
  /** The place in the source. */
  at?: string;
  /** How the value itself is known, where that differs from its source: `computed` is worked out from the source's rule. */
  known?: Checked;
  /** What is held to it: a file, or a command. */
  where: string;
}

/** Checks put down so far, in order. */
const listed: OutsideCheck[] = [];
let listing = false;

/** The ids of a check's sources. */
export const sourcesOf = ({ source }: OutsideCheck): readonly string[] =>
  typeof source === 'string' ? [source] : source;

/** How the value is known: read, reported, from memory, computed, or practice. */
export const knownAs = (check: OutsideCheck): Checked =>
  check.known ?? sourceOf(sourcesOf(check)[0] ?? '').checked;

/** Puts a check down and, under vitest, runs it as a test. RangeError for a source that is not in the list. */
export function outside(check: OutsideCheck, run: () => void | Promise<void>): void {
  for (const id of sourcesOf(check)) sourceOf(id);
  listed.push(check);
  if (!listing) test(`${check.id} ${check.what}: ${check.value}`, run);
}

/** Imports a file for the first time and returns the checks in it, without running any. */
export async function gather(load: () => Promise<unknown>): Promise<OutsideCheck[]> {
  const before = listed.length;
  listing = true;
  try {
    await load();
  } finally {
    listing = false;
  }
  return listed.slice(before);
}
