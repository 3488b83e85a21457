/** What the bot holds about the asker, counted and in words. */

import { z } from 'zod';
import type { Message } from '../../shared/language/message.ts';
import { plain, say } from '../../shared/language/say.ts';
import { type Held, type HeldKind, heldKinds } from '../../shared/store/index.ts';
import { right, table } from '../framework/reply.ts';

export const counts = z.record(z.enum(heldKinds), z.number().int());

export const kindWords: Readonly<Record<HeldKind, Message>> = {
  person: say`Your row among the people here`,
  notes: say`Private notes`,
  choices: say`Choices offered to you`,
  'link-words': say`Words that tie places together`,
  'learned-words': say`Your own words, as you put them right`,
  jobs: say`Jobs that you opened or hold`,
  'job-entries': say`Entries in jobs, struck out ones too`,
  'phone-events': say`What you said of the state of a phone`,
  'cautions-shown': say`Cautions that you were shown whole`,
  'messages-shown': say`Which messages of the bot you alone were shown`,
  prices: say`Prices seen`,
  'swap-reports': say`Swap reports`,
  'shelf-parts': say`Parts put on the shelf`,
  'shelf-moves': say`Moves of parts`,
  'bench-readings': say`Readings in the bench's tables`,
  traces: say`Traces under your name`,
  'trace-steps': say`Steps in traces under your name`,
  photos: say`Photos that you added to jobs`,
  named: say`Other records under your name`,
};
/** Those that go with an erasure; the rest stays without name and key. */
export const going: readonly HeldKind[] = [
  'person',
  'notes',
  'choices',
  'link-words',
  'learned-words',
  'cautions-shown',
  'messages-shown',
  'photos',
];

export const countsOf = ({ rows }: Held): z.infer<typeof counts> =>
  counts.parse(Object.fromEntries(heldKinds.map((kind) => [kind, rows[kind].length])));

export const heldTable = ({ rows }: Held) =>
  table(
    [say`What`, right(say`How many`)],
    heldKinds.map((kind) => [kindWords[kind], plain`${rows[kind].length}`]),
  );
