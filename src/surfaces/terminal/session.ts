/** A person at a terminal: who speaks, where, when, and what the last reply offers. */
import { randomBytes } from 'node:crypto';
import type { Command } from '../../../commands/framework/command.ts';
import { type Completions, completeLine } from '../../../commands/framework/complete.ts';
import { createDispatcher } from '../../../commands/framework/dispatch.ts';
import { languageOf } from '../../../commands/framework/place-language.ts';
import { Refusal, refusalReply } from '../../../commands/framework/refusal.ts';
import { inWords, type Reply } from '../../../commands/framework/reply.ts';
import type { Request, RequestOrigin } from '../../../commands/framework/request.ts';
import { joinedInvocation } from '../../../commands/framework/several.ts';
import { backOf } from '../../../commands/framework/sides.ts';
import { commandsWith } from '../../../commands/index.ts';
import { plainLine } from '../../../commands/shared/plain-line.ts';
import type { Knowledge } from '../../../knowledge/load.ts';
import type { SecretWords } from '../../../knowledge/secrets.ts';
import type { Language } from '../../../shared/language/locale.ts';
import { say } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import type { Persona } from '../../environment/program-settings.ts';
import { numbersIn } from '../choice-numbers.ts';
import { isMoreWord } from '../more-word.ts';
import { withFiles } from './line-files.ts';
import { switchCommands } from './switch.ts';

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
  /** What can be said here. */
  commands: readonly Command[];
  /** The words by which secrets are recognised. */
  secrets: SecretWords;
  complete(line: string, cursor: number): Completions;
  /** Logs a fault outside of a command; gives the id that it has in the log. */
  fault(error: unknown): string;
}

/** What a number answers when the last reply offers no such choice. */
const noChoice = (number: number, most: number): Reply =>
  inWords(
    refusalReply({
      code: 'stale-choice',
      problem: say`There is no choice ${number}.`,
      expected: most
        ? say`a number from 1 to ${most}, or a command`
        : say`a command; the last reply offers no choices`,
      example: '/help',
    }),
  );

/** What stands behind the last reply, for the same eyes. */
function behind(last: Reply | null): Reply {
  const back = last && backOf(last);
  if (back) return { ...back, audience: last.audience };
  return inWords(
    refusalReply({
      code: 'not-found',
      problem: say`Nothing more stands behind the last reply.`,
      expected: say`a command`,
      example: '/help',
    }),
  );
}

/** What choices with these numbers are as a request; the refusal where there is none with one of them. */
function choicesOf(
  choices: Reply['choices'],
  numbers: readonly number[],
  commands: readonly Command[],
): Request['say'] | Reply {
  const wrong = numbers.find((number) => choices[number - 1] === undefined);
  if (wrong !== undefined) return noChoice(wrong, choices.length);
  const chosen = numbers.flatMap((number) => choices[number - 1] ?? []);
  const [token, ...also] = chosen.flatMap((one) => one.token ?? []);
  if (token !== undefined && also.length === numbers.length - 1) return { token, also };
  // What a refusal offers is kept nowhere: it is done as if it were said.
  const invocations = chosen.map(({ invoke }) => invoke);
  return { invoke: joinedInvocation(invocations, commands) };
}

export function createSession(parts: SessionParts): Session {
  const { database, knowledge, collective, persona, direct, clock, log } = parts;
  const makeId = () => randomBytes(12).toString('base64url');
  /** Whether who speaks or where was changed just now: the choices of the reply before stay good. */
  let switched = false;
  const commands = commandsWith(
    switchCommands({
      sit: (who) => {
        session.persona = who;
        switched = true;
      },
      move: (isDirect) => {
        session.direct = isDirect;
        switched = true;
      },
    }),
  );
  const dispatcher = createDispatcher({ database, knowledge, commands, makeId, log });
  const asked = (): RequestOrigin => ({
    collective,
    person: { key: `terminal:${session.persona.name}`, ...session.persona },
    direct: session.direct,
    now: session.clock(),
  });
  const answer = (line: string): Reply => {
    if (isMoreWord(line)) return behind(session.last);
    try {
      const numbers = /^\d{1,2}$/.test(line) ? [Number(line)] : numbersIn(line);
      const together = session.last?.choices.some(({ several }) => several) ?? false;
      if (numbers && (numbers.length === 1 || together)) {
        const chosen = choicesOf(session.last?.choices ?? [], numbers, commands);
        return 'outcome' in chosen ? chosen : dispatcher.handle({ ...asked(), say: chosen });
      }
      if (line && !line.startsWith('/'))
        return dispatcher.handle({ ...asked(), say: { invoke: plainLine(line) } });
      const invoke = withFiles(line, commands);
      return dispatcher.handle({ ...asked(), say: invoke ? { invoke } : { line } });
    } catch (error) {
      if (error instanceof Refusal) return inWords(refusalReply(error.detail));
      throw error;
    }
  };
  const session: Session = {
    collective,
    persona,
    direct,
    clock,
    commands,
    secrets: knowledge.secrets,
    last: null,
    language: () => languageOf(database, collective),
    say: (input) => {
      switched = false;
      const made = answer(input.trim());
      // Help alone does not take the numbers away from what was offered before.
      const helpAlone = made.outcome === 'refused' && made.choices.every(({ aside }) => aside);
      const reply = helpAlone ? { ...made, choices: [] } : made;
      const offers = reply.outcome === 'answered' || reply.choices.length > 0;
      if (offers && !switched && !isMoreWord(input.trim())) session.last = reply;
      return reply;
    },
    complete: (line, cursor) => completeLine(line, cursor, commands, dispatcher.contextFor(asked())),
    fault: (error) => {
      const id = makeId().slice(0, 8);
      log(id, error);
      return id;
    },
  };
  return session;
}
