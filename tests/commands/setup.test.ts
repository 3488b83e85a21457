import { beforeEach, describe, expect, it } from 'vitest';
import { family } from '../../commands/family/index.ts';
import { defineCommand, usage } from '../../commands/framework/command.ts';
import { choiceOption } from '../../commands/framework/option.ts';
import type { Reply } from '../../commands/framework/reply.ts';
import { prices } from '../../commands/prices/index.ts';
import { setupChangeFor, setupData } from '../../commands/setup/change.ts';
import { setup } from '../../commands/setup/index.ts';
import { countries, countryCodes } from '../../commands/setup/iso-lookups.ts';
import { offerFor } from '../../commands/setup/place.ts';
import { settings as allSettings, setting } from '../../commands/setup/settings.ts';
import { defaultSettings, settingsSchema } from '../../shared/collective/collective-settings.ts';
import { typed } from '../../shared/language/say.ts';
import { refusalOf, type TestBot, testBot } from '../test-bot.ts';

let tin: TestBot;
beforeEach(() => {
  tin = testBot({ commands: [setup, family, prices] });
});
const steward = { role: 'steward' } as const;
const settings = () => tin.database.collectives.find('Tin Shed')?.settings;

/** The rows of the tables of a reply. */
const rowsOf = ({ blocks }: Reply): string[][] =>
  blocks.flatMap((block) => (block.kind === 'table' ? block.rows : []));

