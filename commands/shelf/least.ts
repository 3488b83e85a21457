/** `/shelf least`: how many of a part are wanted on the shelf. */
import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { integerOption, lookupOption } from '../framework/option.ts';
import { reply, text } from '../framework/reply.ts';
import { components, modelsAndFamilies } from '../shared/lookups.ts';
import { mustHave } from '../shared/must-have.ts';
import { phoneOf } from '../shared/phone.ts';
import { componentName } from '../shared/words.ts';
import { partDataOf, shelfData } from './options.ts';

export const shelfLeast = defineAction({
  summary: say`Say how many of a part should lie on the shelf; fewer are shown as low`,
  who: 'member',
  options: {
    component: lookupOption({ summary: say`What it is`, example: 'battery', lookup: components }),
    of: lookupOption({
      summary: say`The model it is for, or a family`,
      example: 'Orrin K3',
      lookup: modelsAndFamilies,
    }),
    least: integerOption({ summary: say`How many; 0 takes it back`, example: '2', min: 0, max: 50 }),
  },
  examples: ['/shelf least battery of:"Orrin K3" least:2'],

  data: shelfData,
  run: ({ component, of, least }, context) => {
    const phone = phoneOf(context, of);
    mustHave(context, phone.family, component.id, 'component');
    const model = phone.model?.id ?? null;
    const { shelf } = context.store;
    shelf.want({ component: component.id, family: phone.family.id, model, least });
    const here = shelf.list({
      component: component.id,
      family: phone.family.id,
      ...(model === null ? {} : { model }),
      states: ['here'],
    });
    return reply({
      title: least
        ? say`${componentName(context, component.id)} of ${phone.name}: ${least} wanted, ${here.length} here`
        : say`${componentName(context, component.id)} of ${phone.name}: no number is wanted any more`,
      blocks: [text(say`/shelf list says what runs low.`)],
      data: { parts: here.map((part) => partDataOf(context, part)) },
    });
  },
});
