/** Brings what Discord has registered of this bot to what this version offers, and tells the difference. */
import { z } from 'zod';
import type { Command } from '../../../commands/framework/command.ts';
import { commandType, paths, statusOf } from './api.ts';
import {
  type CommandTranslations,
  differences,
  type RegisteredCommand,
  registrations,
  sameCommand,
} from './registration.ts';
import { type Rest, retry } from './rest.ts';

const thereSchema = z.array(z.looseObject({ id: z.string(), name: z.string(), type: z.number().int() }));
type There = z.infer<typeof thereSchema>[number];

interface Change {
  kind: 'new' | 'changed' | 'gone';
  name: string;
  /** What is different about a changed one. */
  details: string[];
}
interface Plan {
  changes: Change[];
  send: RegisteredCommand[];
  drop: There[];
  same: number;
}

const keyOf = ({ type, name }: { type: number; name: string }): string => `${type} ${name}`;
const shown = ({ type, name }: { type: number; name: string }): string =>
  type === commandType.chat ? `/${name}` : `"${name}" in the menu of a message`;

export interface RegisterParts {
  rest: Rest;
  application: string;
  commands: readonly Command[];
  /** One server alone, where changes show at once; null: everywhere. */
  server: string | null;
  translations?: CommandTranslations;
}

/** What would have to be sent. Reads from Discord, and changes nothing. */
export async function planRegistration({
  rest,
  application,
  commands,
  server,
  translations = {},
}: RegisterParts): Promise<Plan> {
  const query = new URLSearchParams({ with_localizations: 'true' });
  const there = thereSchema.parse(
    await retry(() => rest.get(paths.commands(application, server), { query })),
  );
  const wanted = registrations(commands, translations);
  const before = new Map(there.map((one) => [keyOf(one), one]));
  const plan: Plan = { changes: [], send: [], drop: [], same: 0 };
  for (const one of wanted) {
    const known = before.get(keyOf(one));
    before.delete(keyOf(one));
    if (known && sameCommand(one, known, server !== null)) plan.same += 1;
    else {
      plan.send.push(one);
      plan.changes.push({
        kind: known ? 'changed' : 'new',
        name: shown(one),
        details: known ? differences(one, known) : [],
      });
    }
  }
  for (const one of before.values()) {
    plan.drop.push(one);
    plan.changes.push({ kind: 'gone', name: shown(one), details: [] });
  }
  return plan;
}

/** Sends the plan: each command that is new or different, and takes away those that are not offered any more. */
export async function register(parts: RegisterParts): Promise<Plan> {
  const plan = await planRegistration(parts);
  const { rest, application, server } = parts;
  const path = paths.commands(application, server);
  for (const { contexts, integration_types, ...command } of plan.send) {
    // Where a server's own command shows goes without saying.
    const body = server === null ? { ...command, contexts, integration_types } : command;
    try {
      await retry(() => rest.post(path, { body }));
    } catch (error) {
      // Which of them it was is what whoever reads this wants to know.
      if (statusOf(error) !== 400) throw error;
      throw new Error(`${shown(command)}: ${error instanceof Error ? error.message : String(error)}`, {
        cause: error,
      });
    }
  }
  for (const { id } of plan.drop) await retry(() => rest.delete(`${path}/${id}`));
  return plan;
}

const signs = { new: '+', changed: '~', gone: '-' } as const;

/** The difference, a line each. */
export const planLines = ({ changes, same }: Plan): string[] => [
  ...changes.flatMap(({ kind, name, details }) => [
    `${signs[kind]} ${name}`,
    ...details.map((line) => `    ${line}`),
  ]),
  `${changes.length ? `${changes.length} to change, ` : ''}${same} as they are`,
];
