/** How a room that belongs to no collective gets one. */

import type { Command } from '../../../commands/framework/command.ts';
import type { Dispatcher } from '../../../commands/framework/dispatch.ts';
import { parseLine } from '../../../commands/framework/parse.ts';
import { Refusal } from '../../../commands/framework/refusal.ts';
import type { Reply } from '../../../commands/framework/reply.ts';
import type { RequestOrigin } from '../../../commands/framework/request.ts';
import { render } from '../../../shared/language/render.ts';
import { say, typed, verbatim } from '../../../shared/language/say.ts';
import type { Database } from '../../../shared/store/index.ts';
import { MATRIX, type Turn } from './requester.ts';

export interface FoundingParts {
  database: Database;
  dispatcher: Dispatcher;
  clock: () => Date;
  prefix: string;
}

/** The one-time word in a line that joins a collective; undefined in any other. */
export function linkWordIn(line: string, commands: readonly Command[]): string | undefined {
  try {
    const { action, options } = parseLine(line, commands);
    return action === 'link' ? options.word : undefined;
  } catch (error) {
    if (error instanceof Refusal) return undefined;
    throw error;
  }
}

/** A new collective with the room's name, and the line said in it. When that is refused nothing is left. */
export function found(
  { database, dispatcher, clock, prefix }: FoundingParts,
  turn: Turn,
  asked: RequestOrigin,
  line: string,
  wanted: string,
): { said: Reply; notes: string[] } {
  class Undo extends Error {
    readonly said: Reply;
    constructor(said: Reply) {
      super('refused');
      this.said = said;
    }
  }
  try {
    return database.transaction(() => {
      let name = wanted;
      for (let count = 2; database.collectives.find(name); count += 1) name = `${wanted} ${count}`;
      const collective = database.collectives.create(name);
      const place = { platform: MATRIX, id: turn.room, collective: collective.id, kind: 'room' as const };
      database.channelBindings.bind(place, clock());
      const said = dispatcher.handle({
        ...asked,
        collective: collective.id,
        requestId: turn.heard.eventId,
        say: { line },
      });
      if (said.outcome !== 'answered') throw new Undo(said);
      return {
        said,
        notes: [
          render(
            say`This room is now the collective "${verbatim(name)}". ${typed(`${prefix} help`)} says what you can say.`,
          ),
        ],
      };
    });
  } catch (error) {
    if (error instanceof Undo) return { said: error.said, notes: [] };
    throw error;
  }
}
