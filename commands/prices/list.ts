import { z } from 'zod';
import { counted, say } from '../../shared/language/say.ts';
import { formatMoney } from '../../shared/money/money.ts';
import { defineAction } from '../framework/command.ts';
import { optional } from '../framework/option.ts';
import { reply, table, text } from '../framework/reply.ts';
import { modelIdOf, pricedModelOption } from './options.ts';
import {
  marketOf,
  marketSchema,
  modelName,
  PRICES_SHOWN,
  sightingDataOf,
  sightingSchema,
  sightingWords,
} from './reply.ts';

export const pricesListData = z.object({
  model: z.string().nullable(),
  total: z.number().int(),
  prices: z.array(sightingSchema),
  market: marketSchema.nullable(),
});

export const pricesList = defineAction({
  summary: 'Show the prices seen, newest first, and what they add up to',
  options: { what: optional(pricedModelOption) },
  examples: ['/prices "Orrin K3"', '/prices'],
  run: ({ what }, context) => {
    const { store, locale } = context;
    const filter = what ? { model: modelIdOf(what) } : {};
    const total = store.sightings.count(filter);
    const seen = store.sightings.list({ ...filter, limit: PRICES_SHOWN });
    const market = what ? marketOf(context, modelIdOf(what)) : null;
    const of = what ? say` of ${what.name}` : '';
    return reply({
      title: total ? `${counted(total, '{0} price', '{0} prices')}${of}` : say`No price${of} yet`,
      blocks: [
        ...(market ? [text(market.words)] : []),
        ...(seen.length
          ? [
              table(
                [
                  say`>No.`,
                  say`Seen`,
                  ...(what ? [] : [say`Model`]),
                  say`What`,
                  '>Price',
                  say`How`,
                  say`Note`,
                  say`By`,
                ],
                seen.map((one) => [
                  String(one.number),
                  one.seen,
                  ...(what ? [] : [modelName(context, one.model)]),
                  sightingWords(context, one),
                  formatMoney(one.price, locale),
                  one.how,
                  one.note,
                  one.by.name,
                ]),
              ),
            ]
          : []),
        ...(total > seen.length ? [text(say`The newest ${seen.length}; /prices export has all.`)] : []),
        ...(total ? [] : [text(say`Add one: /prices add "Orrin K3" price:180 condition:good`)]),
      ],
      data: {
        model: what?.name ?? null,
        total,
        prices: seen.map((one) => sightingDataOf(context, one)),
        market: market?.data ?? null,
      } satisfies z.infer<typeof pricesListData>,
    });
  },
});
