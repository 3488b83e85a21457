import type { z } from 'zod';
import { counted, say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { textOption } from '../framework/option.ts';
import { reply, text } from '../framework/reply.ts';
import { eraseOwnOld, noteJobOption } from './options.ts';
import { CLOSED, NOTES_SHOWN, noteBlock, noteDataOf, noteListData } from './reply.ts';

/** Without case and accents. */
const folded = (words: string): string => words.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase();

export const noteSearch = defineAction({
  summary: say`Find your notes by words in them`,
  where: 'direct',
  who: 'member',
  options: {
    words: textOption({ max: 200, summary: say`Words that are all in the note`, example: 'back glass' }),
    job: noteJobOption,
  },
  examples: ['/note search "back glass"'],

  data: noteListData,
  run: ({ words, job }, context) => {
    const { store, person } = context;
    eraseOwnOld(context);
    const wanted = folded(words).split(/\s+/).filter(Boolean);
    const own = store.notes.list(person.key, job === undefined ? {} : { job });
    const closed = own.filter((one) => one.text === null).length;
    const found = own.filter((one) => {
      const body = one.text === null ? null : folded(one.text);
      return body !== null && wanted.every((word) => body.includes(word));
    });
    const shown = found.slice(0, NOTES_SHOWN);
    return reply({
      audience: 'asker',
      title: found.length
        ? counted(found.length, '{0} note with those words', '{0} notes with those words')
        : say`No note with those words`,
      blocks: [
        ...shown.map((one) => noteBlock(one, context)),
        ...(found.length > shown.length
          ? [text(say`The newest ${shown.length}. More words narrow it.`)]
          : []),
        ...(closed
          ? [
              text(
                counted(
                  closed,
                  '{0} note could not be searched: {1}.',
                  '{0} notes could not be searched: {1}.',
                  CLOSED,
                ),
              ),
            ]
          : []),
      ],
      data: {
        total: found.length,
        notes: shown.map((one) => noteDataOf(one, context)),
      } satisfies z.infer<typeof noteListData>,
    });
  },
});
