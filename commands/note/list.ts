import type { z } from 'zod';
import { counted, say } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { optional } from '../framework/option.ts';
import { reply, text } from '../framework/reply.ts';
import { eraseOwnOld, noteJobOption, noteNumberOption } from './options.ts';
import { NOTES_SHOWN, noteBlock, noteDataOf, noteListData } from './reply.ts';

export const noteList = defineAction({
  summary: say`Show your notes, newest first`,
  where: 'direct',
  who: 'member',
  options: {
    job: noteJobOption,
    before: optional(
      noteNumberOption(
        { summary: say`Only notes older than this one`, example: '25' },
        say`the number of a note, such as 25`,
      ),
    ),
  },
  examples: ['/note list', '/note list job:12'],

  data: noteListData,
  run: ({ job, before }, context) => {
    const { store, person } = context;
    eraseOwnOld(context);
    const filter = { ...(job === undefined ? {} : { job }), ...(before === undefined ? {} : { before }) };
    const found = store.notes.list(person.key, { ...filter, limit: NOTES_SHOWN + 1 });
    const shown = found.slice(0, NOTES_SHOWN);
    const last = shown.at(-1);
    const total = store.notes.count(person.key, job === undefined ? {} : { job });
    return reply({
      audience: 'asker',
      title:
        job === undefined
          ? total
            ? counted(total, '{0} note', '{0} notes')
            : say`No note yet`
          : total
            ? counted(total, '{0} note on job #{1}', '{0} notes on job #{1}', job)
            : say`No note on job #${job} yet`,
      blocks: [
        ...shown.map((one) => noteBlock(one, context)),
        ...(total ? [] : [text(say`Keep one: /note add "back glass order placed" job:12`)]),
      ],
      choices:
        found.length > NOTES_SHOWN && last
          ? [
              {
                label: say`Older notes`,
                invoke: {
                  command: 'note',
                  action: 'list',
                  options: {
                    before: String(last.number),
                    ...(job === undefined ? {} : { job: String(job) }),
                  },
                },
              },
            ]
          : [],
      data: { total, notes: shown.map((one) => noteDataOf(one, context)) } satisfies z.infer<
        typeof noteListData
      >,
    });
  },
});
