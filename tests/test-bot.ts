/** A bench for command tests: an empty collective in memory, and a way to say things to the bot. */
import Sqlite from 'better-sqlite3';
import { z } from 'zod';
import type { Command } from '../commands/framework/command.ts';
import type { Context, Role } from '../commands/framework/context.ts';
import { createDispatcher, type Dispatcher } from '../commands/framework/dispatch.ts';
import type { RateLimit } from '../commands/framework/rate-limit.ts';
import { type RefusalData, refusalData } from '../commands/framework/refusal.ts';
import type { Reply } from '../commands/framework/reply.ts';
import type { Request } from '../commands/framework/request.ts';
import { commands as allCommands } from '../commands/index.ts';
import { inspectPack, type Knowledge, packFolder } from '../knowledge/load.ts';
import type { Collective } from '../shared/collective/collective-settings.ts';
import type { Sealer } from '../shared/sealing/sealer.ts';
import { type Database, openDatabase, type Store } from '../shared/store/index.ts';
import { testSealer } from './sealer.ts';

export interface Saying {
  /** Name of the person; "Ines" when not given. */
  as?: string;
  /** Default member. */
  role?: Role;
  direct?: boolean;
  now?: Date;
  requestId?: string;
  /** The surface has forms and menus, as Discord has. */
  forms?: boolean;
  /** The shared place it is said in, for commands that are about one. */
  place?: NonNullable<Context['place']>;
}

export interface TestBot {
  database: Database;
  dispatcher: Dispatcher;
  collective: Collective;
  store: Store;
  /** 2026-03-02 09:00 UTC, an evening in Sydney. */
  now: Date;
  /** Says a line, takes a choice by its token, or runs an invocation. */
  say(what: string | Request['say'], how?: Saying): Reply;
  /** What a command would be given. */
  context(how?: Saying): Context;
  /** Every row of every table: equal before and after what saves nothing. */
  dump(): Record<string, unknown[]>;
  /** The faults logged so far. */
  faults: { id: string; error: unknown }[];
}

let pack: Knowledge | undefined;
/** The pack that comes with the bot, as far as it can be read: whether it is whole is tested on its own. */
export function knowledge(): Knowledge {
  pack ??= inspectPack([packFolder]).knowledge;
  return pack;
}

export function testBot({
  commands = allCommands,
  knowledge: given,
  limit,
  sealer = testSealer,
}: {
  commands?: readonly Command[];
  knowledge?: Knowledge;
  limit?: RateLimit;
  sealer?: Sealer;
} = {}): TestBot {
  const database = openDatabase(':memory:', sealer);
  const collective = database.collectives.create('Tin Shed', {
    currency: 'AUD',
    region: 'AU',
    zone: 'Australia/Sydney',
  });
  let ids = 0;
  const faults: TestBot['faults'] = [];
  const dispatcher = createDispatcher({
    database,
    knowledge: given ?? knowledge(),
    commands,
    makeId: () => {
      ids += 1;
      return `id-${ids}`;
    },
    log: (id, error) => faults.push({ id, error }),
    strict: true,
    ...(limit ? { limit } : {}),
  });
  const now = new Date('2026-03-02T09:00:00Z');
  const asked = ({ as = 'Ines', role = 'member', direct = false, now: at = now, place, forms }: Saying) => ({
    collective: collective.id,
    person: { key: `terminal:${as}`, name: as, role },
    direct,
    now: at,
    ...(place ? { place } : {}),
    ...(forms ? { forms } : {}),
  });
  return {
    database,
    dispatcher,
    collective,
    store: database.of(collective),
    now,
    say: (what, how = {}) =>
      dispatcher.handle({
        ...asked(how),
        ...(how.requestId === undefined ? {} : { requestId: how.requestId }),
        say: typeof what === 'string' ? { line: what } : what,
      }),
    context: (how = {}) => dispatcher.contextFor(asked(how)),
    dump: () => dumpOf(database),
    faults,
  };
}

const tableRow = z.object({ name: z.string() });

/** Reads a copy of the file from its bytes, so that the dump itself touches nothing. */
function dumpOf(database: Database): Record<string, unknown[]> {
  const copy = new Sqlite(database.bytes());
  try {
    const tables = z
      .array(tableRow)
      .parse(copy.prepare("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name").all());
    return Object.fromEntries(
      tables.map(({ name }) => [name, copy.prepare(`SELECT * FROM "${name}" ORDER BY 1, 2`).all()]),
    );
  } finally {
    copy.close();
  }
}

/** Why a reply is a refusal; null for an answer. Throws where its data is not what a refusal's is. */
export const refusalOf = (reply: Reply): RefusalData | null =>
  reply.outcome === 'refused' ? refusalData.parse(reply.data) : null;

/** All that a reply says, for a look at its words. */
export const wordsOf = (reply: Reply): string => JSON.stringify(reply);
