/** `/shelf add`: a part that was bought, found or ordered. */
import { partGrades } from '../../knowledge/schema.ts';
import { counted, plain, say } from '../../shared/language/say.ts';
import { pairingOf } from '../../shared/pairing/pairing.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import {
  choiceOption,
  dateOption,
  integerOption,
  lookupOption,
  moneyOption,
  optional,
  textOption,
} from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { jobMeant, jobOption } from '../shared/find-job.ts';
import { components, modelsAndFamilies } from '../shared/lookups.ts';
import { mustHave } from '../shared/must-have.ts';
import { phoneOf } from '../shared/phone.ts';
import { componentName } from '../shared/words.ts';
import {
  conditionOf,
  partDataOf,
  partHeading,
  placeOption,
  shelfData,
  today,
  whereWords,
} from './options.ts';

export const shelfAdd = defineAction({
  summary: say`Put a part on the shelf, or write down that it is on order`,
  who: 'member',
  options: {
    component: lookupOption({ summary: say`What it is`, example: 'battery', lookup: components }),
    of: lookupOption({
      summary: say`The model it is for, or a family`,
      example: 'Orrin K3',
      lookup: modelsAndFamilies,
    }),
    grade: choiceOption({ summary: say`The grade of the part`, example: 'copy', choices: partGrades }),
    price: optional(moneyOption({ summary: say`What was paid for one`, example: '14' })),
    from: optional(textOption({ summary: say`Who sold it`, example: 'the Saturday market', max: 80 })),
    place: placeOption,
    due: optional(dateOption({ summary: say`On order: the day it is due`, example: '2026-03-09' })),
    count: optional(integerOption({ summary: say`How many of them`, example: '2', min: 1, max: 20 })),
    tested: optional(
      choiceOption({ summary: say`Somebody has seen it work`, example: 'yes', choices: ['yes', 'no'] }),
    ),
    job: { ...jobOption, summary: say`The job whose phone it came out of` },
  },
  examples: [
    '/shelf add battery of:"Orrin K3" grade:copy price:14 place:"drawer B" count:2',
    '/shelf add "display assembly" of:"Orrin K3" grade:used price:40 due:2026-03-09',
  ],

  data: shelfData,
  refuses: ['missing-option'],
  run: (given, context) => {
    const { component, grade, price, from = '', place = '', due, count = 1, tested } = given;
    const { family, model } = phoneOf(context, given.of);
    mustHave(context, family, component.id, 'component');
    const donor = given.job ? jobMeant(context, given.job).number : null;
    if (due !== undefined && donor !== null) {
      throw new Refusal({
        code: 'bad-option',
        problem: say`A part out of a phone is not on order.`,
        expected: say`due: or job:`,
        option: 'due',
      });
    }
    const paired = donor !== null && pairingOf(context.knowledge, family, component.id).travels;
    const hand = { by: actorOf(context), at: context.now };
    const parts = Array.from({ length: count }, () =>
      context.store.shelf.add(
        {
          component: component.id,
          family: family.id,
          model: model?.id ?? null,
          grade,
          tested: tested === 'yes',
          price: price ?? null,
          currency: context.collective.settings.currency,
          supplier: from,
          donor,
          paired,
          place,
          due: due ?? null,
        },
        due === undefined ? 'added' : 'ordered',
        hand,
      ),
    );
    const [first] = parts;
    if (!first) throw new Error('no part was added');
    const late = due !== undefined && due < today(context);
    return reply({
      title:
        parts.length === 1
          ? plain`${partHeading(context, first)}, ${whereWords(context, first)}`
          : counted(
              parts.length,
              '{0} part is kept: {1}, {2}',
              '{0} parts are kept: {1}, {2}',
              componentName(context, component.id),
              whereWords(context, first),
            ),
      tone: late ? 'caution' : 'good',
      blocks: [
        text(
          say`${conditionOf(first)}. Traces and verdicts of this kind of phone reckon with it from now on.`,
        ),
        ...(paired
          ? [
              text(
                say`It is tied to the board that it came from: in another phone it may not work fully. /paired says what is lost.`,
              ),
            ]
          : []),
      ],
      data: { parts: parts.map((part) => partDataOf(context, part)) },
    });
  },
});
