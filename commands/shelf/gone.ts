/** `/shelf gone`: a part that nobody will fit. */
import { say, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import { textOption } from '../framework/option.ts';
import { reply, text } from '../framework/reply.ts';
import { needs } from '../shared/needs.ts';
import { mustMove, partMeant } from '../shared/shelf-part.ts';
import { partDataOf, partHeading, partOption, shelfData } from './options.ts';

export const shelfGone = defineAction({
  summary: say`A part is gone: broken, sold, sent back, thrown away, or never came`,
  who: 'member',
  options: {
    part: partOption,
    why: textOption({ summary: say`What became of it`, example: 'flex torn', max: 120 }),
  },
  needs: [needs.part],
  examples: ['/shelf gone 7 why:"flex torn"'],

  data: shelfData,
  refuses: ['not-found', 'wrong-state'],
  run: ({ part: number, why }, context) => {
    const part = partMeant(context, number);
    mustMove(part, 'gone');
    const after = context.store.shelf.move(
      number,
      { kind: 'gone', why },
      { by: actorOf(context), at: context.now },
    );
    return reply({
      title: say`${partHeading(context, after)}: gone`,
      blocks: [
        text(
          part.component === 'battery'
            ? say`${verbatim(why)}. A cell goes to where cells are collected, never into the bin: /caution swollen-cell says how.`
            : say`${verbatim(why)}. It stays to be read: /shelf show ${number}`,
        ),
      ],
      data: { parts: [partDataOf(context, after)] },
    });
  },
});
