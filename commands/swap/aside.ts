import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { integerOption, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { needs } from '../shared/needs.ts';
import { swapInWords } from '../shared/pairing-notes.ts';
import { swapData, swapDataOf } from './reply.ts';

export const swapAside = defineAction({
  summary: say`Set a report aside: it is shown, and counts no more`,
  who: 'steward',
  options: {
    report: integerOption({ summary: say`Its number, from /swap list`, example: '3', min: 1, max: 1e9 }),
    why: textOption({ summary: say`Why`, example: 'the part was faulty', max: 200 }),
  },
  needs: [needs.swapReport],
  examples: ['/swap aside 3 why:"the part was faulty"'],

  data: swapData,
  refuses: ['not-found', 'wrong-state'],
  run: ({ report: number, why }, context) => {
    const { store, now } = context;
    const found = store.swaps.get(number);
    if (!found || found.aside) {
      throw new Refusal({
        code: found ? 'wrong-state' : 'not-found',
        problem: found
          ? say`Report ${number} is set aside already.`
          : say`There is no report ${number} here.`,
        expected: say`a number from /swap list`,
        option: 'report',
      });
    }
    store.swaps.setAside(number, { by: actorOf(context), at: now, why });
    const after = store.swaps.get(number);
    return reply({
      title: say`Report ${number} is set aside`,
      blocks: [text(say`It said: ${swapInWords(context, found)}. It is still shown, with your reason.`)],
      data: swapDataOf(context, after ? [after] : []),
    });
  },
});
