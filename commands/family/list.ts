import { z } from 'zod';
import { inRow, packText, say, typed, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { reply, table, text } from '../framework/reply.ts';
import { era, eraWords } from './reply.ts';

export const familyListData = z.object({
  families: z.array(z.object({ id: z.string(), era, models: z.array(z.string()) })),
});

export const familyList = defineAction({
  summary: say`List the families, and the models named as each`,
  options: {},
  examples: ['/family list'],

  data: familyListData,
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
          rows.map(({ family, models }) => [
            packText(family.name),
            typed(family.id),
            eraWords(family),
            inRow(models.map((one) => verbatim(one))),
          ]),
        ),
        text(say`Name a model: /family name "Orrin K3" as: and one of these.`),
      ],
      data: {
        families: rows.map(({ family: { id, era }, models }) => ({ id, era, models })),
      } satisfies z.infer<typeof familyListData>,
    });
  },
});
