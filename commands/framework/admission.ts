/** Who may run an action, and where. */

import type { Message } from '../../shared/language/message.ts';
import { say, typed } from '../../shared/language/say.ts';
import { type Action, type Command, commandPath } from './command.ts';
import type { Context, Role } from './context.ts';
import { Refusal } from './refusal.ts';

const rank: Readonly<Record<Role, number>> = { visitor: 0, member: 1, steward: 2 };
const whoWords: Readonly<Record<Role, Message>> = {
  visitor: say`everyone`,
  member: say`members of the collective`,
  steward: say`stewards of the collective`,
};
export const roleWords: Readonly<Record<Role, Message>> = {
  visitor: say`visitor`,
  member: say`member`,
  steward: say`steward`,
};

/** `exact` is false where the command was not spelt right: it may have been meant. */
export function refusePlace(path: string, exact = true): never {
  throw new Refusal({
    code: 'not-here',
    problem: exact
      ? say`${typed(path)} works in a direct message only, so that nobody else reads it.`
      : say`There is no such command; ${typed(path)}, if you meant that, works in a direct message only.`,
    expected: say`the same words in a direct message to the bot`,
  });
}

export function admit(command: Command, name: string, action: Action, context: Context): void {
  const path = commandPath(command, name);
  if (action.where === 'direct' && !context.direct) refusePlace(path);
  if (action.where === 'channel' && context.direct) {
    throw new Refusal({
      code: 'not-here',
      problem: say`${typed(path)} works in a shared room only.`,
      expected: say`the same words in a room of the collective`,
    });
  }
  if (rank[context.person.role] < rank[action.who]) {
    throw new Refusal({
      code: 'not-allowed',
      problem: say`${typed(path)} is for ${whoWords[action.who]}; you are a ${roleWords[context.person.role]} here.`,
      expected: say`to ask one of the ${whoWords[action.who]}`,
    });
  }
}
