import { z } from 'zod';
import { say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { integerOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply } from '../framework/reply.ts';
import { needs } from '../shared/needs.ts';
import { removeWords, shownBlocks, wipeOption } from '../shared/removed.ts';
import { sightingDataOf, sightingInWords, sightingSchema } from './reply.ts';

export const pricesRemoveData = z.object({ removed: sightingSchema });

export const pricesRemove = defineAction({
  summary: say`Remove a price that you added; a steward removes any`,
  who: 'member',
  options: {
    number: integerOption({ min: 1, max: 1e9, summary: say`Its number in the list`, example: '12' }),
    wipe: wipeOption,
  },
  needs: [needs.price],
  examples: ['/prices remove 12', '/prices remove 12 wipe:yes'],

  data: pricesRemoveData,
  refuses: ['not-found'],
  run: ({ number, wipe }, context) => {
    const { store, person } = context;
    const one = store.sightings.get(number);
    if (!one) {
      throw new Refusal({
        code: 'not-found',
        option: 'number',
        problem: say`There is no price #${number} here.`,
        expected: say`a number from /prices`,
      });
    }
    if (one.by.key !== person.key && person.role !== 'steward') {
      throw new Refusal({
        code: 'not-allowed',
        option: 'number',
        problem: say`Price #${number} was added by ${verbatim(one.by.name)}.`,
        expected: say`one of your own, or to ask a steward`,
      });
    }
    store.sightings.remove(number);
    const texts = wipe && one.note ? [one.note] : [];
    const shown = texts.length
      ? removeWords(context, { texts, subject: `price:${number}`, authors: [one.by.key] })
      : {};
    return reply({
      title: say`Removed ${sightingInWords(context, one)}`,
      blocks: shownBlocks(shown),
      data: {
        removed: { ...sightingDataOf(context, one), ...(wipe ? { note: '' } : {}) },
      } satisfies z.infer<typeof pricesRemoveData>,
    });
  },
});
