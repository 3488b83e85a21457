/** `/shelf back`: a part that was fitted comes out of the phone again. */
import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { reply, text } from '../framework/reply.ts';
import { needs } from '../shared/needs.ts';
import { partMeant, returnPart } from '../shared/shelf-part.ts';
import { partDataOf, partHeading, partOption, placeOption, shelfData } from './options.ts';

export const shelfBack = defineAction({
  summary: say`Take a part out of a phone again: it lies on the shelf, and its price leaves the job`,
  who: 'member',
  options: { part: partOption, place: placeOption },
  needs: [needs.part],
  examples: ['/shelf back 7 place:"drawer B"'],

  data: shelfData,
  refuses: ['not-found', 'wrong-state'],
  run: ({ part: number, place = '' }, context) => {
    const part = partMeant(context, number);
    const job = returnPart(context, part, place);
    const after = partMeant(context, number);
    return reply({
      title: say`${partHeading(context, after)}: back on the shelf`,
      blocks: [
        text(
          job
            ? say`Its entries in job ${job.number} are struck out. Is it broken? /shelf gone ${number} why:"…"`
            : say`Is it broken? /shelf gone ${number} why:"…"`,
        ),
      ],
      data: { parts: [partDataOf(context, after)] },
    });
  },
});
