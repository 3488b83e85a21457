/** What the weekly post leads with for the workshop: what waits for whom until when, and what the shelf lacks. */
import type { Message } from '../../shared/language/message.ts';
import { counted, plain, say, verbatim } from '../../shared/language/say.ts';
import { isLate } from '../../shared/shelf/part.ts';
import type { Context } from '../framework/context.ts';
import { type DraftBlock, steps } from '../framework/reply.ts';
import { boardOrder, nextWords, type OnBoard } from '../shared/board.ts';
import { phoneOfJob } from '../shared/phone.ts';
import { lowLines } from '../shared/shelf-part.ts';
import { componentName, dayIn } from '../shared/words.ts';

/** The newest open jobs, of which so many are told. */
const CONSIDERED = 100;
const TOLD = 6;

/** Without the words that people wrote beside it: the post may go to other rooms. */
const withoutNotes = ({ job, phone }: OnBoard): OnBoard => ({
  phone,
  job: {
    ...job,
    entries: job.entries.map((logged) =>
      logged.entry.kind === 'waiting' ? { ...logged, entry: { ...logged.entry, note: '' } } : logged,
    ),
  },
});

const jobLine = (context: Context, one: OnBoard): Message =>
  plain`${say`Job ${one.job.number}`}, ${phoneOfJob(context, one.job).name}, ${verbatim(one.job.holder.name)}: ${nextWords(context, withoutNotes(one))}`;

/** Due before today and not here. */
const lateLines = (context: Context): Message[] => {
  const today = dayIn(context, context.now);
  return context.store.shelf
    .list({ states: ['ordered'] })
    .filter((part) => isLate(part, today))
    .map(
      (part) =>
        say`${componentName(context, part.component)}, part ${part.number}: due ${verbatim(part.due ?? '')}, late`,
    );
};

export function benchBlocks(context: Context): DraftBlock[] {
  const { store } = context;
  const open = store.jobs.countOpen();
  const board = boardOrder(context, store.jobs.listOpen({ limit: CONSIDERED })).slice(0, TOLD);
  const shelf = [...lateLines(context), ...lowLines(context)];
  return [
    ...(board.length
      ? [
          steps(
            [
              ...board.map((one) => jobLine(context, one)),
              ...(open > board.length
                ? [
                    counted(
                      open - board.length,
                      'and {0} more job: /job list',
                      'and {0} more jobs: /job list',
                    ),
                  ]
                : []),
            ],
            say`On the bench`,
            false,
          ),
        ]
      : []),
    ...(shelf.length ? [steps(shelf.slice(0, TOLD), say`The shelf lacks`, false)] : []),
  ];
}
