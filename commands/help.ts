import { z } from 'zod';
import { say, translated } from '../shared/language/say.ts';
import { type Command, defineSimpleCommand, usage } from './framework/command.ts';
import { nearestNames } from './framework/lookup.ts';
import { optional, textOption } from './framework/option.ts';
import { Refusal } from './framework/refusal.ts';
import { type Reply, reply, steps, table, text } from './framework/reply.ts';

export const helpData = z.object({
  commands: z.array(z.object({ name: z.string(), summary: z.string(), usage: z.array(z.string()) })),
});

function about(command: Command): Reply {
  const actions = Object.entries(command.actions);
  return reply({
    audience: 'asker',
    title: `/${command.name}: ${translated(command.summary)}`,
    blocks: actions.flatMap(([name, action]) => [
      text(
        `${usage(command, name)}${name && name === command.main ? say`\n(${name} may be left out)` : ''}`,
        actions.length > 1 ? translated(action.summary) : undefined,
      ),
      ...(Object.keys(action.options).length
        ? [
            table(
              [say`Option`, say`What it is`, say`For example`],
              Object.entries(action.options).map(([option, { summary, example, required }]) => [
                required ? option : `[${option}]`,
                translated(summary),
                example,
              ]),
            ),
          ]
        : []),
      ...(action.examples.length ? [steps(action.examples, undefined, false)] : []),
    ]),
    data: dataOf([command]),
  });
}

const dataOf = (commands: readonly Command[]) => ({
  commands: commands.map((command) => ({
    name: command.name,
    summary: command.summary,
    usage: Object.keys(command.actions).map((action) => usage(command, action)),
  })),
});

/** Help is made from the commands themselves, so it cannot fall behind them. */
export const helpFor = (commands: () => readonly Command[]): Command =>
  defineSimpleCommand({
    name: 'help',
    summary: 'What can be said, and how',
    options: {
      about: optional(textOption({ summary: 'A command, or: symptoms', example: 'worth', max: 40 })),
    },
    examples: ['/help worth', '/help symptoms'],
    run: ({ about: wanted }, { knowledge }) => {
      const all = commands();
      if (!wanted) {
        return reply({
          audience: 'asker',
          title: say`What you can say`,
          blocks: [
            table(
              [say`Command`, say`What it does`],
              all.map((command) => [`/${command.name}`, translated(command.summary)]),
            ),
            text(
              say`A dead phone on the mat? Begin with /trace and what you see: /trace dead model:"Orrin K3"`,
            ),
            text(say`More on one: /help worth. The symptoms it knows: /help symptoms`),
          ],
          data: dataOf(all),
        });
      }
      const key = wanted.replace(/^\//, '').toLowerCase();
      if (key === 'symptoms') {
        return reply({
          audience: 'asker',
          title: say`${knowledge.symptoms.size} symptoms`,
          blocks: [
            table(
              [say`Symptom`, say`Also said`],
              [...knowledge.symptoms.values()].map(({ name, alias }) => [name, alias.slice(0, 3).join(', ')]),
            ),
            text(say`Several at once, with commas: /trace "dead, got wet" model:"Orrin K3"`),
          ],
          data: dataOf([]),
        });
      }
      const command = all.find(({ name }) => name === key.split(' ')[0]);
      if (command) return about(command);
      throw new Refusal({
        problem: say`There is no help about "${wanted}".`,
        expected: say`a command, or symptoms`,
        option: 'about',
        nearest: nearestNames(key, [
          ...all.map(({ name }) => ({ id: name, name })),
          { id: 'symptoms', name: 'symptoms' },
        ]),
      });
    },
  });
