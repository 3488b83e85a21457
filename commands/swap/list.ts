import type { Message } from '../../shared/language/message.ts';
import { packText, plain, say, verbatim } from '../../shared/language/say.ts';
import type { SwapRecord } from '../../shared/store/index.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { lookupOption, optional } from '../framework/option.ts';
import { reply, right, table, text } from '../framework/reply.ts';
import { components } from '../shared/lookups.ts';
import { swapInWords } from '../shared/pairing-notes.ts';
import { componentName, dayIn } from '../shared/words.ts';
import { swapData, swapDataOf } from './reply.ts';

const SHOWN = 20;
const swappedPhoneName = ({ store, knowledge }: Context, { model, family }: SwapRecord): Message => {
  const name = model === null ? undefined : store.models.get(model)?.name;
  return name === undefined ? packText(knowledge.families.get(family)?.name ?? family) : verbatim(name);
};

export const swapList = defineAction({
  summary: say`List the reports, newest first`,
  options: {
    component: optional(
      lookupOption({ summary: say`Of one component`, example: 'battery', lookup: components }),
    ),
  },
  examples: ['/swap list', '/swap list battery'],

  data: swapData,
  run: ({ component }, context) => {
    const found = context.store.swaps.list({
      ...(component ? { component: component.id } : {}),
      limit: SHOWN,
    });
    return reply({
      title: found.length
        ? component
          ? say`Swap reports of ${componentName(context, component.id)}`
          : say`Swap reports`
        : say`No swap report yet`,
      blocks: found.length
        ? [
            table(
              [right(say`No.`), say`Day`, say`Phone`, say`What was seen`, say`By`],
              found.map((swap) => [
                plain`${swap.number}`,
                verbatim(dayIn(context, swap.at)),
                swappedPhoneName(context, swap),
                swapInWords(context, swap),
                verbatim(swap.by.name),
              ]),
            ),
          ]
        : [text(say`Tell what a swap did: /swap battery effect:notice of:"Orrin K3" grade:used`)],
      data: swapDataOf(context, found),
    });
  },
});