describe('/setup', () => {
  it('alone shows every setting to anybody, with the defaults marked, and saves nothing', () => {
    tin.say('/setup');
    const before = tin.dump();
    const shown = tin.say('/setup', { role: 'visitor' });
    expect(shown.outcome).toBe('answered');
    const data = setupData.parse(shown.data);
    expect(data.defaults).toEqual([
      'currency',
      'rate',
      'margin',
      'bear',
      'service',
      'selling-cost',
      'promise',
      'supplier',
      'margin-tax',
      'language',
      'week-day',
      'week-hour',
      'notes-kept',
    ]);
    const table = shown.blocks.find(({ kind }) => kind === 'table');
    expect(table?.kind === 'table' ? table.rows.map(([name]) => name) : []).toEqual(
      Object.keys(setup.actions.change?.options ?? {}).filter((name) => name !== 'place'),
    );
    expect(tin.dump()).toEqual(before);
  });

  it('changes what a steward says, and shows what was', () => {
    const changed = tin.say(
      '/setup rate:45 margin:"15 %" bear:200 service:70 selling-cost:8% margin-tax:10 region:us-or zone:europe/berlin',
      steward,
    );
    expect(settings()).toEqual({
      currency: 'AUD',
      hourlyRate: 45,
      margin: 0.15,
      bearable: 200,
      serviceFee: 70,
      sellingCost: 0.08,
      promisedDays: 0,
      pageSupplier: false,
      marginTax: 10,
      region: 'US-OR',
      zone: 'Europe/Berlin',
      weekOn: true,
      weekDay: 1,
      weekHour: 9,
      language: 'en',
      notesKeptDays: 90,
    });
    expect(setupData.parse(changed.data)).toMatchObject({
      changed: expect.arrayContaining(['margin']),
      before: { margin: 0.1 },
      settings: { margin: 0.15 },
    });
    expect(rowsOf(changed)).toContainEqual(['margin', '10 %', '15 %']);
    expect(tin.say('/setup rate:45', steward).title).toBe('Nothing changed: it was so already');
  });

  it('takes a country in one go: shown first, saved by a yes with a clock of that country', () => {
    tin.say('/setup rate:20', steward);
    const before = tin.dump();
    const offered = tin.say('/setup Brazil', steward);
    expect(offered.title).toContain('Brazil');
    expect(tin.dump().settings).toEqual(before.settings);
    const { offer } = setupData.parse(offered.data);
    expect(offer).toMatchObject({ region: 'BR', currency: 'BRL' });
    const shown = offered.blocks.flatMap((block) => (block.kind === 'facts' ? block.facts : []));
    // The fire service and the ambulance have numbers of their own there.
    expect(shown.map(({ value }) => value)).toEqual(expect.arrayContaining(['193', '192', '190']));
    expect(offered.choices).toHaveLength(offer?.zones.length ?? 0);
    const bahia = offered.choices.find(({ label }) => label.includes('America/Bahia'));
    tin.say({ token: bahia?.token ?? '' }, steward);
    expect(settings()).toMatchObject({ region: 'BR', currency: 'BRL', zone: 'America/Bahia' });
  });

  it('keeps the currency of a collective that has amounts, whatever the country', () => {
    tin.say('/family name model:"Orrin K3" as:glued-front-home-sensor new-price:749', steward);
    const offered = tin.say('/setup UK rate:12', steward);
    expect(setupData.parse(offered.data).offer).toEqual({
      region: 'GB',
      currency: null,
      zones: ['Europe/London'],
    });
    tin.say({ token: offered.choices[0]?.token ?? '' }, steward);
    expect(settings()).toMatchObject({
      region: 'GB',
      currency: 'AUD',
      zone: 'Europe/London',
      hourlyRate: 12,
    });
  });

  it.each([
    ['Australia', 'AU'],
    ['USA', 'US'],
    ['u.s.a.', 'US'],
    ['the United States', 'US'],
    ['UK', 'GB'],
    ['Great Britain', 'GB'],
    ['england', 'GB'],
    ['Großbritannien', 'GB'],
    ['grossbritannien', 'GB'],
    ['Holland', 'NL'],
    ['the Netherlands', 'NL'],
    ['Nederland', 'NL'],
    ['Deutschland', 'DE'],
    ['ALLEMAGNE', 'DE'],
    ['Österreich', 'AT'],
    ['Osterreich', 'AT'],
    ['oesterreich', 'AT'],
    ['Schweiz', 'CH'],
    ['die Schweiz', 'CH'],
    ['la Suisse', 'CH'],
    ['Svizzera', null],
    ['España', 'ES'],
    ['Sverige', 'SE'],
    ['Türkei', 'TR'],
    ['turkey', 'TR'],
    ['Czech Republic', 'CZ'],
    ['Neuseeland', 'NZ'],
    ['Aotearoa', 'NZ'],
    ['RU', 'RU'],
    ['ru', 'RU'],
    ['Atlantis', null],
  ])('knows the country that people call %s', (name, region) => {
    for (const language of ['en', 'de']) {
      tin.say(`/setup language:${language}`, steward);
      const offered = tin.say(`/setup "${name}"`, steward);
      if (region) expect(setupData.parse(offered.data).offer?.region).toBe(region);
      else expect(refusalOf(offered)?.code).toBe('not-found');
    }
    if (region) {
      const bare = tin.say(`/setup ${name}`, steward);
      expect(setupData.parse(bare.data).offer?.region).toBe(region);
    }
  });

  it('knows each country by its name in each language that is read, and no two by one', () => {
    for (const language of ['en', 'de', 'nl', 'fr', 'es']) {
      const names = new Intl.DisplayNames([language], { type: 'region' });
      const found = countryCodes().map(
        (code) => countries.find(names.of(code) ?? '', countries.entries(tin.context()))?.id,
      );
      expect(found).toEqual(countryCodes());
    }
  });

  it('offers for every country of ISO 3166-1 only what can be saved', () => {
    for (const code of countryCodes()) {
      const { zones, currency } = offerFor(code, false);
      for (const zone of zones.length ? zones : ['UTC'])
        settingsSchema.parse({ ...defaultSettings, region: code, zone, currency: currency ?? 'AUD' });
      expect(zones.length, code).toBeLessThanOrEqual(20);
    }
  });

  it('takes the day and hour of the weekly post, and leaves it on or off', () => {
    const changed = tin.say('/setup week-day:Sunday week-hour:18', steward);
    expect(settings()).toMatchObject({ weekOn: true, weekDay: 7, weekHour: 18 });
    expect(rowsOf(changed)).toEqual([
      ['week-day', 'Monday', 'Sunday'],
      ['week-hour', '09:00', '18:00'],
    ]);
    for (const wrong of ['week-hour:24', 'week-hour:-1', 'week-day:someday']) {
      const before = tin.dump();
      expect(tin.say(`/setup ${wrong}`, steward).outcome).toBe('refused');
      expect(tin.dump()).toEqual(before);
    }
  });

  it('takes how long notes are kept, from 1 to 3650 days', () => {
    const changed = tin.say('/setup notes-kept:1', steward);
    expect(settings()?.notesKeptDays).toBe(1);
    expect(rowsOf(changed)).toEqual([['notes-kept', '90 days', '1 day']]);
    expect(tin.say('/setup notes-kept:3650', steward).outcome).toBe('answered');
    for (const wrong of ['0', '3651', '1.5', 'never']) {
      const before = tin.dump();
      expect(tin.say(`/setup notes-kept:${wrong}`, steward).outcome).toBe('refused');
      expect(tin.dump()).toEqual(before);
    }
  });

  it('takes a country or currency by its name, and 0 for time that is given', () => {
    tin.say('/setup currency:"Japanese Yen" region:japan rate:0', steward);
    expect(settings()).toMatchObject({ currency: 'JPY', region: 'JP', hourlyRate: 0 });
  });

  it('drops an hourly rate in the old currency when the currency changes', () => {
    tin.say('/setup rate:45', steward);
    const changed = tin.say('/setup currency:EUR', steward);
    expect(settings()).toMatchObject({ currency: 'EUR', hourlyRate: null });
    expect(JSON.stringify(changed.blocks)).toContain('went back to the reference');
  });

  it('says when the pack has no law of a state', () => {
    expect(JSON.stringify(tin.say('/setup region:AU-NSW', steward).blocks)).toContain('taken as written');
    expect(JSON.stringify(tin.say('/setup region:US-OR', steward).blocks)).not.toContain('taken as written');
  });

  it.each([
    ['/setup currency:XYZ', 'no currency is called "XYZ"'],
    ['/setup currency:AUS', 'no currency is called "AUS"'],
    ['/setup rate:-3', 'negative'],
    ['/setup rate:"EUR 30"', 'in EUR, not in AUD'],
    ['/setup margin:95%', 'not a share from 0 % to 90 %'],
    ['/setup bear:-1', 'negative'],
    ['/setup service:"EUR 30"', 'in EUR, not in AUD'],
    ['/setup selling-cost:60%', 'not a share from 0 % to 50 %'],
    ['/setup margin-tax:51', 'not a number from 0 to 50'],
    ['/setup region:XK', 'no region is called "XK"'],
    ['/setup Atlantis', 'no country is called "Atlantis"'],
    ['/setup region:EU', 'no region is called "EU"'],
    ['/setup region:XX-OR', 'no region is called "XX-OR"'],
    ['/setup zone:Mars/Olympus', 'no time zone is called "Mars/Olympus"'],
    ['/setup zone:+10:00', 'no time zone is called "+10:00"'],
    ['/setup rate:45 zone:Sidney', 'no time zone is called "Sidney"'],
  ])('refuses %s', (line, says) => {
    const before = tin.dump();
    const refused = tin.say(line, steward);
    expect(refused.outcome).toBe('refused');
    expect(refused.title).toContain(says);
    expect(refused.blocks.some(({ kind }) => kind === 'pointer')).toBe(true);
    expect(tin.dump()).toEqual(before);
  });

  it('asks whether you meant a near one', () => {
    expect(JSON.stringify(tin.say('/setup zone:Sidney', steward).blocks)).toContain('Australia/Sydney');
    expect(JSON.stringify(tin.say('/setup currency:AUS', steward).blocks)).toContain('AUD');
  });

  it.each(['visitor', 'member'] as const)('refuses a change by a %s', (role) => {
    const before = tin.dump();
    const refused = tin.say('/setup rate:45 margin:20%', { role });
    expect(refused.title).toBe(`Only a steward changes rate and margin; you are a ${role} here.`);
    expect(tin.dump()).toEqual(before);
  });

  it('keeps the currency while there are amounts in it, and says why', () => {
    tin.say('/family name "Orrin K3" as:glued-front-home-sensor new-price:649');
    tin.say('/prices add "Orrin K3" price:100');
    const before = tin.dump();
    const refused = tin.say('/setup currency:EUR', steward);
    expect(refused.title).toBe(
      'In another currency: 1 price and the price when new of Orrin K3. Amounts are never converted.',
    );
    expect(tin.dump()).toEqual(before);
    tin.say('/family forget "Orrin K3" prices:remove', steward);
    expect(tin.say('/setup currency:EUR', steward).outcome).toBe('answered');
  });
});

