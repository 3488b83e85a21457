import { z } from 'zod';
import { counted, say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { choiceOption, lookupOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { models } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import { modelDataOf, modelSchema } from './reply.ts';

export const familyForgetData = z.object({ forgotten: modelSchema, prices: z.number().int() });

export const familyForget = defineAction({
  summary: say`Forget a model; one with prices only by a steward`,
  who: 'member',
  options: {
    model: lookupOption({ lookup: models, summary: say`The model`, example: 'Orrin K3' }),
    prices: optional(
      choiceOption({
        choices: ['remove'],
        summary: say`Say remove to take its prices away with it`,
        example: 'remove',
      }),
    ),
  },
  needs: [needs.model],
  examples: ['/family forget "Orrin K3"'],

  data: familyForgetData,
  refuses: ['wrong-state'],
  run: ({ model: wanted, prices }, context) => {
    const { store, person } = context;
    const model = store.models.get(Number(wanted.id));
    if (!model) throw new Error(`model ${wanted.id} is gone`);
    const count = store.sightings.count({ model: model.id });
    if (count && (prices !== 'remove' || person.role !== 'steward')) {
      throw new Refusal({
        code: 'wrong-state',
        option: prices ? 'prices' : 'model',
        problem: counted(count, '{1} has {0} price.', '{1} has {0} prices.', verbatim(model.name)),
        expected:
          person.role === 'steward'
            ? say`prices:remove to take them away too; /prices export keeps a copy`
            : say`to ask a steward, who can take the prices away too`,
        example: `/family forget "${model.name}" prices:remove`,
      });
    }
    store.models.remove(model.id);
    return reply({
      title: count
        ? counted(
            count,
            '{1} is forgotten, with {0} price',
            '{1} is forgotten, with {0} prices',
            verbatim(model.name),
          )
        : say`${verbatim(model.name)} is forgotten`,
      blocks: [text(say`Traces of it keep their family.`)],
      data: { forgotten: modelDataOf(model), prices: count } satisfies z.infer<typeof familyForgetData>,
    });
  },
});
