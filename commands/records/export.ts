/** `/records export`: the file, once it was seen. */
import { z } from 'zod';
import { formatPeriod } from '../../shared/jobs/period.ts';
import { counted, say, typed } from '../../shared/language/say.ts';
import { recordsToCsv, repairStatuses } from '../../shared/records/open-record.ts';
import { defineAction } from '../framework/command.ts';
import { textOption } from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { providerOption, spanOption, thisYear } from './options.ts';
import { digestOf, fileOf, ownRecords } from './own-records.ts';

const recordsExportData = z.object({
  period: z.string(),
  digest: z.string(),
  records: z.number().int(),
  statuses: z.record(z.enum(repairStatuses), z.number().int()),
});

export const recordsExport = defineAction({
  summary: say`The file of finished repairs for anybody, as it was seen in the preview`,
  who: 'steward',
  options: {
    of: spanOption,
    seen: textOption({
      summary: say`The mark of the preview that was read`,
      example: '5f0c9d1e2b3a',
      max: 12,
    }),
    provider: providerOption,
  },
  examples: ['/records export 2026 seen:5f0c9d1e2b3a'],

  data: recordsExportData,
  refuses: ['wrong-state'],
  run: ({ of: given, seen, provider = '' }, context) => {
    const period = given ?? thisYear(context);
    const records = ownRecords(context, period, provider);
    const digest = digestOf(records);
    if (digest !== seen) {
      throw new Refusal({
        code: 'wrong-state',
        problem: say`That is not what the preview would show now.`,
        expected: say`the preview first, and its button`,
        option: 'seen',
        example: `/records preview ${formatPeriod(period)}`,
      });
    }
    const count = (status: string) => records.filter((one) => one.repair_status === status).length;
    const alt = counted(
      records.length,
      '{0} record of {1}, for anybody',
      '{0} records of {1}, for anybody',
      typed(formatPeriod(period)),
    );
    return reply({
      title: alt,
      tone: 'good',
      blocks: [
        text(
          say`It is as it was shown, in the columns of the Open Repair Data Standard v0.3. Whoever gets it may pass it on: give it to nobody whom the collective has not agreed on.`,
        ),
      ],
      files: [{ name: fileOf(period), mime: 'text/csv', alt, text: recordsToCsv(records) }],
      data: {
        period: formatPeriod(period),
        digest,
        records: records.length,
        statuses: {
          Fixed: count('Fixed'),
          Repairable: count('Repairable'),
          'End of life': count('End of life'),
          Unknown: count('Unknown'),
        },
      },
    });
  },
});
