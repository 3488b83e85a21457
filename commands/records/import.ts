/** `/records import`: records of other benches are read in. */
import { z } from 'zod';
import { counted, plain, say, typed } from '../../shared/language/say.ts';
import { MOBILE, type RecordProblem, recordsOfCsv } from '../../shared/records/open-record.ts';
import { defineAction } from '../framework/command.ts';
import { fileOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, right, table, text } from '../framework/reply.ts';

const recordsImportData = z.object({
  added: z.number().int(),
  /** Of the same provider with the same id: the first one stays. */
  known: z.number().int(),
  /** Of other things than phones. */
  other: z.number().int(),
});

const SHOWN = 20;

function refuseFile(problems: readonly RecordProblem[]): never {
  throw new Refusal({
    code: 'bad-option',
    option: 'file',
    problem: counted(
      problems.length,
      'Nothing was read in: {0} line is not as the standard asks',
      'Nothing was read in: {0} lines are not as the standard asks',
    ),
    blocks: [
      table(
        [right(say`Line`), say`Column`],
        problems
          .slice(0, SHOWN)
          .map(({ line, column }) => [
            plain`${line}`,
            column === null ? say`number of cells` : typed(column),
          ]),
      ),
    ],
    expected: say`a CSV file with the columns of the Open Repair Data Standard v0.3`,
    lines: problems.map(({ line, column }) => ({ line, ...(column === null ? {} : { column }) })),
  });
}

export const recordsImport = defineAction({
  summary: say`Read in records of other benches: a CSV file with the columns of the Open Repair Data Standard v0.3`,
  who: 'member',
  options: {
    file: { ...fileOption({ summary: say`The CSV file`, example: 'records.csv' }), elsewhere: true as const },
  },
  examples: ['/records import records.csv'],

  data: recordsImportData,
  run: ({ file }, context) => {
    const read = recordsOfCsv(file);
    if (!read.ok) refuseFile(read.problems);
    const phones = read.records.filter((one) => one.product_category === MOBILE.product_category);
    const added = phones.filter((record) => context.store.openRecords.add(record)).length;
    const known = phones.length - added;
    const other = read.records.length - phones.length;
    return reply({
      title: counted(added, '{0} record was read in', '{0} records were read in'),
      tone: 'good',
      blocks: [
        ...(known
          ? [text(counted(known, '{0} record was here already.', '{0} records were here already.'))]
          : []),
        ...(other
          ? [
              text(
                counted(
                  other,
                  '{0} record is of no phone and was left out.',
                  '{0} records are of no phone and were left out.',
                ),
              ),
            ]
          : []),
        text(
          say`They count in /records list, and move no odds and no price: a record tells what was complained of and how it ended, and not which fault it was or what was checked.`,
        ),
      ],
      data: { added, known, other },
    });
  },
});
