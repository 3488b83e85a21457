/**
 * The collective's settings as `/setup` has them: an entry for each, from which its option, its change, how it is shown and its
 * row in the list of commands follow. What may be saved is in `settingsSchema`.
 */
import type { CollectiveSettings } from '../../shared/collective/collective-settings.ts';
import { languages } from '../../shared/language/locale.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, dateOf, plain, quantity, say, typed } from '../../shared/language/say.ts';
import { amount, fromMajor, toMajor } from '../../shared/money/money.ts';
import { referenceHour } from '../../shared/money/reference-hour.ts';
import { bearableByDefault } from '../../shared/worth/verdict.ts';
import {
  choiceOption,
  integerOption,
  lookupOption,
  moneyOption,
  numberOption,
  type Option,
  optional,
  shareOption,
} from '../framework/option.ts';
import { percent } from '../shared/words.ts';
import { currencies, regions, zones } from './iso-lookups.ts';

type Patch = Partial<CollectiveSettings>;

export interface Setting {
  /** The setting that it changes. */
  key: keyof CollectiveSettings;
  summary: Message;
  /** Reads what was typed as the change that it means. */
  option: Option<Patch, false>;
  /** The value as people read it. */
  shown: (settings: CollectiveSettings) => Message;
  /** An amount: it means nothing in another currency and goes back to its default then, which these words say. */
  inCurrency?: Message;
}

export function setting<T>({
  option,
  set,
  standard,
  ...entry
}: Omit<Setting, 'option'> & {
  option: (base: { summary: Message; example: string }) => Option<T, true>;
  example: string;
  set: (given: T) => Patch;
  /** The standard whose codes are taken. */
  standard?: string;
}): Setting {
  const { summary, example } = entry;
  const words = standard === undefined ? summary : plain`${summary} (${typed(standard)})`;
  const made = option({ summary: words, example });
  const read: Option<Patch, true> = { ...made, schema: (context) => made.schema(context).transform(set) };
  return { ...entry, option: optional(read) };
}

/** In the order of ISO 8601. */
const weekDays = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'] as const;

const hourText = (hour: number): string => `${String(hour).padStart(2, '0')}:00`;

const wentBack = say`What you can bear and the service’s fee went back to what is assumed: they were in another currency.`;

