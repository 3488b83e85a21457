import { z } from 'zod';
import { counted, plain, say, verbatim } from '../../shared/language/say.ts';
import { amount } from '../../shared/money/money.ts';
import { defineAction } from '../framework/command.ts';
import { optional } from '../framework/option.ts';
import { reply, right, table, text } from '../framework/reply.ts';
import { modelIdOf, pricedModelOption } from './options.ts';
import {
  howWords,
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
  summary: say`Show the prices seen, newest first, and what they add up to`,
  options: { what: optional(pricedModelOption) },
  examples: ['/prices "Orrin K3"', '/prices'],

  data: pricesListData,
  run: ({ what }, context) => {
    const { store } = context;
    const filter = what ? { model: modelIdOf(what) } : {};
    const total = store.sightings.count(filter);
    const seen = store.sightings.list({ ...filter, limit: PRICES_SHOWN });
    const market = what ? marketOf(context, modelIdOf(what)) : null;
    return reply({
      title: what
        ? total
          ? counted(total, '{0} price of {1}', '{0} prices of {1}', verbatim(what.name))
          : say`No price of ${verbatim(what.name)} yet`
        : total
          ? counted(total, '{0} price', '{0} prices')
          : say`No price yet`,
      blocks: [
        ...(market ? [text(market.words)] : []),
        ...(seen.length
          ? [
              table(
                [
                  right(say`No.`),
                  say`Seen`,
                  ...(what ? [] : [say`Model`]),
                  say`What`,
                  right(say`Price`),
                  say`How`,
                  say`Note`,
                  say`By`,
                ],
                seen.map((one) => [
                  plain`${one.number}`,
                  verbatim(one.seen),
                  ...(what ? [] : [verbatim(modelName(context, one.model))]),
                  sightingWords(context, one),
                  amount(one.price),
                  howWords[one.how],
                  verbatim(one.note),
                  verbatim(one.by.name),
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
