import { z } from 'zod';
import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { reply, text } from '../framework/reply.ts';
import { needs } from '../shared/needs.ts';
import { eraseOwnOld, noteOption, ownNote } from './options.ts';

export const noteErasedData = z.object({ erased: z.number().int() });

export const noteErase = defineAction({
  summary: say`Erase a note`,
  where: 'direct',
  who: 'member',
  options: { number: noteOption },
  needs: [needs.note],
  examples: ['/note erase 3'],

  data: noteErasedData,
  refuses: ['not-found'],
  run: ({ number }, context) => {
    const { store, person } = context;
    eraseOwnOld(context);
    ownNote(number, context);
    store.notes.erase(person.key, number);
    return reply({
      audience: 'asker',
      title: say`Note ${number} is erased`,
      blocks: [
        text(
          say`It is gone from the store. Copies of the store that were made before still have it, sealed.`,
        ),
      ],
      data: { erased: number } satisfies z.infer<typeof noteErasedData>,
    });
  },
});
