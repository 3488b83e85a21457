/** `/reading list`: the bench's tables of a model. */
import { z } from 'zod';
import { benchTables } from '../../knowledge/schema.ts';
import { plain, say, typed, verbatim } from '../../shared/language/say.ts';
import { defineAction } from '../framework/command.ts';
import { lookupOption } from '../framework/option.ts';
import { reply, right, table, text } from '../framework/reply.ts';
import { readingValue } from '../shared/bench-table.ts';
import { models } from '../shared/lookups.ts';
import { needs } from '../shared/needs.ts';
import { dayIn } from '../shared/words.ts';
import { readingDataOf, readingSchema, tableWords } from './reply.ts';

export const readingListData = z.object({ readings: z.array(readingSchema) });
/** Rows shown; `data` has all. */
const SHOWN = 40;

export const readingList = defineAction({
  summary: say`The bench's own tables of a model: diode readings by connector, currents of a start`,
  who: 'visitor',
  options: {
    model: lookupOption({ lookup: models, summary: say`The model`, example: 'Orrin K3' }),
  },
  needs: [needs.model],
  examples: ['/reading list "Orrin K3"'],

  data: readingListData,
  run: ({ model }, context) => {
    const all = context.store.benchReadings.of(Number(model.id));
    const rest = all.length - SHOWN;
    return reply({
      title: all.length
        ? say`Your bench's tables of ${verbatim(model.name)}`
        : say`Your bench has no table of ${verbatim(model.name)} yet`,
      blocks: [
        ...benchTables.flatMap((kind) => {
          const own = all.slice(0, SHOWN).filter((one) => one.table === kind);
          return own.length
            ? [
                text(tableWords[kind]),
                table(
                  [right(say`#`), say`Where`, right(say`Reads`), say`By`, say`On`],
                  own.map((one) => [
                    plain`${one.number}`,
                    verbatim(one.place),
                    readingValue(one),
                    verbatim(one.by.name),
                    verbatim(dayIn(context, one.at)),
                  ]),
                ),
              ]
            : [];
        }),
        ...(rest > 0 ? [text(say`${rest} more are kept.`)] : []),
        text(say`${typed('/reading add')} keeps one more, ${typed('/reading remove')} takes one out.`),
      ],
      data: { readings: all.map((one) => readingDataOf(context, one)) } satisfies z.infer<
        typeof readingListData
      >,
    });
  },
});
