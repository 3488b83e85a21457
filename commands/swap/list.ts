import { say } from '../../shared/language/say.ts';
import type { SwapRecord } from '../../shared/store/index.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { lookupOption, optional } from '../framework/option.ts';
import { reply, table, text } from '../framework/reply.ts';
import { components } from '../shared/lookups.ts';
import { swapInWords } from '../shared/pairing-notes.ts';
import { dayIn } from '../shared/words.ts';
import { swapDataOf } from './reply.ts';

const SHOWN = 20;
const swappedPhoneName = ({ store, knowledge }: Context, { model, family }: SwapRecord): string =>
  (model === null ? null : store.models.get(model)?.name) ?? knowledge.families.get(family)?.name ?? family;

export const swapList = defineAction({
  summary: 'List the reports, newest first',
  options: {
    component: optional(
      lookupOption({ summary: 'Of one component', example: 'battery', lookup: components }),
    ),
  },
  examples: ['/swap list', '/swap list battery'],
  run: ({ component }, context) => {
    const found = context.store.swaps.list({
      ...(component ? { component: component.id } : {}),
      limit: SHOWN,
    });
    return reply({
      title: found.length
        ? say`Swap reports${component ? say` of ${component.name}` : ''}`
        : say`No swap report yet`,
      blocks: found.length
        ? [
            table(
              [say`>No.`, say`Day`, say`Phone`, say`What was seen`, say`By`],
              found.map((swap) => [
                String(swap.number),
                dayIn(context, swap.at),
                swappedPhoneName(context, swap),
                swapInWords(context, swap),
                swap.by.name,
              ]),
            ),
          ]
        : [text(say`Tell what a swap did: /swap battery effect:notice of:"Orrin K3" grade:used`)],
      data: swapDataOf(context, found),
    });
  },
});
