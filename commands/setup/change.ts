/** `/setup`: shows and changes the collective's settings. */

import { z } from 'zod';
import {
  type CollectiveSettings,
  defaultSettings,
  settingsSchema,
} from '../../shared/collective/collective-settings.ts';
import { type Language, languages } from '../../shared/language/locale.ts';
import type { Message } from '../../shared/language/message.ts';
import {
  counted,
  dateOf,
  listWords,
  plain,
  quantity,
  say,
  typed,
  verbatim,
} from '../../shared/language/say.ts';
import { amount, fromMajor, type Money, toMajor } from '../../shared/money/money.ts';
import { referenceHour } from '../../shared/money/reference-hour.ts';
import { bearableByDefault } from '../../shared/worth/verdict.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { roleWords } from '../framework/dispatch.ts';
import type { Named } from '../framework/lookup.ts';
import {
  choiceOption,
  integerOption,
  lookupOption,
  moneyOption,
  numberOption,
  optional,
  shareOption,
} from '../framework/option.ts';
import { Refusal } from '../framework/refusal.ts';
import { reply, table, text } from '../framework/reply.ts';
import { percent } from '../shared/words.ts';
import { currencies, regions, zones } from './iso-lookups.ts';

/** In the order of ISO 8601. */
const weekDays = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'] as const;

/** The options' names, and the settings they change. */
const settingOf = {
  currency: 'currency',
  rate: 'hourlyRate',
  margin: 'margin',
  bear: 'bearable',
  service: 'serviceFee',
  'selling-cost': 'sellingCost',
  'margin-tax': 'marginTax',
  region: 'region',
  zone: 'zone',
  language: 'language',
  'week-day': 'weekDay',
  'week-hour': 'weekHour',
  'notes-kept': 'notesKeptDays',
} as const satisfies Record<string, keyof CollectiveSettings>;
type OptionName = keyof typeof settingOf;
const optionNames = Object.keys(settingOf).filter((name): name is OptionName => name in settingOf);

export const setupData = z.object({
  settings: settingsSchema,
  /** Names of the settings that are as they come. */
  defaults: z.array(z.string()),
  /** Names of the settings that were changed, and how all were before. */
  changed: z.array(z.string()),
  before: settingsSchema,
});

const summaries: Readonly<Record<OptionName, Message>> = {
  currency: say`All prices are in it`,
  rate: say`What an hour at the bench costs; 0 when you give your time`,
  margin: say`The least that a restored phone should leave, as a share of its sale price`,
  bear: say`The most that one phone may cost you when it goes badly, one time in ten`,
  service: say`What a service asks to take out a dangerous cell and fit a new one`,
  'selling-cost': say`What selling costs, as a share of the sale price`,
  'margin-tax': say`Tax on the dealer's margin, in percent; 0 where there is none`,
  region: say`Whose law, emergency number and disposal advice are shown`,
  zone: say`In which days and weeks are counted`,
  language: say`What the bot speaks in a room; in private it follows your client`,
  'week-day': say`On which day the weekly post goes out`,
  'week-hour': say`From which hour on that day, 0 to 23`,
  'notes-kept': say`How many days private notes are kept after their job is closed`,
};

const hourText = (hour: number): string => `${String(hour).padStart(2, '0')}:00`;

/** A day of the week, 1 for Monday. */
const weekDayName = (day: number): Message =>
  dateOf(new Date(Date.UTC(2024, 0, day)), { timeZone: 'UTC', weekday: 'long' });

