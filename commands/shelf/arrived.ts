/** `/shelf arrived`: what was on order is here. */
import { plain, say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { reply, text } from '../framework/reply.ts';
import { needs } from '../shared/needs.ts';
import { mustMove, partMeant } from '../shared/shelf-part.ts';
import {
  conditionOf,
  partDataOf,
  partHeading,
  partOption,
  placeOption,
  shelfData,
  whereWords,
} from './options.ts';

export const shelfArrived = defineAction({
  summary: say`A part on order has arrived`,
  who: 'member',
  options: { part: partOption, place: placeOption },
  needs: [needs.part],
  examples: ['/shelf arrived 7 place:"drawer B"'],

  data: shelfData,
  refuses: ['not-found', 'wrong-state'],
  run: ({ part: number, place = '' }, context) => {
    const part = partMeant(context, number);
    mustMove(part, 'arrived');
    const after = context.store.shelf.move(
      number,
      { kind: 'arrived', place },
      { by: actorOf(context), at: context.now },
    );
    return reply({
      title: plain`${partHeading(context, after)}, ${whereWords(context, after)}`,
      tone: 'good',
      blocks: [text(say`${conditionOf(after)}. To fit it: /shelf take ${after.number}`)],
      data: { parts: [partDataOf(context, after)] },
    });
  },
});
