import { z } from 'zod';
import { languages } from '../language/locale.ts';
import { currencySchema } from '../money/money.ts';

/** Settings of a collective, as saved. All have a sensible default, so that the bot works before it is set up. */
export const settingsSchema = z.object({
  currency: currencySchema.default('AUD'),
  /** Major units an hour; null: the reference hour of the currency. 0 is a collective that gives its time. */
  hourlyRate: z.number().min(0).max(1e6).nullable().default(null),
  /** Margin wanted on a restored phone, as a share of its sale price. */
  margin: z.number().min(0).max(0.9).default(0.1),
  /** The most that one phone may cost in the worst tenth of what can happen, major units; null: eight reference hours. */
  bearable: z.number().min(0).max(1e9).nullable().default(null),
  /** What a service asks to take out a dangerous cell, with the new one, major units; null: assumed. */
  serviceFee: z.number().min(0).max(1e9).nullable().default(null),
  /** Cost of selling, as a share of the sale price. */
  sellingCost: z.number().min(0).max(0.5).default(0.05),
  /** Days for which the next owner is promised what was fitted; 0: nothing is promised. */
  promisedDays: z.number().int().min(0).max(3650).default(0),
  /** Whether the hand-over page says from whom a part came. */
  pageSupplier: z.boolean().default(false),
  /** Tax on the dealer's margin, in percent of the price before tax; 0: none. */
  marginTax: z.number().min(0).max(50).default(0),
  /** ISO 3166-1 alpha-2, or 3166-2 for a state; null: not set. */
  region: z
    .string()
    .regex(/^[A-Z]{2}(-[A-Z0-9]{1,3})?$/)
    .nullable()
    .default(null),
  zone: z.string().default('UTC'),
  /** What the bot speaks, ISO 639-1. */
  language: z.enum(languages).default('en'),
  /** Whether the weekly post goes out, on which day (Monday 1 to Sunday 7) and at which hour of the zone's clocks. */
  weekOn: z.boolean().default(true),
  weekDay: z.number().int().min(1).max(7).default(1),
  weekHour: z.number().int().min(0).max(23).default(9),
  /** How many days private notes are kept after their job is closed. */
  notesKeptDays: z.number().int().min(1).max(3650).default(90),
});
export type CollectiveSettings = Readonly<z.infer<typeof settingsSchema>>;
export const defaultSettings: CollectiveSettings = settingsSchema.parse({});

export interface Collective {
  id: number;
  name: string;
  settings: CollectiveSettings;
}
