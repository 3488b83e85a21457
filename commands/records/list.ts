/** `/records list`: how the repairs ended that were read in, by who gave them, beside one's own of this year. */
import { z } from 'zod';
import { plain, say, verbatim } from '../../shared/language/say.ts';
import { type RepairStatus, repairStatuses } from '../../shared/records/open-record.ts';
import { defineAction } from '../framework/command.ts';
import { reply, right, table, text } from '../framework/reply.ts';
import { percent } from '../shared/words.ts';
import { thisYear } from './options.ts';
import { ownRecords } from './own-records.ts';

const countsData = z.record(z.enum(repairStatuses), z.number().int());
export const recordsListData = z.object({
  own: countsData,
  providers: z.array(z.object({ provider: z.string(), counts: countsData })),
});
type Counts = z.infer<typeof countsData>;

const none = (): Counts => ({ Fixed: 0, Repairable: 0, 'End of life': 0, Unknown: 0 });
const totalOf = (counts: Counts): number => Object.values(counts).reduce((sum, n) => sum + n, 0);

export const recordsList = defineAction({
  summary: say`How repairs ended elsewhere, as records that were read in tell, beside your own of this year`,
  options: {},
  examples: ['/records list'],

  data: recordsListData,
  run: (_, context) => {
    const own = none();
    for (const { repair_status: status } of ownRecords(context, thisYear(context), '')) own[status] += 1;
    const byProvider = new Map<string, Counts>();
    for (const { provider, status, n } of context.store.openRecords.counts()) {
      const counts = byProvider.get(provider) ?? none();
      counts[status] += n;
      byProvider.set(provider, counts);
    }
    const providers = [...byProvider].map(([provider, counts]) => ({ provider, counts }));
    const rows = [
      { name: say`Here, this year`, counts: own },
      ...providers.map(({ provider, counts }) => ({
        name: provider ? verbatim(provider) : say`not named`,
        counts,
      })),
    ];
    const share = (counts: Counts, status: RepairStatus) =>
      totalOf(counts) ? percent(counts[status] / totalOf(counts)) : '';
    return reply({
      title: say`Finished repairs, here and elsewhere`,
      blocks: [
        table(
          [
            say`From`,
            right(say`Records`),
            right(say`Fixed`),
            right(say`Repairable`),
            right(say`End of life`),
            right(say`Not known`),
          ],
          rows.map(({ name, counts }) => [
            name,
            plain`${totalOf(counts)}`,
            ...repairStatuses.map((status) => share(counts, status)),
          ]),
        ),
        text(
          say`Repairable is mostly a part that was missing or time that ran out. Events draw what owners dare to bring, a bench draws other phones: the shares are not the same thing.`,
        ),
      ],
      data: { own, providers },
    });
  },
});
