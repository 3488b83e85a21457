/** Matrix completes nothing while one types: an option that is missing or matches nothing is asked for with choices. */

import type { Action, Command } from '../../../commands/framework/command.ts';
import { completeOption } from '../../../commands/framework/complete.ts';
import type { Context } from '../../../commands/framework/context.ts';
import type { Option } from '../../../commands/framework/option.ts';
import { parseLine } from '../../../commands/framework/parse.ts';
import { Refusal, refusalData } from '../../../commands/framework/refusal.ts';
import { type Invocation, inWords, type Reply, reply, text } from '../../../commands/framework/reply.ts';
import type { Message } from '../../../shared/language/message.ts';
import { say, typed, verbatim } from '../../../shared/language/say.ts';

/** More than these are not offered: a list that long is answered by typing. */
const MOST = 10;

export interface FormQuestion {
  /** The command as far as it was understood. */
  invoke: Invocation;
  option: string;
  title: Message;
  /** What can be picked; empty where there is nothing to pick from, and the value must be typed. */
  picks: readonly { label: string; value: string }[];
  /** What is wanted, in words. */
  expected: Message;
}

/** "Which model?" */
const whichOf = (name: string, { wire }: Option): Message =>
  wire.type === 'lookup' ? wire.lookup.which : say`Which ${typed(name.replaceAll('-', ' '))}?`;

/** Where in a list with commas the part that matches nothing stands; 0 for a value that is not a list. */
function wrongPart(
  option: Option,
  typed: string,
  context: Context,
): { parts: string[]; index: number } | null {
  const parts = option.many
    ? typed
        .split(',')
        .map((part) => part.trim())
        .filter(Boolean)
    : [typed];
  const schema = option.schema(context);
  const index = parts.findIndex((part) => !schema.safeParse(part).success);
  return index < 0 ? null : { parts, index };
}

function picksFor(
  command: Command,
  action: string,
  name: string,
  option: Option,
  typed: string | undefined,
  context: Context,
): FormQuestion['picks'] | null {
  if (typed === undefined) {
    const all = completeOption(command, action, name, '', context);
    return all.slice(0, MOST).map(({ value }) => ({ label: value, value }));
  }
  if (option.wire.type !== 'lookup' && option.wire.type !== 'choice') return null;
  const wrong = wrongPart(option, typed, context);
  if (!wrong) return null;
  const { parts, index } = wrong;
  const near = completeOption(command, action, name, parts[index] ?? '', context).slice(0, MOST);
  if (!near.length) return null;
  return near.map(({ value }) => ({ label: value, value: parts.with(index, value).join(', ') }));
}

function understood(
  said: { line: string } | { invoke: Invocation },
  commands: readonly Command[],
): Invocation | null {
  if ('invoke' in said) return said.invoke;
  try {
    return parseLine(said.line, commands);
  } catch (error) {
    if (error instanceof Refusal) return null;
    throw error;
  }
}

/** What to ask, where a refusal was about one option that can be asked for; null for any other refusal. */
export function questionAfter(
  refused: Reply,
  said: { line: string } | { invoke: Invocation },
  commands: readonly Command[],
  context: Context,
): FormQuestion | null {
  const name = refusalData.safeParse(refused.data).data?.option;
  const parsed = name ? understood(said, commands) : null;
  const command = commands.find((one) => one.name === parsed?.command);
  const action: Action | undefined = parsed ? command?.actions[parsed.action] : undefined;
  const option = name ? action?.options[name] : undefined;
  if (!name || !parsed || !command || !option || option.wire.type === 'file') return null;
  const given = parsed.options[name];
  const picks = picksFor(command, parsed.action, name, option, given, context);
  if (!picks) return null;
  return {
    invoke: { command: parsed.command, action: parsed.action, options: parsed.options },
    option: name,
    title: given === undefined ? whichOf(name, option) : say`${verbatim(refused.title)} Which did you mean?`,
    picks,
    expected: option.expected,
  };
}

/** The question as a reply; its choices are the command with each of what can be picked. */
export const questionReply = ({ title, picks, expected, option, invoke }: FormQuestion): Reply =>
  inWords(
    reply({
      title,
      blocks: [
        text(
          picks.length
            ? say`Or answer with another: ${expected}.`
            : say`Answer this message with ${expected}, and I go on from there.`,
        ),
      ],
      choices: picks.map(({ label, value }) => ({
        label: verbatim(label),
        invoke: { ...invoke, options: { ...invoke.options, [option]: value } },
      })),
    }),
  );
