/** Commands from the command line or standard input, without a person at a prompt. */
import type { Reply } from '../../../commands/reply.ts';
import type { Session } from '../../session.ts';
import { drawReply, type Window } from './draw.ts';
import { saveFiles } from './files.ts';

export interface ScriptParts {
  session: Session;
  json: boolean;
  window: Window;
  save: string | null;
  write: (text: string) => void;
}

const codes = { answered: 0, refused: 2, fault: 1 } as const;
/** 0 when all were answered, 1 when there was a fault, otherwise 2. */
export const exitCode = (outcomes: readonly Reply['outcome'][]): 0 | 1 | 2 =>
  outcomes.includes('fault') ? codes.fault : outcomes.includes('refused') ? codes.refused : codes.answered;

/** Runs each line; empty ones and those that begin with # are skipped. */
export async function runScript(
  lines: Iterable<string> | AsyncIterable<string>,
  { session, json, window, save, write }: ScriptParts,
): Promise<0 | 1 | 2> {
  const outcomes: Reply['outcome'][] = [];
  for await (const line of lines) {
    const text = line.trim();
    if (!text || text.startsWith('#')) continue;
    const reply = session.say(text);
    outcomes.push(reply.outcome);
    if (json) write(`${JSON.stringify(reply)}\n`);
    else write(`${outcomes.length > 1 ? '\n' : ''}${drawReply(reply, window, saveFiles(reply, save))}`);
  }
  return exitCode(outcomes);
}
