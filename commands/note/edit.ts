import type { z } from 'zod';
import { say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { optional, textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { needs } from '../shared/needs.ts';
import { checkJob, eraseOwnOld, noteJobOption, noteOption, noteText, ownNote } from './options.ts';
import { noteDataOf, noteSavedData, staysWords } from './reply.ts';

export const noteEdit = defineAction({
  summary: say`Change the text of a note, or the job that it is about`,
  where: 'direct',
  who: 'member',
  options: {
    number: noteOption,
    text: optional(textOption({ ...noteText, summary: say`The new text; the old one is gone` })),
    job: noteJobOption,
  },
  needs: [needs.note],
  examples: ['/note edit 3 text:"back glass came, wrong colour"', '/note edit 3 job:12'],

  data: noteSavedData,
  refuses: ['missing-option', 'not-found', 'wrong-state'],
  run: ({ number, text: body, job }, context) => {
    const { store, person, now } = context;
    eraseOwnOld(context);
    ownNote(number, context);
    if (body === undefined && job === undefined) {
      throw new Refusal({
        code: 'missing-option',
        problem: say`Nothing to change was given.`,
        expected: say`text: or job:`,
      });
    }
    if (job !== undefined) checkJob(job, context);
    const saved = store.notes.edit(
      person.key,
      number,
      { ...(body === undefined ? {} : { text: body }), ...(job === undefined ? {} : { job }) },
      now,
    );
    return reply({
      audience: 'asker',
      title: say`Note ${number} is changed`,
      tone: 'good',
      blocks: [
        ...(body === undefined ? [] : [text(say`The old text is erased.`)]),
        text(staysWords(saved, context)),
      ],
      data: { saved: noteDataOf(saved, context) } satisfies z.infer<typeof noteSavedData>,
    });
  },
});
