/** `/swap wipe`: the words of a report are removed for good; what was seen still counts. */
import { z } from 'zod';
import { say } from '../../shared/language/say.ts';
import type { SwapRecord } from '../../shared/store/index.ts';
import { defineAction } from '../framework/command.ts';
import { integerOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { needs } from '../shared/needs.ts';
import { wiped, wordsToWipe } from '../shared/wipe-words.ts';

const swapWipedData = z.object({ wiped: z.object({ report: z.number().int() }) });

const writtenIn = ({ saw, mended, by, aside }: SwapRecord) => [
  { field: 'saw' as const, text: saw, by },
  { field: 'mended' as const, text: mended, by },
  ...(aside ? [{ field: 'aside_why' as const, text: aside.why, by: aside.by }] : []),
];

export const swapWipe = defineAction({
  summary: say`Remove your words in a report for good, with every copy here; a steward removes all`,
  who: 'member',
  options: {
    report: integerOption({ summary: say`Its number, from /swap list`, example: '3', min: 1, max: 1e9 }),
  },
  needs: [needs.swapReport],
  examples: ['/swap wipe 3'],

  data: swapWipedData,
  refuses: ['not-found', 'wrong-state'],
  run: ({ report: number }, context) => {
    const { store } = context;
    const found = store.swaps.get(number);
    if (!found)
      throw new Refusal({
        code: 'not-found',
        problem: say`There is no report ${number} here.`,
        expected: say`a number from /swap list`,
        option: 'report',
      });
    const record = `report:${number}`;
    const words = wordsToWipe(context, record, writtenIn(found), 'report');
    store.swaps.wipe(
      number,
      words.map(({ field }) => field),
    );
    return wiped(context, {
      record,
      words,
      subject: record,
      title: say`Report ${number}: its words are removed; what was seen still counts`,
      data: { wiped: { report: number } } satisfies z.infer<typeof swapWipedData>,
    });
  },
});
