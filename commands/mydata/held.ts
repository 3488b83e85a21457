/** What the bot holds about the asker, counted and in words. */
import { z } from 'zod';
import { say, translated } from '../../shared/language/say.ts';
import { type Held, type HeldKind, heldKinds } from '../../shared/store/index.ts';
import { table } from '../framework/reply.ts';

export const counts = z.record(z.enum(heldKinds), z.number().int());

export const kindWords: Readonly<Record<HeldKind, string>> = {
  person: 'Your row among the people here',
  notes: 'Private notes',
  choices: 'Choices offered to you',
  'link-words': 'Words that tie places together',
  jobs: 'Jobs that you opened or hold',
  'job-entries': 'Entries in jobs, struck out ones too',
  'phone-events': 'What you said of the state of a phone',
  prices: 'Prices seen',
  'swap-reports': 'Swap reports',
  traces: 'Traces under your name',
  'trace-steps': 'Steps in traces under your name',
  named: 'Other records under your name',
};
/** Those that go with an erasure; the rest stays without name and key. */
export const going: readonly HeldKind[] = ['person', 'notes', 'choices', 'link-words'];

export const countsOf = ({ rows }: Held): z.infer<typeof counts> =>
  counts.parse(Object.fromEntries(heldKinds.map((kind) => [kind, rows[kind].length])));

export const heldTable = ({ rows }: Held) =>
  table(
    [say`What`, say`>How many`],
    heldKinds.map((kind) => [translated(kindWords[kind]), String(rows[kind].length)]),
  );