/** By the name of the option, in the order in which they are shown. */
export const settings: Readonly<Record<string, Setting>> = {
  currency: setting({
    key: 'currency',
    summary: say`All prices are in it`,
    standard: 'ISO 4217',
    example: 'AUD',
    option: (base) => lookupOption({ ...base, lookup: currencies }),
    set: ({ id }) => ({ currency: id }),
    shown: ({ currency }) => typed(currency),
  }),
  rate: setting({
    key: 'hourlyRate',
    summary: say`What an hour at the bench costs; 0 when you give your time`,
    example: '45',
    option: moneyOption,
    set: (given) => ({ hourlyRate: toMajor(given) }),
    shown: ({ hourlyRate, currency }) =>
      hourlyRate === null
        ? say`${amount(referenceHour(currency).rate)}, a rough reference`
        : amount(fromMajor(hourlyRate, currency)),
    inCurrency: say`The hourly rate went back to the reference: the old one was in another currency.`,
  }),
  margin: setting({
    key: 'margin',
    summary: say`The least that a restored phone should leave, as a share of its sale price`,
    example: '15 %',
    option: (base) => shareOption({ ...base, max: 0.9 }),
    set: (margin) => ({ margin }),
    shown: ({ margin }) => percent(margin),
  }),
  bear: setting({
    key: 'bearable',
    summary: say`The most that one phone may cost you when it goes badly, one time in ten`,
    example: '200',
    option: moneyOption,
    set: (given) => ({ bearable: toMajor(given) }),
    shown: ({ bearable, currency }) =>
      bearable === null
        ? say`${amount(fromMajor(bearableByDefault(toMajor(referenceHour(currency).rate)), currency))}, a rough reference`
        : amount(fromMajor(bearable, currency)),
    inCurrency: wentBack,
  }),
  service: setting({
    key: 'serviceFee',
    summary: say`What a service asks to take out a dangerous cell and fit a new one`,
    example: '70',
    option: moneyOption,
    set: (given) => ({ serviceFee: toMajor(given) }),
    shown: ({ serviceFee, currency }) =>
      serviceFee === null ? say`an hour and the cell, assumed` : amount(fromMajor(serviceFee, currency)),
    inCurrency: wentBack,
  }),
  'selling-cost': setting({
    key: 'sellingCost',
    summary: say`What selling costs, as a share of the sale price`,
    example: '8 %',
    option: (base) => shareOption({ ...base, max: 0.5 }),
    set: (sellingCost) => ({ sellingCost }),
    shown: ({ sellingCost }) => percent(sellingCost),
  }),
  promise: setting({
    key: 'promisedDays',
    summary: say`How many days what was fitted is promised to last; 0: nothing is promised`,
    example: '90',
    option: (base) => integerOption({ ...base, min: 0, max: 3650 }),
    set: (promisedDays) => ({ promisedDays }),
    shown: ({ promisedDays }) =>
      promisedDays ? counted(promisedDays, '{0} day', '{0} days') : say`nothing is promised`,
  }),
  supplier: setting({
    key: 'pageSupplier',
    summary: say`Whether the hand-over page says from whom a part came`,
    example: 'shown',
    option: (base) => choiceOption({ ...base, choices: ['shown', 'hidden'] }),
    set: (given) => ({ pageSupplier: given === 'shown' }),
    shown: ({ pageSupplier }) =>
      pageSupplier ? say`shown on the hand-over page` : say`not on the hand-over page`,
  }),
  'margin-tax': setting({
    key: 'marginTax',
    summary: say`Tax on the dealer's margin, in percent; 0 where there is none`,
    example: '10',
    option: (base) => numberOption({ ...base, min: 0, max: 50 }),
    set: (marginTax) => ({ marginTax }),
    shown: ({ marginTax }) => quantity(marginTax, '%'),
  }),
  region: setting({
    key: 'region',
    summary: say`Whose law, emergency number and disposal advice are shown`,
    standard: 'ISO 3166',
    example: 'AU',
    option: (base) => lookupOption({ ...base, lookup: regions }),
    set: ({ id }) => ({ region: id }),
    shown: ({ region }) => (region === null ? say`not set` : typed(region)),
  }),
  zone: setting({
    key: 'zone',
    summary: say`In which days and weeks are counted`,
    standard: 'IANA',
    example: 'Australia/Sydney',
    option: (base) => lookupOption({ ...base, lookup: zones }),
    set: ({ id }) => ({ zone: id }),
    shown: ({ zone }) => typed(zone),
  }),
  language: setting({
    key: 'language',
    summary: say`What the bot speaks in a room; in private it follows your client`,
    example: 'en',
    option: (base) => choiceOption({ ...base, choices: languages }),
    set: (language) => ({ language }),
    shown: ({ language }) => typed(language),
  }),
  'week-day': setting({
    key: 'weekDay',
    summary: say`On which day the weekly post goes out`,
    example: 'monday',
    option: (base) => choiceOption({ ...base, choices: weekDays }),
    set: (day) => ({ weekDay: weekDays.indexOf(day) + 1 }),
    shown: ({ weekDay }) =>
      dateOf(new Date(Date.UTC(2024, 0, weekDay)), { timeZone: 'UTC', weekday: 'long' }),
  }),
  'week-hour': setting({
    key: 'weekHour',
    summary: say`From which hour on that day, 0 to 23`,
    example: '9',
    option: (base) => integerOption({ ...base, min: 0, max: 23 }),
    set: (weekHour) => ({ weekHour }),
    shown: ({ weekHour, weekOn }) =>
      weekOn ? typed(hourText(weekHour)) : say`${typed(hourText(weekHour))}, but the post is off`,
  }),
  'notes-kept': setting({
    key: 'notesKeptDays',
    summary: say`How many days private notes are kept after their job is closed`,
    example: '90',
    option: (base) => integerOption({ ...base, min: 1, max: 3650 }),
    set: (notesKeptDays) => ({ notesKeptDays }),
    shown: ({ notesKeptDays }) => counted(notesKeptDays, '{0} day', '{0} days'),
  }),
};
