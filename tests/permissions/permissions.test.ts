import { describe, expect, it } from 'vitest';
import type { Reply } from '../../commands/framework/reply.ts';
import { commands, commandsWith } from '../../commands/index.ts';
import { surfaceCommands } from '../surface-commands.ts';
import { refusalOf, type TestBot, testBot } from '../test-bot.ts';
import { cells, savedTable, tableText, titleOfCell } from './table.ts';

/** Turned away at the door: for the place, or for the role. Other refusals come after it. */
const turnedAway = (reply: Reply): boolean =>
  ['not-here', 'not-allowed'].includes(refusalOf(reply)?.code ?? '');

describe('who may say what', () => {
  it('is told in a table that is current', () => {
    expect(savedTable()).toBe(tableText());
  });

  it.each(
    cells().map(
      (cell) =>
        [
          `${titleOfCell(cell)} by a ${cell.role} in a ${cell.place}`,
          cell.allowed ? 'may' : 'may not',
          cell,
        ] as const,
    ),
  )('%s: %s', (_, __, { surface, command, name, action, role, place, allowed }) => {
    const own = surfaceCommands(() => made.database).find((one) => one.surface === surface);
    const made: TestBot = testBot({ commands: commandsWith(own?.commands ?? []) });
    const before = made.dump();
    // The option texts need not be right: who may not is turned away before they are read.
    const options = Object.fromEntries(
      Object.entries(action.options).flatMap(([option, { required, example }]) =>
        required ? [[option, example]] : [],
      ),
    );
    const reply = made.say(
      { invoke: { command: command.name, action: name, options } },
      { role, direct: place === 'direct' },
    );
    expect(turnedAway(reply)).toBe(!allowed);
    expect(reply.outcome).not.toBe('fault');
    if (!allowed) {
      expect(made.dump()).toEqual(before);
      expect(reply.audience).toBe('asker');
    }
  });

  it('has the commands that only one surface has, and help speaks of them', () => {
    const shown = savedTable();
    for (const { surface, commands: own } of surfaceCommands()) {
      const said = testBot({ commands: commandsWith(own) }).say('/help');
      for (const { name } of own) {
        expect(shown, `${surface}`).toContain(`\`/${name}`);
        expect(said.data).toMatchObject({
          commands: expect.arrayContaining([expect.objectContaining({ name })]),
        });
      }
    }
  });

  it('has at least one thing that each role may and the one below may not', () => {
    const may = (role: string) => cells().filter((cell) => cell.role === role && cell.allowed).length;
    expect(may('visitor')).toBeGreaterThan(0);
    expect(may('member')).toBeGreaterThan(may('visitor'));
    expect(may('steward')).toBeGreaterThan(may('member'));
  });

  it('lets nobody be what they are not by the name of an option', () => {
    const made = testBot();
    const reply = made.say(
      { invoke: { command: 'setup', action: '__proto__', options: {} } },
      { role: 'visitor' },
    );
    expect(reply.outcome).toBe('refused');
    expect(commands.every(({ actions }) => !Object.hasOwn(actions, '__proto__'))).toBe(true);
  });
});
