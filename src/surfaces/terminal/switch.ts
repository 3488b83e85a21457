/** `/as` and `/in`, commands of this surface alone: who speaks at this terminal, and where. */
import { z } from 'zod';
import { roleWords } from '../../../commands/framework/admission.ts';
import { type Command, defineSimpleCommand } from '../../../commands/framework/command.ts';
import { choiceOption, type Option, refuseValue } from '../../../commands/framework/option.ts';
import { reply, text } from '../../../commands/framework/reply.ts';
import { say, verbatim } from '../../../shared/language/say.ts';
import { type Persona, personaSchema, placeSchema } from '../../environment/program-settings.ts';

/** What they change. */
export interface Seat {
  sit(persona: Persona): void;
  move(direct: boolean): void;
}

const personaOption: Option<Persona, true> = {
  summary: say`A name, and :steward or :visitor behind it where they are one`,
  example: 'Bram:steward',
  required: true,
  many: false,
  free: true,
  wire: { type: 'text', max: 60, colons: true },
  expected: say`NAME or NAME:steward, with a name of 1 to 40 characters`,
  schema: () =>
    z.string().transform((text, issue) => {
      const read = personaSchema.safeParse(text);
      return read.success ? read.data : refuseValue(issue, say`"${verbatim(text)}" is nobody that can be`);
    }),
};

const asData = z.object({ name: z.string(), role: z.string() });
const inData = z.object({ where: z.string() });

export const switchCommands = (seat: Seat): readonly Command[] => [
  defineSimpleCommand({
    name: 'as',
    summary: say`Speak as somebody else, to see what they would`,
    options: { who: personaOption },
    examples: ['/as Bram', '/as Bram:steward'],
    data: asData,
    run: ({ who }) => {
      seat.sit(who);
      return reply({ title: say`You are ${verbatim(who.name)}, a ${roleWords[who.role]}.`, data: who });
    },
  }),
  defineSimpleCommand({
    name: 'in',
    summary: say`Go to the workshop, where everyone reads along, or to a direct message with the bot`,
    options: {
      where: choiceOption({
        summary: say`Which of the two`,
        example: 'direct',
        choices: placeSchema.options,
      }),
    },
    examples: ['/in workshop', '/in direct'],
    data: inData,
    run: ({ where }, { person }) => {
      seat.move(where === 'direct');
      return reply({
        ...(where === 'direct'
          ? {
              blocks: [
                text(
                  say`Whoever sits here is taken for ${verbatim(person.name)}, and reads and writes what is private to that name.`,
                ),
              ],
            }
          : {}),
        title:
          where === 'direct'
            ? say`You are in a direct message with the bot.`
            : say`You are in the workshop; everyone reads along.`,
        data: { where },
      });
    },
  }),
];
