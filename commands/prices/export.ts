import { z } from 'zod';
import { counted, say } from '../../shared/language/say.ts';
import { sightingsToCsv } from '../../shared/market/sightings-csv.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { defineAction } from '../framework/command.ts';
import { optional } from '../framework/option.ts';
import { reply } from '../framework/reply.ts';
import { modelIdOf, pricedModelOption } from './options.ts';
import { csvRowOf } from './rows.ts';

export const pricesExportData = z.object({ rows: z.number().int() });

export const pricesExport = defineAction({
  summary: say`Export all prices as a CSV file`,
  options: { what: optional(pricedModelOption) },
  examples: ['/prices export', '/prices export "Orrin K3"'],

  data: pricesExportData,
  run: ({ what }, context) => {
    const seen = context.store.sightings.list(what ? { model: modelIdOf(what) } : {});
    const names = new Map(context.store.models.list().map(({ id, name }) => [id, name]));
    const day = isoDateIn(context.collective.settings.zone, context.now);
    const alt = counted(seen.length, '{0} price as CSV', '{0} prices as CSV');
    return reply({
      title: alt,
      files: [
        {
          name: `prices-${day}.csv`,
          mime: 'text/csv',
          alt,
          text: sightingsToCsv(seen.map((one) => csvRowOf(context, names, one)).reverse()),
        },
      ],
      data: { rows: seen.length } satisfies z.infer<typeof pricesExportData>,
    });
  },
});
