import { describe, expect, it } from 'vitest';
import { usage } from '../../commands/framework/command.ts';
import { parseLine } from '../../commands/framework/parse.ts';
import { helpData } from '../../commands/help.ts';
import { commands } from '../../commands/index.ts';
import { testBot } from '../test-bot.ts';

describe('/help', () => {
  it('lists every command there is', () => {
    const reply = testBot().say('/help');
    expect(helpData.parse(reply.data).commands).toHaveLength(commands.length);
    const table = reply.blocks.find((block) => block.kind === 'table');
    expect(table?.kind === 'table' && table.rows.map(([name]) => name)).toEqual(
      commands.map(({ name }) => `/${name}`),
    );
  });
  it.each(commands.map(({ name }) => name))('explains /%s, every option with an example', (name) => {
    const reply = testBot().say(`/help ${name}`);
    expect(reply.outcome).toBe('answered');
    const text = JSON.stringify(reply.blocks);
    const command = commands.find((one) => one.name === name);
    for (const action of Object.values(command?.actions ?? {})) {
      for (const option of Object.keys(action.options)) expect(text).toContain(option);
    }
  });
  it('lists the symptoms', () => {
    expect(testBot().say('/help symptoms').title).toMatch(/^\d+ symptoms$/);
  });
  it('refuses what it does not know, with the nearest', () => {
    expect(testBot().say('/help wurth')).toMatchObject({ outcome: 'refused', data: { nearest: ['worth'] } });
  });
});

describe('every command', () => {
  it.each(
    commands.flatMap((command) => Object.keys(command.actions).map((action) => [command, action] as const)),
  )('has a usage line and examples that parse', (command, actionName) => {
    expect(usage(command, actionName)).toMatch(/^\/[a-z]+/);
    const examples = command.actions[actionName]?.examples ?? [];
    expect(examples.length).toBeGreaterThan(0);
    for (const example of examples)
      expect(parseLine(example, commands)).toMatchObject({ command: command.name, action: actionName });
  });
});