describe('the lists it reads', () => {
  it('has the 249 countries of ISO 3166-1', () => {
    // ISO 3166-1 has 249 officially assigned alpha-2 codes (from memory of the ISO Online Browsing Platform's count).
    expect(countryCodes()).toHaveLength(249);
    for (const code of ['AU', 'DE', 'GB', 'US', 'AQ', 'SS', 'BQ']) expect(countryCodes()).toContain(code);
    // Withdrawn, reserved or user-assigned.
    for (const code of ['UK', 'EU', 'DD', 'SU', 'AN', 'XK', 'ZZ']) expect(countryCodes()).not.toContain(code);
  });
});

describe('a setting', () => {
  it('is one entry: its option, its change, its display and its default follow', () => {
    const post = setting({
      key: 'weekOn',
      summary: typed('Whether the week is posted'),
      example: 'no',
      option: (base) => choiceOption({ ...base, choices: ['yes', 'no'] }),
      set: (given) => ({ weekOn: given === 'yes' }),
      shown: ({ weekOn }) => typed(weekOn ? 'posted' : 'kept quiet'),
    });
    const invented = defineCommand({
      name: 'setup',
      summary: typed('For this test'),
      main: 'change',
      actions: { change: setupChangeFor({ ...allSettings, post }) },
    });
    const bot = testBot({ commands: [invented] });
    expect(usage(invented, 'change')).toContain('[post:<…>]');
    expect(rowsOf(bot.say('/setup')).at(-1)).toEqual([
      'post',
      'posted',
      'default',
      'Whether the week is posted',
    ]);
    expect(bot.say('/setup post:maybe', steward).outcome).toBe('refused');
    expect(rowsOf(bot.say('/setup post:no', steward))).toEqual([['post', 'posted', 'kept quiet']]);
    expect(bot.database.collectives.find('Tin Shed')?.settings.weekOn).toBe(false);
    expect(setupData.parse(bot.say('/setup').data).defaults).not.toContain('post');
  });

  it('is there for all that is kept, but for what another command changes, and once', () => {
    const keys = Object.values(allSettings).map(({ key }) => key);
    expect(new Set(keys).size).toBe(keys.length);
    expect(Object.keys(settingsSchema.shape).filter((key) => !keys.some((one) => one === key))).toEqual([
      'weekOn',
    ]);
    // What goes back to its default has one that means the same in every currency.
    for (const { key, inCurrency } of Object.values(allSettings))
      if (inCurrency) expect(defaultSettings[key]).toBeNull();
  });
});
