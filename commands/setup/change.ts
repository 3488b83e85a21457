/** `/setup`: shows and changes the collective's settings. */

import { z } from 'zod';
import {
  type CollectiveSettings,
  defaultSettings,
  settingsSchema,
} from '../../shared/collective/collective-settings.ts';
import type { Message } from '../../shared/language/message.ts';
import { counted, listWords, plain, say, typed, verbatim } from '../../shared/language/say.ts';
import { roleWords } from '../framework/admission.ts';
import { defineAction } from '../framework/command.ts';
import type { Context } from '../framework/context.ts';
import { Refusal } from '../framework/refusal.ts';
import { type DraftBlock, reply, table, text } from '../framework/reply.ts';
import { countryName, regions } from './iso-lookups.ts';
import { countryOption, offerBlocks, offerChoices, offerFor, offerSchema } from './place.ts';
import { type Setting, settings } from './settings.ts';

export const setupData = z.object({
  settings: settingsSchema,
  /** Names of the settings that are as they come. */
  defaults: z.array(z.string()),
  /** Names of the settings that were changed, and how all were before. */
  changed: z.array(z.string()),
  before: settingsSchema,
  /** What a country that was named would set; null where none was. */
  offer: offerSchema.nullable(),
});

const amountsNotIn = (currency: string, { store }: Context) => ({
  prices: store.sightings.count({ notIn: currency }),
  models: store.models.list().filter(({ newPrice }) => newPrice && newPrice.currency !== currency),
});

/** What a country would set, shown for a yes. Nothing is saved. */
function placeReply(
  country: string,
  texts: Readonly<Record<string, string>>,
  asItIs: Omit<z.infer<typeof setupData>, 'offer'>,
  context: Context,
) {
  const { currency } = context.collective.settings;
  const asked = offerFor(country, false);
  const held = amountsNotIn(asked.currency ?? currency, context);
  const offer = held.prices || held.models.length ? offerFor(country, true) : asked;
  const { place: _, ...others } = texts;
  return reply({
    title: say`${verbatim(countryName(country, context.locale))}: set it so?`,
    blocks: offerBlocks(offer, context),
    choices: offerChoices(offer, others, context.now),
    data: { ...asItIs, offer },
  });
}

