/** `/home`, where somebody may be in several collectives: which one their direct messages go to. */
import { z } from 'zod';
import { type Command, defineSimpleCommand } from '../../commands/framework/command.ts';
import type { Person } from '../../commands/framework/context.ts';
import { lookup } from '../../commands/framework/lookup.ts';
import { lookupOption, optional } from '../../commands/framework/option.ts';
import { reply, text } from '../../commands/framework/reply.ts';
import type { Collective } from '../../shared/collective/collective-settings.ts';
import { say, verbatim } from '../../shared/language/say.ts';

export interface HomeParts {
  /** The collectives that somebody was in when the platform was last asked: a command itself waits for nobody. */
  homesOf: (person: Person) => readonly Collective[];
  choose: (person: Person, collective: number) => void;
}

const homeData = z.object({
  chosen: z.number().int().nullable(),
  among: z.array(z.object({ id: z.number().int(), name: z.string() })),
});

export const homeCommand = (parts: () => HomeParts): Command =>
  defineSimpleCommand({
    name: 'home',
    summary: say`Choose the collective that your direct messages go to`,
    options: {
      collective: optional(
        lookupOption({
          summary: say`One of those you are in; all of them when left out`,
          example: 'Tin Shed',
          lookup: lookup({
            expected: say`a collective that you are in`,
            which: say`Which collective?`,
            none: (name) => say`you are in no collective called "${name}"`,
            entries: ({ person }) =>
              parts()
                .homesOf(person)
                .map(({ id, name }) => ({ id: String(id), name })),
          }),
        }),
      ),
    },
    examples: ['/home', '/home "Tin Shed"'],
    data: homeData,
    run: ({ collective }, { person }) => {
      const { homesOf, choose } = parts();
      const among = homesOf(person).map(({ id, name }) => ({ id, name }));
      const [only] = among;
      if (!collective && only && among.length === 1) {
        return reply({
          audience: 'asker',
          title: say`Your direct messages go to ${verbatim(only.name)}: you are in no other collective`,
          data: { chosen: only.id, among },
        });
      }
      if (!collective) {
        return reply({
          audience: 'asker',
          title: say`Which collective is this about?`,
          blocks: [
            text(
              say`Choose where your direct messages go, and say again what you wanted. /home changes it later.`,
            ),
          ],
          choices: among.map(({ id, name }) => ({
            label: verbatim(name),
            invoke: { command: 'home', action: '', options: { collective: String(id) } },
          })),
          data: { chosen: null, among },
        });
      }
      const chosen = Number(collective.id);
      choose(person, chosen);
      return reply({
        audience: 'asker',
        tone: 'good',
        title: say`Your direct messages go to ${verbatim(collective.name)} now`,
        blocks: [text(say`Say again what you wanted. /home changes it.`)],
        data: { chosen, among },
      });
    },
  });

/** The collective that a choice of the command is for; null for any other choice. */
export function homeOfChoice({
  command,
  options,
}: {
  command: string;
  options: Record<string, string>;
}): number | null {
  const id = Number(options.collective);
  return command === 'home' && Number.isInteger(id) ? id : null;
}
