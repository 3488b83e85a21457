/** What a job waits for, in words. */
import type { Waiting } from '../../shared/jobs/waiting.ts';
import type { Message } from '../../shared/language/message.ts';
import { plain, say, verbatim } from '../../shared/language/say.ts';

export const waitWords = {
  part: say`a part`,
  owner: say`its owner`,
  charge: say`a cell that charges`,
  other: say`something else`,
} as const;

/** With what was said of it, in brackets. */
export const withNote = (words: Message, note: string): Message =>
  note ? plain`${words} (${verbatim(note)})` : words;

/** "waits for a part until 2026-03-09 (panel)". */
export function waitInWords({ for: what, until, note }: Pick<Waiting, 'for' | 'until' | 'note'>): Message {
  const words =
    until === null
      ? say`waits for ${waitWords[what]}`
      : say`waits for ${waitWords[what]} until ${verbatim(until)}`;
  return withNote(words, note);
}
