/** Which collective a direct room speaks for: the person's only one, or the one that was chosen. */
import type { Role } from '../../../commands/framework/context.ts';
import type { RequestOrigin } from '../../../commands/framework/request.ts';
import { say } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Replies } from './answers.ts';
import { type MatrixRequesters, matrixKeyOf, type Turn } from './requester.ts';
import type { Runner } from './runner.ts';

export interface HomesParts {
  database: Database;
  answers: Replies;
  requesters: MatrixRequesters;
  runner: Runner;
}

export interface Homes {
  /** Who asks, in their collective; null when they have been asked which one it is. */
  homeOf(turn: Turn): Promise<RequestOrigin | null>;
}

export function homesOf({ database, answers, requesters, runner }: HomesParts): Homes {
  const { rolesOf, askedIn } = requesters;

  /** Asks which collective a direct room is for, or says that there is none. */
  const askHome = async (turn: Turn, candidates: ReadonlyMap<number, Role>): Promise<void> => {
    const [first] = candidates;
    if (!first) {
      await answers.refuse(turn, {
        code: 'no-collective',
        problem: say`I do not know you from any room yet.`,
        expected: say`to speak to me in a room of your collective first, and to be in it`,
      });
      return;
    }
    const [collective, role] = first;
    const invoke = { command: 'home', action: '', options: {} };
    await runner.run(turn, { ...(await askedIn(turn, collective, role)), unsettled: true }, { invoke });
  };

  const homeOf: Homes['homeOf'] = async (turn) => {
    const { sender } = turn.heard;
    const chosen = database.channelBindings.homeOf(matrixKeyOf(sender));
    if (chosen !== null) {
      const role = (await rolesOf(sender, chosen)).get(chosen);
      if (role) return askedIn(turn, chosen, role);
    }
    const roles = await rolesOf(sender);
    const [only] = roles;
    if (roles.size !== 1 || !only) {
      await askHome(turn, roles);
      return null;
    }
    database.channelBindings.setHome(matrixKeyOf(sender), only[0]);
    return askedIn(turn, only[0], only[1]);
  };

  return { homeOf };
}
