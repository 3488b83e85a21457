/**
 * Who may say what, and where: the table in README.md beside this file, made from the commands themselves.
 * `npm run permissions` writes it anew.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { type Action, type Command, commandPath } from '../../commands/framework/command.ts';
import type { Role } from '../../commands/framework/context.ts';
import { commandsBySurface } from '../surface-commands.ts';

export const roles: readonly Role[] = ['visitor', 'member', 'steward'];
export const places = ['room', 'direct'] as const;
export type Place = (typeof places)[number];

export interface Cell {
  /** The surface that alone has it; null for what every surface has. */
  surface: string | null;
  command: Command;
  name: string;
  action: Action;
  role: Role;
  place: Place;
  allowed: boolean;
}

const rank = (role: Role): number => roles.indexOf(role);

/** Every command and action, by role and place. */
export const cells = (): Cell[] =>
  commandsBySurface()
    .flatMap(({ surface, commands }) => commands.map((command) => ({ surface, command })))
    .flatMap(({ surface, command }) =>
      Object.entries(command.actions).flatMap(([name, action]) =>
        roles.flatMap((role) =>
          places.map((place) => ({
            surface,
            command,
            name,
            action,
            role,
            place,
            allowed:
              rank(role) >= rank(action.who) &&
              (action.where === 'both' || (action.where === 'direct') === (place === 'direct')),
          })),
        ),
      ),
    );

/** `/worth`, `/server roles` on Discord. */
export const titleOfCell = ({ surface, command, name }: Cell): string =>
  `\`${commandPath(command, name)}\`${surface === null ? '' : surface === 'terminal' ? ' in the terminal' : ` on ${surface}`}`;

export function tableText(): string {
  const rows = new Map<string, Cell[]>();
  for (const cell of cells()) {
    const path = titleOfCell(cell);
    rows.set(path, [...(rows.get(path) ?? []), cell]);
  }
  const columns = roles.flatMap((role) => places.map((place) => `${role}, ${place}`));
  return `# Who may say what, and where

Made from the commands by \`npm run permissions\`; a test holds it current, and tries every cell. A visitor is
someone whom the platform does not know as a member. Nobody sees anything of another
collective. \`/setup change\` shows the settings to everyone and changes them for stewards alone; a price or an entry is taken away by who wrote
it or a steward: those are checked inside, and tested with their commands.

| what | ${columns.join(' | ')} |
|---|${columns.map(() => '---').join('|')}|
${[...rows]
  .map(([path, row]) => `| ${path} | ${row.map(({ allowed }) => (allowed ? 'yes' : 'no')).join(' | ')} |`)
  .join('\n')}
`;
}

export const tableFile = fileURLToPath(new URL('./README.md', import.meta.url));
export const savedTable = (): string => readFileSync(tableFile, 'utf8');

if (process.argv[1] === fileURLToPath(import.meta.url)) writeFileSync(tableFile, tableText());
