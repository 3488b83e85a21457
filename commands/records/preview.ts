/** `/records preview`: exactly what would go out, before it does. */
import { z } from 'zod';
import { formatPeriod } from '../../shared/jobs/period.ts';
import { counted, say, typed, verbatim } from '../../shared/language/say.ts';
import { type OpenRecord, openRecordSchema, RECORD_COLUMNS } from '../../shared/records/open-record.ts';
import { defineAction } from '../framework/command.ts';
import { type DraftBlock, facts, reply, table, text } from '../framework/reply.ts';
import { providerOption, spanOption, thisYear } from './options.ts';
import { digestOf, ownRecords } from './own-records.ts';

export const recordsPreviewData = z.object({
  period: z.string(),
  /** Tells this file from any other. */
  digest: z.string(),
  records: z.array(openRecordSchema),
});

/** What is the same in all of them is told once, what is not a line each. */
function recordBlocks(records: readonly OpenRecord[]): DraftBlock[] {
  const [first] = records;
  if (!first) return [];
  const same = RECORD_COLUMNS.filter((column) => records.every((one) => one[column] === first[column]));
  const shown = RECORD_COLUMNS.filter((column) => !same.includes(column));
  return [
    facts(
      same.map((column) => [typed(column), first[column] ? verbatim(first[column]) : say`empty`] as const),
      say`In every record`,
    ),
    ...(shown.length
      ? [
          table(
            shown.map((column) => typed(column)),
            records.map((record) => shown.map((column) => (record[column] ? verbatim(record[column]) : ''))),
            say`Each record`,
          ),
        ]
      : []),
  ];
}

export const recordsPreview = defineAction({
  summary: say`Exactly what would go out: the finished repairs of a month or a year, with no name, no words, no price and no IMEI`,
  who: 'member',
  options: { of: spanOption, provider: providerOption },
  examples: ['/records preview', '/records preview 2026-03 provider:"Elm Street Repair"'],

  data: recordsPreviewData,
  run: ({ of: given, provider = '' }, context) => {
    const period = given ?? thisYear(context);
    const records = ownRecords(context, period, provider);
    const digest = digestOf(records);
    const name = formatPeriod(period);
    return reply({
      title: records.length
        ? counted(
            records.length,
            '{0} record of {1} would go out as this',
            '{0} records of {1} would go out as this',
            typed(name),
          )
        : say`${typed(name)}: no repair was finished`,
      blocks: records.length
        ? [
            text(
              say`The columns are those of the Open Repair Data Standard v0.3. Nothing has gone out yet, and the bot sends it nowhere: a steward makes the file and gives it on.`,
            ),
            ...(context.collective.settings.region === null
              ? [text(say`The country is empty: /setup region: fills it in.`)]
              : []),
            ...recordBlocks(records),
          ]
        : [],
      choices: records.length
        ? [
            {
              label: say`Make the file`,
              invoke: {
                command: 'records',
                action: 'export',
                options: { of: name, seen: digest, ...(provider ? { provider } : {}) },
              },
              open: true,
            },
          ]
        : [],
      data: { period: name, digest, records },
    });
  },
});
