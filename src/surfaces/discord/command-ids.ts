/** Under which ids Discord has the commands registered: asked once after the login, and kept. */
import { z } from 'zod';
import { commandType, paths } from './api.ts';
import { type Rest, retry } from './rest.ts';

const registeredSchema = z.array(
  z.looseObject({ id: z.string().regex(/^\d{1,20}$/), name: z.string(), type: z.number().int() }),
);

export interface CommandIds {
  /** Asks Discord what is registered. What it does not tell is drawn as plain text. */
  load(): Promise<void>;
  /** The id of a command as it shows in a server, or in a direct message. */
  idOf(name: string, server: string | null): string | undefined;
}

export interface CommandIdsParts {
  rest: Rest;
  application: string;
  /** The servers that the bot is in. */
  servers: () => string[];
  /** Logs a fault under a new id. */
  onFault: (error: unknown) => void;
}

/** Of so many servers their own commands are asked for, where none are registered everywhere. */
const MOST_ASKED = 25;

export function commandIdsOf({ rest, application, servers, onFault }: CommandIdsParts): CommandIds {
  let everywhere: ReadonlyMap<string, string> = new Map();
  const inServer = new Map<string, ReadonlyMap<string, string>>();
  const ask = async (server: string | null): Promise<ReadonlyMap<string, string>> => {
    const answer = await retry(() => rest.get(paths.commands(application, server)));
    const chat = registeredSchema.parse(answer).filter(({ type }) => type === commandType.chat);
    return new Map(chat.map(({ name, id }) => [name, id]));
  };
  return {
    load: async () => {
      try {
        everywhere = await ask(null);
        if (everywhere.size) return;
        for (const server of servers().slice(0, MOST_ASKED)) inServer.set(server, await ask(server));
      } catch (error) {
        onFault(error);
      }
    },
    idOf: (name, server) =>
      (server === null ? undefined : inServer.get(server)?.get(name)) ?? everywhere.get(name),
  };
}
