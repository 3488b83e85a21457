/** A file of this machine that a line names as the value of an option: `file:@PATH`. */
import { readFileSync, statSync } from 'node:fs';
import type { Command } from '../../../commands/framework/command.ts';
import { type Parsed, parseLine } from '../../../commands/framework/parse.ts';
import { Refusal } from '../../../commands/framework/refusal.ts';
import type { Invocation } from '../../../commands/framework/reply.ts';
import { MOST_FILE_BYTES, MOST_FILE_WORDS, textOfBytes } from '../../../shared/csv/text-file.ts';
import type { Message } from '../../../shared/language/message.ts';
import { plain, say, typed, verbatim } from '../../../shared/language/say.ts';
import { MOST_PHOTO_BYTES } from '../../../shared/photos/photo.ts';
import { photoText } from '../../draw/photo-text.ts';

/** A file that was named as `file:@PATH`, as text. */
function readTextFile(path: string): string {
  const refuse = (problem: Message): never => {
    throw new Refusal({
      code: 'bad-option',
      problem: plain`${verbatim(path)}: ${problem}.`,
      expected: say`a text file of at most ${typed(MOST_FILE_WORDS)}`,
    });
  };
  try {
    const { size } = statSync(path);
    if (size > MOST_FILE_BYTES) refuse(say`${size} bytes are too many`);
    return textOfBytes(readFileSync(path)) ?? refuse(say`it is not text`);
  } catch (error) {
    if (error instanceof Refusal) throw error;
    return refuse(say`it cannot be read`);
  }
}

/** A photo that was named as `file:@PATH`, drawn anew: without place, device and time. */
function readPhotoFile(path: string): string {
  const refuse = (problem: Message): never => {
    throw new Refusal({
      code: 'bad-option',
      problem: plain`${verbatim(path)}: ${problem}.`,
      expected: say`a photo, JPEG or PNG, of at most ${typed('12 MB')}`,
    });
  };
  try {
    const { size } = statSync(path);
    if (size > MOST_PHOTO_BYTES) refuse(say`${size} bytes are too many`);
    return photoText(readFileSync(path)) ?? refuse(say`it is no photo that can be read`);
  } catch (error) {
    if (error instanceof Refusal) throw error;
    return refuse(say`it cannot be read`);
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

/** With or without the sign before it: a photo is always a file; a text that is one line with a file's ending is no table. */
const isPath = (text: string, isPhoto: boolean): boolean =>
  text.startsWith('@') || (isPhoto ? text !== '' : /^[^\n,;\t]*\.[a-z\d]{1,5}$/i.test(text));

/** The line as an invocation, where an option of it is a file on this machine. */
export function withFiles(line: string, commands: readonly Command[]): Invocation | null {
  const parsed = readable(line, commands);
  if (!parsed) return null;
  const options = commands.find(({ name }) => name === parsed.command)?.actions[parsed.action]?.options ?? {};
  const isPhoto = (name: string): boolean => {
    const wire = options[name]?.wire;
    return wire?.type === 'file' && wire.photo === true;
  };
  const files = Object.entries(parsed.options).filter(
    ([name, text]) => options[name]?.wire.type === 'file' && isPath(text, isPhoto(name)),
  );
  if (!files.length) return null;
  const read = Object.fromEntries(
    files.map(([name, text]) => [
      name,
      (isPhoto(name) ? readPhotoFile : readTextFile)(text.replace(/^@/, '')),
    ]),
  );
  return { command: parsed.command, action: parsed.action, options: { ...parsed.options, ...read } };
}
