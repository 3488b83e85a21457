/** Matrix completes nothing while one types: an option that is missing or matches nothing is asked for with choices. */

import type { Command } from '../../../commands/framework/command.ts';
import type { Context } from '../../../commands/framework/context.ts';
import { refusalData } from '../../../commands/framework/refusal.ts';
import { type Invocation, inWords, type Reply, reply, text } from '../../../commands/framework/reply.ts';
import { picksAfter, whichOf } from '../../../commands/framework/way-on.ts';
import type { Message } from '../../../shared/language/message.ts';
import { say, verbatim } from '../../../shared/language/say.ts';

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

/** What to ask, where a refusal was about one option that can be asked for; null for any other refusal. */
export function questionAfter(
  refused: Reply,
  said: { line: string } | { invoke: Invocation },
  commands: readonly Command[],
  context: Context,
): FormQuestion | null {
  const picks = picksAfter(refusalData.safeParse(refused.data).data?.option, said, commands, context);
  if (!picks) return null;
  const { invoke, name, option, given, values } = picks;
  return {
    invoke,
    option: name,
    title: given === undefined ? whichOf(name, option) : say`${verbatim(refused.title)} Which did you mean?`,
    picks: values,
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
