import { z } from 'zod';
import { inRow, joined, packText, plain, say, typed, verbatim } from '../shared/language/say.ts';
import { type Action, type Command, defineSimpleCommand, usage } from './framework/command.ts';
import type { Context } from './framework/context.ts';
import { shownExamples, workable } from './framework/examples.ts';
import { nearestNames } from './framework/lookup.ts';
import { optional, textOption } from './framework/option.ts';
import { Refusal } from './framework/refusal.ts';
import { type Draft, type DraftBlock, onBack, reply, steps, table, text } from './framework/reply.ts';
import { otherNames } from './shared/words.ts';

export const helpData = z.object({
  commands: z.array(z.object({ name: z.string(), usage: z.array(z.string()) })),
});

/** A command of more actions than this has its examples on the back. */
const MOST_WHOLE = 3;

function about(command: Command, all: readonly Command[], context: Context): Draft<z.infer<typeof helpData>> {
  const actions = Object.entries(command.actions);
  return reply({
    audience: 'asker',
    title: plain`${typed(`/${command.name}`)}: ${command.summary}`,
    blocks: actions.flatMap(([name, action]) => [
      text(
        joined(
          [
            typed(usage(command, name)),
            name && name === command.main ? say`(${typed(name)} may be left out)` : '',
          ],
          '\n',
        ),
        actions.length > 1 ? action.summary : undefined,
      ),
      ...onBack(
        ...(Object.keys(action.options).length
          ? [
              table(
                [say`Option`, say`What it is`, say`For example`],
                Object.entries(action.options).map(([option, { summary, example, required }]) => [
                  typed(required ? option : `[${option}]`),
                  summary,
                  typed(example),
                ]),
              ),
            ]
          : []),
      ),
      ...exampleBlocks(action, all, context).map((block) =>
        actions.length > MOST_WHOLE ? { ...block, back: true } : block,
      ),
    ]),
    data: dataOf([command]),
  });
}

/** Its examples as they can be typed here, after what has to be said first. */
function exampleBlocks(action: Action, all: readonly Command[], context: Context): DraftBlock[] {
  const { before, examples } = shownExamples(action, all, context);
  const lines = examples.map((one) => typed(one));
  return [
    ...(before.length && lines.length
      ? [text(say`There is none here yet. First: ${inRow(before.map((one) => typed(one)))}`)]
      : []),
    ...(lines.length ? [steps(lines, undefined, false)] : []),
  ];
}

const dataOf = (commands: readonly Command[]) => ({
  commands: commands.map((command) => ({
    name: command.name,
    usage: Object.keys(command.actions).map((action) => usage(command, action)),
  })),
});

/** Help is made from the commands themselves, so it cannot fall behind them. */
export const helpFor = (commands: () => readonly Command[]): Command =>
  defineSimpleCommand({
    name: 'help',
    summary: say`What can be said, and how`,
    options: {
      about: optional(textOption({ summary: say`A command, or: symptoms`, example: 'worth', max: 40 })),
    },
    examples: ['/help worth', '/help symptoms'],

    data: helpData,
    refuses: ['not-found'],
    run: ({ about: wanted }, context) => {
      const { knowledge } = context;
      const all = commands();
      const shown = (example: string) => typed(workable(example, all, context) ?? example);
      if (!wanted) {
        return reply({
          audience: 'asker',
          title: say`What you can say`,
          blocks: [
            text(
              say`A dead phone on the mat? Begin with /trace and what you see: ${shown('/trace dead model:"Orrin K3"')}`,
            ),
            text(inRow(all.map(({ name }) => typed(`/${name}`)))),
            text(say`More on one: /help worth. The symptoms it knows: /help symptoms`),
            ...onBack(
              table(
                [say`Command`, say`What it does`],
                all.map((command) => [typed(`/${command.name}`), command.summary]),
              ),
            ),
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
              [...knowledge.symptoms.values()].map((symptom) => [
                packText(symptom.name),
                otherNames(knowledge, 'symptoms', symptom.id, symptom.alias),
              ]),
            ),
            text(say`Several at once, with commas: ${shown('/trace "dead, got wet" model:"Orrin K3"')}`),
          ],
          data: dataOf([]),
        });
      }
      const command = all.find(({ name }) => name === key.split(' ')[0]);
      if (command) return about(command, all, context);
      throw new Refusal({
        code: 'not-found',
        problem: say`There is no help about "${verbatim(wanted)}".`,
        expected: say`a command, or symptoms`,
        option: 'about',
        nearest: nearestNames(key, [
          ...all.map(({ name }) => ({ id: name, name })),
          { id: 'symptoms', name: 'symptoms' },
        ]),
      });
    },
  });
