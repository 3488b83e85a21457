/** Which collective a direct room speaks for: the person's only one, or the one that was chosen. */
import type { RequestOrigin } from '../../../commands/framework/dispatch.ts';
import { inWords, reply, text } from '../../../commands/framework/reply.ts';
import { say, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Replies } from './answers.ts';
import { type MatrixRequesters, matrixKeyOf, type Turn } from './requester.ts';

/** Begins the token of a choice that means a collective. */
export const HOME = 'home:';

export interface HomesParts {
  database: Database;
  answers: Replies;
  requesters: MatrixRequesters;
}

export interface Homes {
  /** Asks which collective a direct room is for, or says that there is none. */
  askHome(turn: Turn, candidates: readonly number[]): Promise<void>;
  /** Who asks, in their collective; null when they have been asked which one it is. */
  homeOf(turn: Turn): Promise<RequestOrigin | null>;
}

export function homesOf({ database, answers, requesters }: HomesParts): Homes {
  const { inRoom, refuse, offerOf } = answers;
  const { rolesOf, askedIn } = requesters;

  const askHome: Homes['askHome'] = async (turn, candidates) => {
    const known = candidates.flatMap((id) => database.collectives.find(id) ?? []);
    if (!known.length) {
      await refuse(turn, {
        problem: say`I do not know you from any room yet.`,
        expected: say`to speak to me in a room of your collective first, and to be in it`,
      });
      return;
    }
    const said = inWords(
      reply({
        title: say`Which collective is this for?`,
        blocks: [text(say`I keep to it in this room. Say "home" to choose again.`)],
        choices: known.map(({ id, name }) => ({
          label: verbatim(name),
          invoke: { command: 'help', action: '', options: {} },
          token: `${HOME}${id}`,
        })),
      }),
    );
    await inRoom(turn, said, { offer: offerOf(turn.heard.sender, said) });
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
      await askHome(turn, [...roles.keys()]);
      return null;
    }
    database.channelBindings.setHome(matrixKeyOf(sender), only[0]);
    return askedIn(turn, only[0], only[1]);
  };

  return { askHome, homeOf };
}
