/** Where the bot may not speak it does nothing, and tells a steward. */
import { languageAt } from '../../../commands/framework/place-language.ts';
import { inWords, type Reply, reply, text } from '../../../commands/framework/reply.ts';
import { withLocale } from '../../../shared/language/locale.ts';
import { say, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import type { Log } from '../../environment/log.ts';
import type { Replies } from './answers.ts';
import type { Memory } from './memory.ts';
import { MATRIX } from './requester.ts';
import { powerOf, type Rooms } from './rooms.ts';

/** What waits where the bot may not speak. */
const silences = {
  spoken: say`Somebody spoke to me there.`,
  weekly: say`The weekly post waits to go there.`,
} as const;
export interface SilenceParts {
  database: Database;
  rooms: Rooms;
  memory: Memory;
  own: string;
  stewardLevel: number;
  log: Log;
  answers: Replies;
}

/** Tells a steward, once a day for each `why`, that the bot may not speak in a room. */
export type TellOfSilence = (room: string, why: keyof typeof silences, key: string) => Promise<void>;

export function tellOfSilenceOver(parts: SilenceParts): TellOfSilence {
  const { database, rooms, memory, own } = parts;
  const { privately } = parts.answers;

  /** In their direct room; false when there is none to tell. */
  const tellSteward = async (room: string, told: Reply, key: string): Promise<boolean> => {
    const state = await rooms.state(room);
    const { joined } = await rooms.membersOf(room);
    const stewards = joined
      .filter((person) => person !== own && powerOf(state, person) >= parts.stewardLevel)
      .sort((a, b) => powerOf(state, b) - powerOf(state, a));
    for (const steward of stewards.slice(0, 3))
      if ((await privately(steward, { reply: told, key })) !== null) return true;
    return false;
  };

  return async (room, why, key) => {
    if (!memory.firstTelling(`silent:${room}:${why}`, 24)) return;
    const { name } = await rooms.state(room);
    const told = withLocale(languageAt(database, MATRIX, room, ''), () =>
      inWords(
        reply({
          title: say`I may not speak in ${verbatim(name ?? room)}.`,
          tone: 'caution',
          blocks: [text(say`${silences[why]} Raise my power level, or lower the one needed for messages.`)],
        }),
      ),
    );
    if (!(await tellSteward(room, told, key)))
      parts.log('matrix', `may not speak in ${room}, and no steward can be told`);
  };
}
