/** `/shelf show`: one part, and all that happened to it. */
import { plain, say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { facts, reply, table } from '../framework/reply.ts';
import { needs } from '../shared/needs.ts';
import { partMeant } from '../shared/shelf-part.ts';
import { wipedBlocks } from '../shared/wipe-words.ts';
import { dayIn } from '../shared/words.ts';
import {
  conditionOf,
  moveInWords,
  originWords,
  partDataOf,
  partHeading,
  partOption,
  priceWords,
  shelfData,
  whereWords,
} from './options.ts';

export const shelfShow = defineAction({
  summary: say`Show a part, and all that happened to it`,
  options: { part: partOption },
  needs: [needs.part],
  examples: ['/shelf show 7'],

  data: shelfData,
  refuses: ['not-found'],
  run: ({ part: number }, context) => {
    const part = partMeant(context, number);
    return reply({
      title: plain`${partHeading(context, part)}, ${whereWords(context, part)}`,
      blocks: [
        ...wipedBlocks(context, `part:${number}`),
        facts([
          [say`Condition`, conditionOf(part)],
          [say`Paid`, priceWords(part)],
          [say`From`, originWords(part)],
        ]),
        table(
          [say`Day`, say`What`, say`By`],
          context.store.shelf
            .moves(number)
            .map((logged) => [
              verbatim(dayIn(context, logged.at)),
              moveInWords(logged),
              verbatim(logged.by.name),
            ]),
          say`Its life so far`,
        ),
      ],
      data: { parts: [partDataOf(context, part)] },
    });
  },
});
