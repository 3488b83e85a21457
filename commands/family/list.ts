import { z } from 'zod';
import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { reply, table, text } from '../framework/reply.ts';
import { era, eraWords } from './reply.ts';

export const familyListData = z.object({
  families: z.array(z.object({ id: z.string(), name: z.string(), era, models: z.array(z.string()) })),
});

export const list = defineAction({
  summary: 'List the families, and the models named as each',
  options: {},
  examples: ['/family list'],
  run: (_, { knowledge, store }) => {
    const named = store.models.list();
    const rows = [...knowledge.families.values()].map((family) => ({
      family,
      models: named.filter((model) => model.family === family.id).map(({ name }) => name),
    }));
    return reply({
      title: say`${rows.length} families`,
      blocks: [
        table(
          [say`Family`, say`Called`, say`Built`, say`Your models`],
          rows.map((row) => [row.family.name, row.family.id, eraWords(row.family), row.models.join(', ')]),
        ),
        text(say`Name a model: /family name "Orrin K3" as: and one of these.`),
      ],
      data: {
        families: rows.map(({ family: { id, name, era }, models }) => ({ id, name, era, models })),
      } satisfies z.infer<typeof familyListData>,
    });
  },
});
