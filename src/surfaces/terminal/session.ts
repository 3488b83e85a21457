/** A person at a terminal: who speaks, where, when, and what the last reply offers. */

import { randomBytes } from 'node:crypto';
import { readFileSync, statSync } from 'node:fs';
import { type Completions, completeLine } from '../../../commands/framework/complete.ts';
import { createDispatcher } from '../../../commands/framework/dispatch.ts';
import { type Parsed, parseLine } from '../../../commands/framework/parse.ts';
import { languageOf } from '../../../commands/framework/place-language.ts';
import { Refusal, refusalReply } from '../../../commands/framework/refusal.ts';
import { type Invocation, inWords, type Reply } from '../../../commands/framework/reply.ts';
import { commands } from '../../../commands/index.ts';
import type { Knowledge } from '../../../knowledge/load.ts';
import type { Language } from '../../../shared/language/locale.ts';
import type { Message } from '../../../shared/language/message.ts';
import { plain, say, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import type { Persona } from '../../environment/program-settings.ts';

export interface SessionParts {
  database: Database;
  knowledge: Knowledge;
  collective: string;
  persona: Persona;
  direct: boolean;
  /** What time it is. */
  clock: () => Date;
  log: Log;
}

export interface Session {
  /** Name of the collective. */
  collective: string;
  persona: Persona;
  direct: boolean;
  /** What time it is. */
  clock: () => Date;
  /** What the collective speaks. */
  language(): Language;
  /** A command, or a number that answers the last reply. */
  say(input: string): Reply;
  last: Reply | null;
  complete(line: string, cursor: number): Completions;
  /** Logs a fault outside of a command; gives the id that it has in the log. */
  fault(error: unknown): string;
}

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
function readable(line: string): Parsed | null {
  try {
    return parseLine(line, commands);
  } catch (error) {
    if (error instanceof Refusal) return null;
    throw error;
  }
}

/** The line as an invocation, where an option of it is a file on this machine. */
function withFiles(line: string): Invocation | null {
  if (!line.includes('@')) return null;
  const parsed = readable(line);
  if (!parsed) return null;
  const options = commands.find(({ name }) => name === parsed.command)?.actions[parsed.action]?.options ?? {};
  const files = Object.entries(parsed.options).filter(
    ([name, text]) => options[name]?.wire.type === 'file' && text.startsWith('@'),
  );
  if (!files.length) return null;
  const read = Object.fromEntries(files.map(([name, text]) => [name, readTextFile(text.slice(1))]));
  return { command: parsed.command, action: parsed.action, options: { ...parsed.options, ...read } };
}

export function createSession({
  database,
  knowledge,
  collective,
  persona,
  direct,
  clock,
  log,
}: SessionParts): Session {
  const makeId = () => randomBytes(12).toString('base64url');
  const dispatcher = createDispatcher({
    database,
    knowledge,
    commands,
    makeId,
    log,
  });
  const asked = (): Parameters<typeof dispatcher.contextFor>[0] => ({
    collective,
    person: { key: `terminal:${session.persona.name}`, ...session.persona },
    direct: session.direct,
    now: session.clock(),
  });
  const session: Session = {
    collective,
    persona,
    direct,
    clock,
    last: null,
    language: () => languageOf(database, collective),
    say: (input) => {
      const line = input.trim();
      const reply = answer(line);
      if (reply.outcome === 'answered') session.last = reply;
      return reply;
    },
    complete: (line, cursor) => completeLine(line, cursor, commands, dispatcher.contextFor(asked())),
    fault: (error) => {
      const id = makeId().slice(0, 8);
      log(id, error);
      return id;
    },
  };
  const answer = (line: string): Reply => {
    const number = /^\d{1,2}$/.test(line) ? Number(line) : null;
    if (number !== null) {
      const token = session.last?.choices[number - 1]?.token;
      if (token) return dispatcher.handle({ ...asked(), say: { token } });
      const most = session.last?.choices.length ?? 0;
      return inWords(
        refusalReply({
          code: 'stale-choice',
          problem: say`There is no choice ${number}.`,
          expected: most
            ? say`a number from 1 to ${most}, or a command`
            : say`a command; the last reply offers no choices`,
          example: '/help',
        }),
      );
    }
    try {
      const invoke = withFiles(line);
      return dispatcher.handle({ ...asked(), say: invoke ? { invoke } : { line } });
    } catch (error) {
      if (error instanceof Refusal) return inWords(refusalReply(error.detail));
      throw error;
    }
  };
  return session;
}
