import { inRow, say, verbatim } from '../../shared/language/say.ts';
import { defineSimpleCommand } from '../framework/command.ts';
import { nearestNames } from '../framework/lookup.ts';
import { choiceOption, lookupOption, optional } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { components, modelsAndFamilies } from '../shared/lookups.ts';
import { phoneOf } from '../shared/phone.ts';

import { componentReply } from './component-reply.ts';
import { pairedDataSchema } from './paired-data.ts';
import { pairingTableReply } from './table-reply.ts';

export const paired = defineSimpleCommand({
  name: 'paired',
  summary: say`What swapping a component does, and what must travel with the board`,
  options: {
    of: lookupOption({
      lookup: modelsAndFamilies,
      summary: say`A model your collective has named, or a family`,
      example: 'Orrin K3',
    }),
    component: optional(
      lookupOption({
        lookup: components,
        summary: say`One component; the whole table without it`,
        example: 'battery',
      }),
    ),
    lessons: optional(
      choiceOption({
        choices: ['all'],
        summary: say`All that is worth knowing about the component, and all law on repair there`,
        example: 'all',
      }),
    ),
  },
  examples: ['/paired "Orrin K3" component:battery', '/paired glued-front-home-sensor'],

  data: pairedDataSchema,
  run({ of, component, lessons }, context) {
    const phone = phoneOf(context, of);
    const { family } = phone;
    if (!component) return pairingTableReply(of, phone, context);
    const found = context.knowledge.components.get(component.id);
    if (found && component.id in family.components)
      return componentReply(of, phone, found, context, lessons === 'all');
    const own = components.entries(context).filter(({ id }) => id in family.components);
    throw new Refusal({
      code: 'bad-option',
      problem: say`${phone.name} has no ${verbatim(component.name)}.`,
      expected: inRow(own.map(({ name }) => verbatim(name))),
      nearest: nearestNames(component.name, own),
      option: 'component',
    });
  },
});
