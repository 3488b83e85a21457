/** Commands from the command line or standard input, without a person at a prompt. */

import type { Reply } from '../../../commands/framework/reply.ts';
import { withLocale } from '../../../shared/language/locale.ts';
import { renderFrontAsText, type Window } from '../text-render.ts';
import { saveFiles } from './files.ts';
import type { Session } from './session.ts';

export interface ScriptParts {
  session: Session;
  json: boolean;
  window: Window;
  save: string | null;
  write: (text: string) => void;
}

/** JSON leaves these as they are, and a terminal might obey them. */
const unsafe = /[\u007f-\u009f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069]/g;
const jsonLine = (value: unknown): string =>
  `${JSON.stringify(value).replace(unsafe, (one) => `\\u${one.charCodeAt(0).toString(16).padStart(4, '0')}`)}\n`;

const codes = { answered: 0, refused: 2, fault: 1 } as const;
/** 0 when all were answered, 1 when there was a fault, otherwise 2. */
const exitCode = (outcomes: readonly Reply['outcome'][]): 0 | 1 | 2 =>
  outcomes.includes('fault') ? codes.fault : outcomes.includes('refused') ? codes.refused : codes.answered;

/** Runs each line up to /quit; empty ones and those that begin with # are skipped. */
export async function runScript(
  lines: Iterable<string> | AsyncIterable<string>,
  { session, json, window, save, write }: ScriptParts,
): Promise<0 | 1 | 2> {
  const outcomes: Reply['outcome'][] = [];
  for await (const line of lines) {
    const text = line.trim();
    if (!text || text.startsWith('#')) continue;
    if (text === '/quit') break;
    await withLocale(session.language(), async () => {
      const reply = session.say(text);
      outcomes.push(reply.outcome);
      const notes = json && save === null ? [] : await saveFiles(reply, save, session.fault);
      if (json) write(jsonLine(reply));
      else write(`${outcomes.length > 1 ? '\n' : ''}${renderFrontAsText(reply, window, notes)}`);
    });
  }
  return exitCode(outcomes);
}
