/** What follows from the country a collective works in: currency, region, time zone, whom to call and whose law. */
import countryToCurrency from 'country-to-currency';
import { z } from 'zod';
import { type Service, services } from '../../knowledge/schema.ts';
import { type CollectiveSettings, settingsSchema } from '../../shared/collective/collective-settings.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, joined, packText, say, typed } from '../../shared/language/say.ts';
import { lawFor } from '../../shared/pairing/law.ts';
import { disposalAdvice, emergencyNumber, LOCAL_CODES } from '../../shared/safety/cautions.ts';
import type { Context } from '../framework/context.ts';
import { lookupOption, type Option, optional } from '../framework/option.ts';
import { type DraftBlock, type DraftChoice, facts, text } from '../framework/reply.ts';
import { countries } from './iso-lookups.ts';

export const offerSchema = z.object({
  /** ISO 3166-1. */
  region: z.string(),
  /** ISO 4217; null where none is known, or where amounts are kept in another one. */
  currency: settingsSchema.shape.currency.nullable(),
  /** IANA, those of the country that keep different times. */
  zones: z.array(z.string()),
});
type Offer = z.infer<typeof offerSchema>;

const named = lookupOption({
  summary: say`A country: sets currency, region and zone in one go, after a yes`,
  example: 'Australia',
  lookup: countries,
});
/** Read as the region alone: the rest is offered. */
export const countryOption: Option<Partial<CollectiveSettings>, false> = optional({
  ...named,
  schema: (context) => named.schema(context).transform(({ id }) => ({ region: id })),
});

const serviceWords: Readonly<Record<Service, Message>> = {
  fire: say`Fire`,
  ambulance: say`Ambulance`,
  police: say`Police`,
  poison: say`Poison line`,
};

/** As many as can be tapped with ease. */
const MOST_ZONES = 20;
const JANUARY = Date.UTC(2026, 0, 15);
const JULY = Date.UTC(2026, 6, 15);

const withZones = z.object({ timeZones: z.array(z.string()).optional() });
const currencyOf = z.record(z.string(), z.string());

const offset = (zone: string, at: number): string =>
  new Intl.DateTimeFormat('en', { timeZone: zone, timeZoneName: 'longOffset' })
    .formatToParts(at)
    .find(({ type }) => type === 'timeZoneName')?.value ?? '';

/** Time zones of a country (CLDR, through Intl): all, or where there are many one for each clock that is kept there. */
function zonesOf(country: string): string[] {
  const all = withZones.parse(new Intl.Locale(`und-${country}`)).timeZones ?? [];
  const plain = all.filter((zone) => zone.split('/').length === 2 && !zone.startsWith('Antarctica/'));
  const zones = plain.length ? plain : all;
  if (zones.length <= MOST_ZONES) return zones;
  const clocks = new Map<string, string>();
  for (const zone of zones) {
    const clock = `${offset(zone, JANUARY)} ${offset(zone, JULY)}`;
    if (!clocks.has(clock)) clocks.set(clock, zone);
  }
  return [...clocks.values()];
}

/** @param keepsCurrency amounts are kept in the present currency, so it stays. */
export function offerFor(country: string, keepsCurrency: boolean): Offer {
  const currency = settingsSchema.shape.currency.safeParse(currencyOf.parse(countryToCurrency)[country]);
  return {
    region: country,
    currency: keepsCurrency || !currency.success ? null : currency.data,
    zones: zonesOf(country),
  };
}

const clockIn = (zone: string, at: Date): string =>
  new Intl.DateTimeFormat('en-GB', { timeZone: zone, timeStyle: 'short' }).format(at);

/** What would be set and what it brings, to be said yes to. */
export function offerBlocks(offer: Offer, { knowledge, collective, now }: Context): DraftBlock[] {
  const { settings } = collective;
  const law = lawFor(knowledge, offer.region, now, undefined, offer.zones[0] ?? settings.zone);
  const found = [...law.inForce, ...law.toCome, ...law.undated].filter(({ topic }) => topic !== 'none-found');
  const state = law.hint && 'example' in law.hint ? law.hint.example : null;
  return [
    facts([
      [say`Region`, typed(offer.region)],
      [
        say`Currency`,
        offer.currency === null ? say`${typed(settings.currency)}, as it is` : typed(offer.currency),
      ],
      ...services.map(
        (service) => [serviceWords[service], emergencyNumber(knowledge, offer.region, service)] as const,
      ),
    ]),
    text(
      joined([
        packText(LOCAL_CODES),
        found.length
          ? joined([
              counted(
                found.length,
                '{0} law of that place bears on the work.',
                '{0} laws of that place bear on the work.',
              ),
              say`/paired tells each beside what it is about.`,
            ])
          : say`No law of that place is known here: ask there what a bench may do.`,
        ...(state === null ? [] : [say`A state has its own besides: /setup region:${typed(state)}`]),
      ]),
    ),
    text(disposalAdvice(knowledge, offer.region)),
  ];
}

/** A choice for each clock of the country; of one clock, a plain yes. */
export function offerChoices(
  offer: Offer,
  others: Readonly<Record<string, string>>,
  now: Date,
): DraftChoice[] {
  const choice = (label: Message, zone: string | null): DraftChoice => ({
    label,
    invoke: {
      command: 'setup',
      action: 'change',
      options: {
        region: offer.region,
        ...(offer.currency === null ? {} : { currency: offer.currency }),
        ...(zone === null ? {} : { zone }),
        ...others,
      },
    },
  });
  const [only, ...more] = offer.zones;
  if (more.length === 0) return [choice(say`Yes, set it so`, only ?? null)];
  return offer.zones.map((zone) =>
    choice(say`Yes, with ${typed(zone)} (now ${typed(clockIn(zone, now))})`, zone),
  );
}
