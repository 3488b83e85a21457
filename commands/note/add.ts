import type { z } from 'zod';
import { joined, say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { textOption } from '../framework/option.ts';
import { reply, text } from '../framework/reply.ts';
import { checkJob, eraseOwnOld, noteJobOption, noteText } from './options.ts';
import { noteDataOf, noteSavedData, staysWords } from './reply.ts';

export const noteAdd = defineAction({
  summary: say`Keep a note that only you can read`,
  where: 'direct',
  who: 'member',
  options: {
    text: textOption({
      ...noteText,
      summary: say`The note; passcodes, passwords and card numbers are refused`,
    }),
    job: noteJobOption,
  },
  examples: ['/note add "back glass order placed" job:12', '/note add "ask Moss about the long screws"'],

  data: noteSavedData,
  refuses: ['not-found', 'wrong-state'],
  run: ({ text: body, job }, context) => {
    const { store, person, now } = context;
    eraseOwnOld(context);
    if (job !== undefined) checkJob(job, context);
    const saved = store.notes.add(person.key, { text: body, job: job ?? null }, now);
    return reply({
      audience: 'asker',
      title:
        saved.job === null
          ? say`Note ${saved.number} is kept`
          : say`Note ${saved.number} is kept, on job #${saved.job}`,
      tone: 'good',
      blocks: [text(joined([say`Only you can read it, in a direct message.`, staysWords(saved, context)]))],
      data: { saved: noteDataOf(saved, context) } satisfies z.infer<typeof noteSavedData>,
    });
  },
});
