/** What a request asks for: the command and action that are meant, from a line, an invocation or a choice. */

import type { Message } from '../../shared/language/message.ts';
import { inRow, say, typed, verbatim } from '../../shared/language/say.ts';
import type { Store } from '../../shared/store/index.ts';
import { refusePlace } from './admission.ts';
import { type Action, type Command, commandPath } from './command.ts';
import type { Context } from './context.ts';
import { nearestNames } from './lookup.ts';
import { type Parsed, parseLine } from './parse.ts';
import { commandWord, isPrivate, privateCommandIn } from './private.ts';
import { Refusal } from './refusal.ts';
import type { Invocation } from './reply.ts';
import type { Request } from './request.ts';
import { joinedInvocation } from './several.ts';

/** The revision that a choice's subject has now, by the kind of subject: `trace:3`. */
const revisions: Readonly<Record<string, (store: Store, number: number) => number | undefined>> = {
  trace: (store, number) => store.traces.get(number)?.revision,
  job: (store, number) => store.jobs.get(number)?.revision,
};

/** What a choice was offered for. */
const subjectWords: Readonly<Record<string, (number: number) => Message>> = {
  trace: (number) => say`trace ${number}`,
  job: (number) => say`job ${number}`,
};

/** An action with its options as text, and the line that asked for it, if one did. */
export interface WantedAction extends Found {
  typed?: { line: string; parsed: Parsed };
}

export function understand(
  say: Request['say'],
  commands: readonly Command[],
  context: Context,
): WantedAction {
  if ('line' in say) {
    const hidden = context.direct ? undefined : privateCommandIn(say.line, commands);
    if (hidden) refusePlace(`/${hidden.name}`, commandWord(say.line)?.toLowerCase() === hidden.name);
    const parsed = parseLine(say.line, commands);
    return { ...actionFound(parsed, commands), typed: { line: say.line, parsed } };
  }
  const invocation = invocationMeant(say, commands, context);
  const command = commands.find(({ name }) => name === invocation.command);
  if (command && isPrivate(command) && !context.direct) refusePlace(`/${command.name}`);
  return actionFound(invocation, commands);
}

/** The command that is said, or that the choices stand for. */
export const invocationMeant = (
  say: Exclude<Request['say'], { line: string }>,
  commands: readonly Command[],
  context: Context,
): Invocation =>
  'invoke' in say
    ? say.invoke
    : joinedInvocation(
        [say.token, ...(say.also ?? [])].map((token) => resolve(token, context)),
        commands,
      );

interface Found {
  command: Command;
  name: string;
  action: Action;
  options: Readonly<Record<string, string>>;
}

/** The command and action of an invocation; refuses names and options that there are not. */
export function actionFound(invocation: Invocation, commands: readonly Command[]): Found {
  const command = commands.find(({ name }) => name === invocation.command);
  if (!command) {
    throw new Refusal({
      code: 'unknown-command',
      problem: say`There is no command ${typed(`/${invocation.command}`)}.`,
      expected: say`/help lists them`,
      nearest: nearestNames(
        invocation.command,
        commands.map(({ name }) => ({ id: name, name: `/${name}` })),
      ),
    });
  }
  const name = Object.hasOwn(command.actions, invocation.action) ? invocation.action : undefined;
  const action = name === undefined ? undefined : command.actions[name];
  if (name === undefined || !action) {
    throw new Refusal({
      code: 'unknown-action',
      problem: say`${typed(`/${command.name}`)} has no action "${verbatim(invocation.action)}".`,
      expected: say`one of ${inRow(Object.keys(command.actions).map(typed))}`,
    });
  }
  const known = Object.keys(action.options);
  const unknown = Object.keys(invocation.options).find((option) => !known.includes(option));
  if (unknown !== undefined) {
    throw new Refusal({
      code: 'unknown-option',
      problem: say`${typed(commandPath(command, name))} has no option "${verbatim(unknown)}".`,
      expected: known.length ? say`one of ${inRow(known.map(typed))}` : say`no options`,
    });
  }
  return { command, name, action, options: invocation.options };
}

/** What a saved choice runs; refuses one that is gone, somebody else's, or out of date. */
function resolve(token: string, { store, person, now }: Context): Invocation {
  const choice = store.choices.take(token, now);
  if (!choice) {
    throw new Refusal({
      code: 'stale-choice',
      problem: say`That choice is no longer here.`,
      expected: say`the command itself, or a newer choice`,
    });
  }
  if (choice.person !== null && choice.person !== person.key) {
    throw new Refusal({
      code: 'not-allowed',
      problem: say`That choice is for somebody else.`,
      expected: say`the command in your own name`,
    });
  }
  if (choice.subject !== null && choice.revision !== null) {
    const [kind = '', number = ''] = choice.subject.split(':');
    if (revisions[kind]?.(store, Number(number)) !== choice.revision) {
      throw new Refusal({
        code: 'stale-choice',
        problem: say`That choice is out of date: ${subjectWords[kind]?.(Number(number)) ?? verbatim(choice.subject)} has moved on since it was offered.`,
        expected: say`the newest choices`,
        example: `/${kind} show ${number}`,
      });
    }
  }
  return choice.invoke;
}
