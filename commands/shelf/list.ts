/** `/shelf list`: what lies there, what is on order, and what is low. */
import type { Message } from '../../shared/language/message.ts';
import { counted, plain, say } from '../../shared/language/say.ts';
import { isLate, type ShelfPart } from '../../shared/shelf/part.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { lookupOption, optional } from '../framework/option.ts';
import { type DraftBlock, reply, right, steps, table, text } from '../framework/reply.ts';
import { components } from '../shared/lookups.ts';
import { phoneOf } from '../shared/phone.ts';
import { lowLines } from '../shared/shelf-part.ts';
import { componentName } from '../shared/words.ts';
import {
  conditionOf,
  ofOption,
  originWords,
  partDataOf,
  phoneOfPart,
  priceWords,
  shelfData,
  today,
  whereWords,
} from './options.ts';

const SHOWN = 40;

const partTable = (context: Context, parts: readonly ShelfPart[], heading: Message): DraftBlock =>
  table(
    [right(say`No.`), say`Part`, say`Of`, say`Condition`, right(say`Paid`), say`Where`, say`From`],
    parts.map((part) => [
      plain`${part.number}`,
      componentName(context, part.component),
      phoneOfPart(context, part),
      conditionOf(part),
      priceWords(part),
      whereWords(context, part),
      originWords(part),
    ]),
    heading,
  );

export const shelfList = defineAction({
  summary: say`List the parts on the shelf and on order: who has a panel for this?`,
  options: {
    component: optional(
      lookupOption({ summary: say`One component only`, example: 'battery', lookup: components }),
    ),
    of: ofOption,
  },
  examples: ['/shelf list', '/shelf list battery of:"Orrin K3"'],

  data: shelfData,
  run: ({ component, of }, context) => {
    const phone = of && phoneOf(context, of);
    const parts = context.store.shelf.list({
      ...(component ? { component: component.id } : {}),
      ...(phone ? { family: phone.family.id } : {}),
      ...(phone?.model ? { model: phone.model.id } : {}),
      states: ['here', 'ordered'],
      limit: SHOWN,
    });
    const here = parts.filter(({ state }) => state === 'here');
    const ordered = parts.filter(({ state }) => state === 'ordered');
    const late = ordered.filter((part) => isLate(part, today(context)));
    const low = lowLines(context);
    return reply({
      title: parts.length
        ? plain`${counted(here.length, '{0} part on the shelf', '{0} parts on the shelf')}, ${say`${ordered.length} on order`}${
            late.length ? plain`, ${say`${late.length} of them late`}` : ''
          }`
        : component
          ? say`No ${componentName(context, component.id)} on the shelf, and none on order`
          : say`The shelf is empty`,
      tone: late.length ? 'caution' : 'plain',
      blocks: [
        ...(here.length ? [partTable(context, here, say`Here`)] : []),
        ...(ordered.length ? [partTable(context, ordered, say`On order`)] : []),
        ...(low.length ? [steps(low, say`Running low`, false)] : []),
        ...(parts.length
          ? []
          : [text(say`Put a part on it: /shelf add battery of:"Orrin K3" grade:copy price:14`)]),
      ],
      choices: ordered.slice(0, 6).map((part) => ({
        label: say`Part ${part.number} arrived`,
        invoke: { command: 'shelf', action: 'arrived', options: { part: String(part.number) } },
        open: true,
      })),
      data: { parts: parts.map((part) => partDataOf(context, part)) },
    });
  },
});