/** Amounts are never converted, so a collective that has some keeps its currency. */
function checkCurrency(currency: string, context: Context): void {
  const { prices, models } = amountsNotIn(currency, context);
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

/** The settings with what was asked for changed. Refuses what cannot be saved. */
function changedSettings(
  all: Readonly<Record<string, Setting>>,
  patches: readonly Partial<CollectiveSettings>[],
  context: Context,
): CollectiveSettings {
  const before = context.collective.settings;
  const asked: Partial<CollectiveSettings> = Object.assign({}, ...patches);
  const moved = asked.currency !== undefined && asked.currency !== before.currency;
  if (moved && asked.currency !== undefined) checkCurrency(asked.currency, context);
  // An amount in the old currency means nothing in the new one.
  const reset = Object.values(all)
    .filter(({ inCurrency }) => moved && inCurrency)
    .map(({ key }) => [key, defaultSettings[key]] as const);
  const read = settingsSchema.safeParse({ ...before, ...Object.fromEntries(reset), ...asked });
  if (read.success) return read.data;
  const key = read.error.issues[0]?.path[0];
  const option = Object.keys(all).find((name) => all[name]?.key === key);
  throw new Refusal({
    code: 'bad-option',
    problem: option
      ? plain`${typed(option)}: ${say`out of its range`}.`
      : say`A setting is out of its range.`,
    ...(option ? { option } : {}),
  });
}

type Settings = Readonly<Record<string, Setting>>;

const shownAs = (all: Settings, name: string, of: CollectiveSettings): Message =>
  all[name]?.shown(of) ?? typed('');
const keptAs = (all: Settings, name: string, of: CollectiveSettings) => of[all[name]?.key ?? 'currency'];
const defaultsOf = (all: Settings, of: CollectiveSettings): string[] =>
  Object.keys(all).filter((name) => keptAs(all, name, of) === keptAs(all, name, defaultSettings));

function checkSteward({ person }: Context, asked: readonly string[]): void {
  if (asked.length && person.role !== 'steward') {
    throw new Refusal({
      code: 'not-allowed',
      problem: say`Only a steward changes ${listWords(asked.map((one) => typed(one)))}; you are a ${roleWords[person.role]} here.`,
      expected: say`to ask a steward; /setup alone shows the settings`,
      example: '/setup',
      ...(asked[0] ? { option: asked[0] } : {}),
    });
  }
}

function settingsTable(
  all: Settings,
  changed: readonly string[],
  before: CollectiveSettings,
  after: CollectiveSettings,
): DraftBlock {
  if (changed.length)
    return table(
      [say`Setting`, say`Was`, say`Is`],
      changed.map((name) => [typed(name), shownAs(all, name, before), shownAs(all, name, after)]),
    );
  const defaults = defaultsOf(all, after);
  return table(
    [say`Setting`, say`Is`, '', say`What it does`],
    Object.keys(all).map((name) => [
      typed(name),
      shownAs(all, name, after),
      defaults.includes(name) ? say`default` : '',
      all[name]?.summary ?? '',
    ]),
  );
}

/** A state that the pack has no law of; null where the region was not named, or is known. */
function unknownState(
  context: Context,
  asked: readonly string[],
  { region }: CollectiveSettings,
): string | null {
  const isState = asked.includes('region') && (region ?? '').includes('-');
  return isState && !regions.entries(context).some(({ id }) => id === region) ? region : null;
}

/** `asked`: the settings that were named. */
function settingsReply(context: Context, all: Settings, asked: readonly string[], after: CollectiveSettings) {
  const { name: collective, settings: before } = context.collective;
  const changed = Object.keys(all).filter((name) => keptAs(all, name, after) !== keptAs(all, name, before));
  const wentBack = changed
    .filter((name) => !asked.includes(name))
    .flatMap((name) => all[name]?.inCurrency ?? []);
  const state = unknownState(context, asked, after);
  return reply({
    title: changed.length
      ? say`Changed: ${listWords(changed.map((name) => typed(name)))}`
      : asked.length
        ? say`Nothing changed: it was so already`
        : say`Settings of ${verbatim(collective)}`,
    tone: asked.length ? 'good' : 'plain',
    blocks: [
      settingsTable(all, changed, before, after),
      ...(state === null
        ? []
        : [
            text(
              say`${typed(state)} is taken as written: the pack has no law of that state, its country's is shown.`,
            ),
          ]),
      // Each once: several amounts may have the same words.
      ...[...new Set(wentBack)].map((words) => text(words)),
      ...(asked.length
        ? []
        : [
            text(
              say`A steward changes them: /setup Australia sets what a country brings, /setup rate:45 one thing`,
            ),
          ]),
    ],
    data: { settings: after, defaults: defaultsOf(all, after), changed, before, offer: null },
  });
}

/** `/setup change` for such settings. */
export const setupChangeFor = (all: Settings) => {
  const names = Object.keys(all);
  return defineAction({
    summary: say`Show or change the collective's currency, rate, margin, tax, region, time zone and weekly post`,
    options: Object.fromEntries([
      ['place', countryOption] as const,
      ...names.flatMap((name) => (all[name] ? [[name, all[name].option] as const] : [])),
    ]),
    examples: ['/setup', '/setup Australia', '/setup currency:AUD rate:45 region:AU zone:Australia/Sydney'],

    data: setupData,
    refuses: ['wrong-state', 'not-allowed'],
    run: (wanted, context, texts) => {
      const before = context.collective.settings;
      const country = wanted.place?.region ?? null;
      const asked = [...(country ? ['place'] : []), ...names.filter((name) => wanted[name] !== undefined)];
      checkSteward(context, asked);
      if (country) {
        const asItIs = { settings: before, defaults: defaultsOf(all, before), changed: [], before };
        return placeReply(country, texts, asItIs, context);
      }
      const patches = asked.flatMap((name) => wanted[name] ?? []);
      const after = asked.length ? changedSettings(all, patches, context) : before;
      if (asked.length) context.store.saveSettings(after);
      return settingsReply(context, all, asked, after);
    },
  });
};

export const setupChange = setupChangeFor(settings);
