/** A file of this machine that a line names as the value of an option: `file:@PATH`. */
import { readFileSync, statSync } from 'node:fs';
import type { Command } from '../../../commands/framework/command.ts';
import { type Parsed, parseLine } from '../../../commands/framework/parse.ts';
import { Refusal } from '../../../commands/framework/refusal.ts';
import type { Invocation } from '../../../commands/framework/reply.ts';
import type { Message } from '../../../shared/language/message.ts';
import { plain, say, verbatim } from '../../../shared/language/say.ts';

const FILE_LIMIT = 2_000_000;

/** A file that was named as `file:@PATH`, as text. */
function readTextFile(path: string): string {
  const refuse = (problem: Message): never => {
    throw new Refusal({
      code: 'bad-option',
      problem: plain`${verbatim(path)}: ${problem}.`,
      expected: say`a text file in UTF-8 of at most 2 MB`,
    });
  };
  try {
    const { size } = statSync(path);
    if (size > FILE_LIMIT) refuse(say`${size} bytes are too many`);
    return new TextDecoder('utf-8', { fatal: true }).decode(readFileSync(path));
  } catch (error) {
    if (error instanceof Refusal) throw error;
    return refuse(error instanceof TypeError ? say`it is not UTF-8 text` : say`it cannot be read`);
  }
}

/** Null for a line that the dispatcher will refuse, and say why. */
function readable(line: string, commands: readonly Command[]): Parsed | null {
  try {
    return parseLine(line, commands);
  } catch (error) {
    if (error instanceof Refusal) return null;
    throw error;
  }
}

/** The line as an invocation, where an option of it is a file on this machine. */
export function withFiles(line: string, commands: readonly Command[]): Invocation | null {
  if (!line.includes('@')) return null;
  const parsed = readable(line, commands);
  if (!parsed) return null;
  const options = commands.find(({ name }) => name === parsed.command)?.actions[parsed.action]?.options ?? {};
  const files = Object.entries(parsed.options).filter(
    ([name, text]) => options[name]?.wire.type === 'file' && text.startsWith('@'),
  );
  if (!files.length) return null;
  const read = Object.fromEntries(files.map(([name, text]) => [name, readTextFile(text.slice(1))]));
  return { command: parsed.command, action: parsed.action, options: { ...parsed.options, ...read } };
}
