/** `/reading remove`: a reading that was wrong. */
import { z } from 'zod';
import { say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { integerOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply } from '../framework/reply.ts';
import { readingInWords } from '../shared/bench-table.ts';
import { needs } from '../shared/needs.ts';
import { removeWords, shownBlocks, wipeOption } from '../shared/removed.ts';
import { readingDataOf, readingSchema } from './reply.ts';

const readingRemoveData = z.object({ removed: readingSchema });

export const readingRemove = defineAction({
  summary: say`Take a reading that you added out of a table; a steward takes out any`,
  who: 'member',
  options: {
    number: integerOption({ min: 1, max: 1e9, summary: say`Its number in the list`, example: '4' }),
    wipe: wipeOption,
  },
  needs: [needs.reading],
  examples: ['/reading remove 4', '/reading remove 4 wipe:yes'],

  data: readingRemoveData,
  refuses: ['not-found'],
  run: ({ number, wipe }, context) => {
    const { store, person } = context;
    const one = store.benchReadings.get(number);
    if (!one)
      throw new Refusal({
        code: 'not-found',
        option: 'number',
        problem: say`There is no reading #${number} here.`,
        expected: say`a number from /reading list`,
      });
    if (one.by.key !== person.key && person.role !== 'steward')
      throw new Refusal({
        code: 'not-allowed',
        option: 'number',
        problem: say`Reading #${number} was added by ${verbatim(one.by.name)}.`,
        expected: say`one of your own, or to ask a steward`,
      });
    const removed = readingDataOf(context, one);
    const words = readingInWords(context, one);
    store.benchReadings.remove(number);
    const model = verbatim(removed.model);
    if (!wipe)
      return reply({
        title: say`Taken out: ${model}, ${words}`,
        data: { removed } satisfies z.infer<typeof readingRemoveData>,
      });
    const texts = [one.place];
    const shown = removeWords(context, { texts, subject: `reading:${number}`, authors: [one.by.key] });
    return reply({
      title: say`Taken out: reading #${number} of ${model}`,
      blocks: shownBlocks(shown),
      data: { removed: { ...removed, place: '' } } satisfies z.infer<typeof readingRemoveData>,
    });
  },
});
