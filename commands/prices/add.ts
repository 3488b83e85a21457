import { z } from 'zod';
import { partGrades } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { inRow, say, typed, verbatim } from '../../shared/language/say.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf } from '../framework/context.ts';
import {
  choiceOption,
  dateOption,
  integerOption,
  lookupOption,
  moneyOption,
  optional,
  textOption,
} from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, text } from '../framework/reply.ts';
import { components } from '../shared/lookups.ts';
import { conditions, gradeOf } from '../shared/phone.ts';
import { modelIdOf, pricedModelOption } from './options.ts';
import { marketOf, marketSchema, sightingDataOf, sightingInWords, sightingSchema } from './reply.ts';

export const pricesAddData = z.object({ added: sightingSchema, market: marketSchema.nullable() });

export const pricesAdd = defineAction({
  summary: say`Record a price seen, for a phone or for a part that fits it`,
  who: 'member',
  options: {
    what: pricedModelOption,
    price: moneyOption({ summary: say`The price, in the collective's currency`, example: '180' }),
    how: optional(
      choiceOption({
        choices: ['sold', 'asked'],
        summary: say`A price it sold at, or only asked; sold when left out`,
        example: 'sold',
      }),
    ),
    condition: optional(
      choiceOption({
        choices: conditions,
        summary: say`Condition of the phone; fair when left out`,
        example: 'good',
      }),
    ),
    storage: optional(integerOption({ min: 1, max: 8192, summary: say`Storage in GB`, example: '64' })),
    component: optional(
      lookupOption({ lookup: components, summary: say`For a part: which component`, example: 'battery' }),
    ),
    grade: optional(
      choiceOption({ choices: partGrades, summary: say`For a part: what kind it is`, example: 'copy' }),
    ),
    seen: optional(
      dateOption({ summary: say`The day it was seen; today when left out`, example: '2026-02-20' }),
    ),
    note: optional(textOption({ max: 200, summary: say`Anything worth knowing`, example: 'with charger' })),
  },
  examples: [
    '/prices add "Orrin K3" price:180 how:sold condition:good storage:64',
    '/prices add "Orrin K3" price:24 component:battery grade:copy',
  ],

  data: pricesAddData,
  run: ({ what, price, how, condition, storage, component, grade, seen, note }, context) => {
    const { store, now, collective } = context;
    const refuse = (option: string, problem: Message, expected: Message): never => {
      throw new Refusal({ code: 'bad-option', option, problem, expected });
    };
    if (price.minor === 0) refuse('price', say`A price of nothing tells nothing.`, say`a price above 0`);
    if (component && !grade)
      refuse(
        'grade',
        say`A part needs its grade.`,
        say`grade: and one of ${inRow(partGrades.map((one) => typed(one)))}`,
      );
    if (grade && !component)
      refuse('grade', say`Only a part has a grade.`, say`condition: for a phone, or component:`);
    if (component && condition)
      refuse(
        'condition',
        say`A part has no condition here.`,
        say`grade: and one of ${inRow(partGrades.map((one) => typed(one)))}`,
      );
    if (component && storage) refuse('storage', say`A part has no storage.`, say`no storage`);
    const today = isoDateIn(collective.settings.zone, now);
    if (seen && seen > today)
      refuse('seen', say`${verbatim(seen)} is in the future.`, say`a date up to ${verbatim(today)}`);
    const added = store.sightings.add({
      kind: component ? 'part' : 'phone',
      model: modelIdOf(what),
      component: component?.id ?? null,
      partGrade: component ? (grade ?? null) : null,
      grade: component ? null : gradeOf(condition ?? 'fair'),
      storage: storage ?? null,
      price,
      how: how ?? 'sold',
      seen: seen ?? today,
      note: note ?? '',
      by: actorOf(context),
      at: now,
    });
    const market = component ? null : marketOf(context, added.model);
    return reply({
      title: sightingInWords(context, added),
      tone: 'good',
      blocks: market ? [text(market.words)] : [],
      data: {
        added: sightingDataOf(context, added),
        market: market?.data ?? null,
      } satisfies z.infer<typeof pricesAddData>,
    });
  },
});