/** A setting as people read it. */
function shown(name: OptionName, settings: CollectiveSettings): Message {
  const { currency } = settings;
  switch (name) {
    case 'rate':
      return settings.hourlyRate === null
        ? say`${amount(referenceHour(currency).rate)}, a rough reference`
        : amount(fromMajor(settings.hourlyRate, currency));
    case 'bear':
      return settings.bearable === null
        ? say`${amount(fromMajor(bearableByDefault(toMajor(referenceHour(currency).rate)), currency))}, a rough reference`
        : amount(fromMajor(settings.bearable, currency));
    case 'service':
      return settings.serviceFee === null
        ? say`an hour and the cell, assumed`
        : amount(fromMajor(settings.serviceFee, currency));
    case 'margin':
      return percent(settings.margin);
    case 'selling-cost':
      return percent(settings.sellingCost);
    case 'margin-tax':
      return quantity(settings.marginTax, '%');
    case 'region':
      return settings.region === null ? say`not set` : typed(settings.region);
    case 'week-day':
      return weekDayName(settings.weekDay);
    case 'week-hour':
      return settings.weekOn
        ? typed(hourText(settings.weekHour))
        : say`${typed(hourText(settings.weekHour))}, but the post is off`;
    case 'notes-kept':
      return counted(settings.notesKeptDays, '{0} day', '{0} days');
    default:
      return typed(settings[name]);
  }
}

interface Wanted {
  currency?: Named;
  rate?: Money;
  margin?: number;
  bear?: Money;
  service?: Money;
  'selling-cost'?: number;
  'margin-tax'?: number;
  region?: Named;
  zone?: Named;
  language?: Language;
  'week-day'?: (typeof weekDays)[number];
  'week-hour'?: number;
  'notes-kept'?: number;
}

/** Amounts are never converted, so a collective that has some keeps its currency. */
function checkCurrency(currency: string, { store }: Context): void {
  const prices = store.sightings.count({ notIn: currency });
  const models = store.models.list().filter(({ newPrice }) => newPrice && newPrice.currency !== currency);
  if (!prices && !models.length) return;
  const has = [
    ...(prices ? [counted(prices, '{0} price', '{0} prices')] : []),
    ...(models.length
      ? [say`the price when new of ${listWords(models.slice(0, 3).map(({ name }) => verbatim(name)))}`]
      : []),
  ];
  throw new Refusal({
    code: 'wrong-state',
    option: 'currency',
    problem: say`In another currency: ${listWords(has)}. Amounts are never converted.`,
    expected: say`the currency in use; or export the prices and take them and the models away first`,
    example: '/prices export',
  });
}

function changedSettings(wanted: Wanted, context: Context): CollectiveSettings {
  const before = context.collective.settings;
  const currency = wanted.currency?.id ?? before.currency;
  if (currency !== before.currency) checkCurrency(currency, context);
  // An amount in the old currency means nothing in the new one.
  const inCurrency = (given: Money | undefined, kept: number | null): number | null =>
    given ? toMajor(given) : currency === before.currency ? kept : null;
  const read = settingsSchema.safeParse({
    currency,
    hourlyRate: inCurrency(wanted.rate, before.hourlyRate),
    margin: wanted.margin ?? before.margin,
    bearable: inCurrency(wanted.bear, before.bearable),
    serviceFee: inCurrency(wanted.service, before.serviceFee),
    sellingCost: wanted['selling-cost'] ?? before.sellingCost,
    marginTax: wanted['margin-tax'] ?? before.marginTax,
    region: wanted.region?.id ?? before.region,
    zone: wanted.zone?.id ?? before.zone,
    language: wanted.language ?? before.language,
    weekOn: before.weekOn,
    weekDay: wanted['week-day'] === undefined ? before.weekDay : weekDays.indexOf(wanted['week-day']) + 1,
    weekHour: wanted['week-hour'] ?? before.weekHour,
    notesKeptDays: wanted['notes-kept'] ?? before.notesKeptDays,
  } satisfies CollectiveSettings);
  if (read.success) return read.data;
  const issue = read.error.issues[0];
  const option = optionNames.find((name) => settingOf[name] === issue?.path[0]);
  throw new Refusal({
    code: 'bad-option',
    problem: option
      ? plain`${typed(option)}: ${say`out of its range`}.`
      : say`A setting is out of its range.`,
    ...(option ? { option } : {}),
  });
}

