/** `/as` and `/in`: who speaks at this terminal, and where. */

import { roleWords } from '../../../commands/framework/dispatch.ts';
import { refusalReply } from '../../../commands/framework/refusal.ts';
import { inWords, type Reply, reply } from '../../../commands/framework/reply.ts';
import { say, verbatim } from '../../../shared/language/say.ts';
import { personaSchema, placeSchema } from '../../environment/program-settings.ts';
import type { Session } from './session.ts';

export const isSwitch = (line: string): boolean => /^\/(as|in)(\s|$)/.test(line);

/** Switches, and what to say back; null when the line is none of the terminal's own words. */
export function switchSession(line: string, session: Session): Reply | null {
  if (!isSwitch(line)) return null;
  const [word, ...rest] = line.split(/\s+/);
  const value = rest.join(' ');
  if (word === '/as') {
    const read = personaSchema.safeParse(value);
    if (!read.success)
      return inWords(
        refusalReply({
          code: 'bad-option',
          problem: say`"${verbatim(value)}" is nobody that can be.`,
          expected: say`/as NAME or /as NAME:steward, with a name of 1 to 80 characters`,
          example: '/as Bram:steward',
        }),
      );
    session.persona = read.data;
    return inWords(
      reply({ title: say`You are ${verbatim(read.data.name)}, a ${roleWords[read.data.role]}.` }),
    );
  }
  const read = placeSchema.safeParse(value);
  if (!read.success)
    return inWords(
      refusalReply({
        code: 'bad-option',
        problem: say`"${verbatim(value)}" is no place here.`,
        expected: say`/in workshop or /in direct`,
        example: '/in direct',
      }),
    );
  session.direct = read.data === 'direct';
  return inWords(
    reply({
      title: session.direct
        ? say`You are in a direct message with the bot.`
        : say`You are in the workshop; everyone reads along.`,
    }),
  );
}
