import { z } from 'zod';
import { partGrades } from '../../knowledge/schema.ts';
import type { Message } from '../../shared/language/message.ts';
import { inRow, joined, say, typed, verbatim } from '../../shared/language/say.ts';
import { amount, toWire } from '../../shared/money/money.ts';
import type { NewSighting } from '../../shared/store/index.ts';
import { isoDateIn } from '../../shared/time/calendar.ts';
import { defineAction } from '../framework/command.ts';
import { actorOf, type Context } from '../framework/context.ts';
import type { Named } from '../framework/lookup.ts';
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
import { type Draft, reply, text } from '../framework/reply.ts';
import { components } from '../shared/lookups.ts';
import { conditions, gradeOf } from '../shared/phone.ts';
import { checkPrice, earliestOf } from '../shared/price-limits.ts';
import {
  type Doubted,
  doubtDataOf,
  doubtInWords,
  doubtSchema,
  doubtsIn,
  expectedInWords,
  slipOf,
} from './doubt.ts';
import { modelIdOf, newlyPricedModelOption } from './options.ts';
import {
  howWords,
  marketOf,
  marketSchema,
  sightingDataOf,
  sightingInWords,
  sightingSchema,
  sightingWords,
} from './reply.ts';

export const pricesAddData = z.object({
  /** Null: it is asked about first, and nothing was kept. */
  added: sightingSchema.nullable(),
  doubt: doubtSchema.nullable(),
  market: marketSchema.nullable(),
});

/** An answer to "keep it?" is the same command again. */
function askAbout(doubted: Doubted, { name }: Named, context: Context): Draft<z.infer<typeof pricesAddData>> {
  const { price } = doubted;
  const condition = price.grade === null ? undefined : conditions[2 - price.grade];
  const options = {
    what: name,
    how: price.how,
    seen: price.seen,
    ...(condition ? { condition } : {}),
    ...(price.storage === null ? {} : { storage: String(price.storage) }),
    ...(price.component === null ? {} : { component: price.component }),
    ...(price.partGrade === null ? {} : { grade: price.partGrade }),
    ...(price.note ? { note: price.note } : {}),
  };
  const choice = (label: Message, more: Record<string, string>) => ({
    label,
    invoke: { command: 'prices', action: 'add', options: { ...options, ...more } },
  });
  const slip = slipOf(doubted);
  const expected = expectedInWords(doubted);
  return reply({
    audience: 'asker',
    tone: 'caution',
    title: say`${amount(price.price)} is ${doubtInWords(doubted)}: keep it?`,
    blocks: [
      text(
        joined([
          say`${verbatim(name)}, ${sightingWords(context, { number: 0, ...price })}, ${howWords[price.how]}.`,
          expected ?? '',
          say`Nothing is kept yet.`,
        ]),
      ),
    ],
    choices: [
      ...(slip ? [choice(say`It is ${amount(slip)}`, { price: toWire(slip).amount })] : []),
      choice(say`Yes, keep ${amount(price.price)}`, { price: toWire(price.price).amount, sure: 'yes' }),
      choice(say`Correct it`, {}),
    ],
    data: { added: null, doubt: doubtDataOf(doubted), market: null },
  });
}

export const pricesAdd = defineAction({
  summary: say`Record a price seen, for a phone or for a part that fits it`,
  who: 'member',
  options: {
    what: newlyPricedModelOption,
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
    sure: optional(
      choiceOption({
        choices: ['yes'],
        summary: say`Keep it although it is out of line; you are asked`,
        example: 'yes',
      }),
    ),
  },
  examples: [
    '/prices add "Orrin K3" price:180 how:sold condition:good storage:64',
    '/prices add "Orrin K3" price:24 component:battery grade:copy',
  ],

  data: pricesAddData,
  run: ({ what, price, how, condition, storage, component, grade, seen, note, sure }, context) => {
    const { store, now, collective } = context;
    const refuse = (option: string, problem: Message, expected: Message): never => {
      throw new Refusal({ code: 'bad-option', option, problem, expected });
    };
    checkPrice(price, 'price');
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
    const earliest = earliestOf(store.models.get(modelIdOf(what)));
    if (seen && seen < earliest)
      refuse(
        'seen',
        say`${verbatim(seen)} is before any was sold.`,
        say`a date from ${verbatim(earliest)} on`,
      );
    const told: NewSighting = {
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
    };
    const [doubted] = sure ? [] : doubtsIn(context, [told]);
    if (doubted) return askAbout(doubted, what, context);
    const added = store.sightings.add(told);
    const market = component ? null : marketOf(context, added.model);
    return reply({
      title: sightingInWords(context, added),
      tone: 'good',
      blocks: market ? [text(market.words)] : [],
      data: {
        added: sightingDataOf(context, added),
        doubt: null,
        market: market?.data ?? null,
      } satisfies z.infer<typeof pricesAddData>,
    });
  },
});