export const setupChange = defineAction({
  summary: say`Show or change the collective's currency, rate, margin, tax, region, time zone and weekly post`,
  options: {
    currency: optional(
      lookupOption({
        lookup: currencies,
        summary: say`${summaries.currency} (ISO 4217)`,
        example: 'AUD',
      }),
    ),
    rate: optional(moneyOption({ summary: summaries.rate, example: '45' })),
    margin: optional(shareOption({ max: 0.9, summary: summaries.margin, example: '15 %' })),
    bear: optional(moneyOption({ summary: summaries.bear, example: '200' })),
    service: optional(moneyOption({ summary: summaries.service, example: '70' })),
    'selling-cost': optional(shareOption({ max: 0.5, summary: summaries['selling-cost'], example: '8 %' })),
    'margin-tax': optional(
      numberOption({ min: 0, max: 50, summary: summaries['margin-tax'], example: '10' }),
    ),
    region: optional(
      lookupOption({
        lookup: regions,
        summary: say`${summaries.region} (ISO 3166)`,
        example: 'AU',
      }),
    ),
    zone: optional(
      lookupOption({
        lookup: zones,
        summary: say`${summaries.zone} (IANA)`,
        example: 'Australia/Sydney',
      }),
    ),
    language: optional(choiceOption({ choices: languages, summary: summaries.language, example: 'en' })),
    'week-day': optional(
      choiceOption({ choices: weekDays, summary: summaries['week-day'], example: 'monday' }),
    ),
    'week-hour': optional(integerOption({ min: 0, max: 23, summary: summaries['week-hour'], example: '9' })),
    'notes-kept': optional(
      integerOption({ min: 1, max: 3650, summary: summaries['notes-kept'], example: '90' }),
    ),
  },
  examples: ['/setup', '/setup currency:AUD rate:45 region:AU zone:Australia/Sydney'],

  data: setupData,
  refuses: ['wrong-state', 'not-allowed'],
  run: (wanted, context) => {
    const { collective, store, person } = context;
    const before = collective.settings;
    const asked = optionNames.filter((name) => wanted[name] !== undefined);
    if (asked.length && person.role !== 'steward') {
      throw new Refusal({
        code: 'not-allowed',
        problem: say`Only a steward changes ${listWords(asked.map((one) => typed(one)))}; you are a ${roleWords[person.role]} here.`,
        expected: say`to ask a steward; /setup alone shows the settings`,
        example: '/setup',
        ...(asked[0] ? { option: asked[0] } : {}),
      });
    }
    const after = asked.length ? changedSettings(wanted, context) : before;
    if (asked.length) store.saveSettings(after);

    const isDefault = (name: OptionName) => after[settingOf[name]] === defaultSettings[settingOf[name]];
    const changed = optionNames.filter((name) => after[settingOf[name]] !== before[settingOf[name]]);
    const state =
      wanted.region?.id.includes('-') && !regions.entries(context).some(({ id }) => id === after.region);
    return reply({
      title: changed.length
        ? say`Changed: ${listWords(changed.map((name) => typed(name)))}`
        : asked.length
          ? say`Nothing changed: it was so already`
          : say`Settings of ${verbatim(collective.name)}`,
      tone: asked.length ? 'good' : 'plain',
      blocks: [
        ...(changed.length
          ? [
              table(
                [say`Setting`, say`Was`, say`Is`],
                changed.map((name) => [typed(name), shown(name, before), shown(name, after)]),
              ),
            ]
          : [
              table(
                [say`Setting`, say`Is`, '', say`What it does`],
                optionNames.map((name) => [
                  typed(name),
                  shown(name, after),
                  isDefault(name) ? say`default` : '',
                  summaries[name],
                ]),
              ),
            ]),
        ...(state
          ? [
              text(
                say`${typed(after.region ?? '')} is taken as written: the pack has no law of that state, its country's is shown.`,
              ),
            ]
          : []),
        ...(changed.includes('rate') && !wanted.rate
          ? [text(say`The hourly rate went back to the reference: the old one was in another currency.`)]
          : []),
        ...((changed.includes('bear') && !wanted.bear) || (changed.includes('service') && !wanted.service)
          ? [
              text(
                say`What you can bear and the service’s fee went back to what is assumed: they were in another currency.`,
              ),
            ]
          : []),
        ...(asked.length ? [] : [text(say`A steward changes them: /setup rate:45 region:AU`)]),
      ],
      data: {
        settings: after,
        defaults: optionNames.filter(isDefault),
        changed,
        before,
      } satisfies z.infer<typeof setupData>,
    });
  },
});
