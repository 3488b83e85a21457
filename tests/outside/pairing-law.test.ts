import { expect } from 'vitest';
import { lawFor } from '../../shared/pairing/law.ts';
import { testBot, wordsOf } from '../test-bot.ts';
import { outside } from './check.ts';
import { lesson, tin } from './said.ts';

const where = '/paired';
const dayBefore = (day: string): string =>
  new Date(Date.parse(`${day}T12:00:00Z`) - 86_400_000).toISOString().slice(0, 10);
const on = (region: string, day: string) => {
  const { inForce, toCome } = lawFor(tin().context().knowledge, region, new Date(`${day}T12:00:00Z`));
  return { inForce: inForce.map(({ id }) => id), toCome: toCome.map(({ id }) => id) };
};
const law = (id: string) => {
  const found = tin()
    .context()
    .knowledge.laws.find((one) => one.id === id);
  if (!found) throw new Error(`no law ${id}`);
  return found;
};
/** What `/paired` says of the law on the battery in a region on a day. */
const paired = (region: string, day: string, rest = 'component:battery') => {
  const one = testBot();
  one.store.saveSettings({ ...one.collective.settings, region });
  return one.say(`/paired gasketed-front-home-sensor ${rest}`, { now: new Date(`${day}T09:00:00Z`) });
};
/** A law of the pack, once `/paired` was seen to say it word for word in its region, its source named. */
const told = (id: string) => {
  const found = law(id);
  const [region = ''] = found.region;
  const reply = paired(region === 'EU' ? 'DE' : region, '2026-03-02', ALL);
  const lines = reply.blocks.flatMap((block) => (block.kind === 'steps' ? block.steps : []));
  const line = lines.find((one) => one.startsWith(found.title)) ?? '';
  for (const says of [...found.says, ...found.limits]) expect(line).toContain(says);
  const { ground } = found;
  if (typeof ground !== 'string') expect(reply.sources.map((one) => one.id)).toContain(ground.source);
  return found;
};
const ALL = 'component:battery lessons:all';

/** Law, region, first day, source. */
const firstDays: readonly (readonly [string, string, string, string, string, string])[] = [
  ['law-01', 'eu-serialised-parts', 'DE', '2025-06-20', 'eu-2023-1670', 'article 10'],
  ['law-02', 'eu-portable-batteries', 'FR', '2027-02-18', 'eu-2023-1542', 'article 96(2)(a)'],
  ['law-03', 'eu-repair-of-goods', 'IT', '2026-07-31', 'eu-2024-1799', ''],
  ['law-04', 'us-or-pairing', 'US-OR', '2025-01-01', 'oregon-sb-1596', ''],
  ['law-05', 'us-co-pairing', 'US-CO', '2026-01-01', 'colorado-hb24-1121', ''],
  ['law-06', 'us-wa-pairing', 'US-WA', '2026-01-01', 'washington-hb-1483', ''],
  ['law-07', 'us-ca-repair', 'US-CA', '2024-07-01', 'california-sb-244', ''],
  ['law-08', 'us-mn-repair', 'US-MN', '2024-07-01', 'minnesota-325e72', ''],
  ['law-09', 'us-ny-repair', 'US-NY', '2023-12-28', 'new-york-399-nn', ''],
  ['law-10', 'us-tx-repair', 'US-TX', '2026-09-01', 'texas-hb-2963', ''],
  ['law-11', 'ca-circumvention', 'CA', '2024-11-07', 'canada-c-244', ''],
  ['law-35', 'us-ct-repair', 'US-CT', '2026-07-01', 'connecticut-sb-3', ''],
  ['law-36', 'ca-qc-obsolescence', 'CA-QC', '2025-10-05', 'quebec-bill-29', ''],
  ['law-37', 'au-repair-notice', 'AU', '2011-07-01', 'accc-repair-notices', ''],
  ['law-38', 'eu-second-hand', 'AT', '2022-01-01', 'eu-2019-771', 'article 24'],
];
for (const [id, name, region, day, source, at] of firstDays) {
  outside(
    {
      id,
      what: `First day of "${law(name).title}" in ${region}`,
      value: day,
      source,
      ...(at ? { at } : {}),
      where,
    },
    () => {
      expect(on(region, day).inForce).toContain(name);
      expect(on(region, dayBefore(day))).toMatchObject({
        toCome: expect.arrayContaining([name]),
        inForce: expect.not.arrayContaining([name]),
      });
      // It reaches no place that is not its own.
      expect(on('JP', day).inForce).not.toContain(name);
      expect(law(name).ground).toMatchObject({ source });
      const reply = paired(region, day, ALL);
      expect(wordsOf(reply)).toContain(`${law(name).title}. In force since ${day}.`);
      expect(reply.sources.map((one) => one.id)).toContain(source);
      expect(wordsOf(paired(region, dayBefore(day), ALL))).toContain(
        `${law(name).title}. NOT YET IN FORCE: from ${day}.`,
      );
    },
  );
}

outside(
  {
    id: 'law-12',
    what: 'Access to the pairing software within',
    value: '3 working days',
    source: 'eu-2023-1670',
    at: 'Annex II Part B 1.1 (7)(e)',
    where,
  },
  () => {
    const words = wordsOf(paired('DE', '2026-03-02'));
    expect(words).toContain('3 working days');
    expect(words).toContain('In force since 2025-06-20');
  },
);

for (const [id, what, value, name, part, pattern, source, at] of [
  [
    'law-13',
    'What a maker may ask for',
    'notification and authorisation by the owner',
    'eu-serialised-parts',
    'says',
    /may ask only for notification and authorisation by the owner/,
    'eu-2023-1670',
    '(7)(d)',
  ],
  [
    'law-14',
    'How the procedure is told',
    'a free website; works remotely',
    'eu-serialised-parts',
    'says',
    /free website and must work remotely/,
    'eu-2023-1670',
    '(7)(c)',
  ],
  [
    'law-15',
    'It does not ban serialised parts; a review by',
    '20 September 2027',
    'eu-serialised-parts',
    'limits',
    /does not ban serialised parts.*20 September 2027/,
    'eu-2023-1670',
    'article 8(m)',
  ],
  [
    'law-16',
    'Spare parts stay available',
    '7 years after the last unit',
    'eu-spare-parts',
    'says',
    /at least 7 years after the last unit/,
    'eu-2023-1670',
    '(1)',
  ],
  [
    'law-17',
    'Delivery of spare parts',
    '5 working days, 10 after five years',
    'eu-spare-parts',
    'says',
    /5 working days in the first 5 years, 10 after that/,
    'eu-2023-1670',
    '(1)',
  ],
  [
    'law-18',
    'Prices of spare parts',
    'before tax on a free website, no cap',
    'eu-spare-parts',
    'says',
    /prices before tax stand on a free website/,
    'eu-2023-1670',
    '(4)',
  ],
  [
    'law-19',
    'Portable batteries come out by',
    'tools on sale; no heat, solvent or proprietary tool',
    'eu-portable-batteries',
    'says',
    /tools on sale, without heat, solvent or proprietary tools/,
    'eu-2023-1542',
    'article 11(1)',
  ],
  [
    'law-20',
    'Software and another compatible battery',
    'shall not impede',
    'eu-portable-batteries',
    'says',
    /Software shall not be used to impede/,
    'eu-2023-1542',
    'article 11(8)',
  ],
  [
    'law-21',
    'Spare batteries stay available',
    '5 years',
    'eu-portable-batteries',
    'says',
    /5 years after the last unit/,
    'eu-2023-1542',
    'article 11(7)',
  ],
  [
    'law-22',
    'Oregon: equipment that the pairing rule is for',
    'first made and sold after 1 January 2025',
    'us-or-pairing',
    'limits',
    /first made, and first sold or used in Oregon, after 1 January 2025/,
    'oregon-sb-1596',
    '',
  ],
  [
    'law-23',
    'Colorado: what may stay paired',
    'standalone biometric components',
    'us-co-pairing',
    'limits',
    /standalone biometric components used for authentication/,
    'colorado-hb24-1121',
    '',
  ],
  [
    'law-24',
    'Washington: before a device is accepted',
    'a written notice on privacy',
    'us-wa-pairing',
    'says',
    /written notice on privacy and security before accepting a device/,
    'washington-hb-1483',
    '',
  ],
  [
    'law-25',
    'California: years of parts by wholesale price',
    '3 at 50 to 99.99, 7 at 100 dollars',
    'us-ca-repair',
    'says',
    /3 years after last manufacture at a wholesale price of 50 to 99\.99 dollars, 7 years at 100/,
    'california-sb-244',
    '',
  ],
  [
    'law-26',
    'New York: outside the parts',
    'printed board assemblies',
    'us-ny-repair',
    'limits',
    /Printed board assemblies are outside the parts/,
    'new-york-399-nn',
    '',
  ],
  [
    'law-27',
    'United Kingdom: the repair regulations of 2021',
    'not for phones',
    'gb-no-pairing-law',
    'says',
    /phones are not among them/,
    'uk-ecodesign-2021',
    '',
  ],
  [
    'law-28',
    'Canada: circumvention to diagnose, maintain or repair',
    'also for another person',
    'ca-circumvention',
    'says',
    /diagnose, maintain or repair a product, for another person too/,
    'canada-c-244',
    'section 41.121',
  ],
  [
    'law-39',
    'Oregon: what a repairer who is not authorised says',
    'that, and whether parts are used or from others',
    'us-or-pairing',
    'says',
    /not authorised tells the customer so, and whether parts are used/,
    'oregon-sb-1596',
    '',
  ],
  [
    'law-40',
    'New York: the day from which products count',
    '1 July 2023, the act itself from 28 December 2023',
    'us-ny-repair',
    'limits',
    /1 July 2023 is the day from which products count.*28 December 2023/,
    'new-york-399-nn',
    '',
  ],
  [
    'law-41',
    'Texas: which devices',
    'sold after 1 September 2026, wholesale above 50 dollars',
    'us-tx-repair',
    'limits',
    /sold after 1 September 2026 at a wholesale price above 50 dollars/,
    'texas-hb-2963',
    '',
  ],
  [
    'law-42',
    'Texas: in place of parts',
    'a refund or a replacement for the first buyer',
    'us-tx-repair',
    'limits',
    /offer the first buyer a refund or an equal or better replacement/,
    'texas-hb-2963',
    '',
  ],
  [
    'law-43',
    'France: techniques, software included, that keep repair in approved channels',
    'forbidden',
    'fr-repair-made-impossible',
    'says',
    /Any technique, software included.*outside their approved channels is forbidden/,
    'fr-consommation-l441',
    'L441-3',
  ],
  [
    'law-44',
    'France: agreements that keep repairers from parts and tools',
    'forbidden',
    'fr-repair-made-impossible',
    'says',
    /limit the access of those who repair or refurbish to spare parts/,
    'fr-consommation-l441',
    'L441-4',
  ],
  [
    'law-45',
    'Quebec: parts go in',
    'with commonly available tools and without lasting damage',
    'ca-qc-obsolescence',
    'says',
    /commonly available tools and without lasting damage/,
    'quebec-bill-29',
    '',
  ],
  [
    'law-46',
    'Australia: notice before a phone is accepted',
    'data may be lost; refurbished parts in fixed words',
    'au-repair-notice',
    'says',
    /Goods presented for repair may be replaced by refurbished goods of the same type rather than being repaired\. Refurbished parts may be used to repair the goods\./,
    'accc-repair-notices',
    '',
  ],
  [
    'law-47',
    'EU repair of goods: the guarantee after a repair',
    '12 months longer, once',
    'eu-repair-of-goods',
    'says',
    /lasts 12 months longer, once/,
    'eu-2024-1799',
    '',
  ],
  [
    'law-48',
    'EU batteries: specialised tools',
    'only where they come free with the product',
    'eu-portable-batteries',
    'says',
    /without specialised tools unless those come free of charge with the product/,
    'eu-2023-1542',
    'article 11(1)',
  ],
  [
    'law-49',
    'EEA: both regulations on phones are of EEA relevance; what took effect there is not claimed',
    'Norway, Iceland, Liechtenstein',
    'eea-ecodesign',
    'limits',
    /once the EEA Joint Committee has taken them up; whether and when it did was not found/,
    'eu-2023-1670',
    'title',
  ],
  [
    'law-50',
    'EU: second-hand phones sold by a business',
    'two years, by agreement one at least',
    'eu-second-hand',
    'says',
    /two years.*not on less than one year/,
    'eu-2019-771',
    'article 10(6)',
  ],
  [
    'law-51',
    'Japan: what a registered repairer may mend',
    'listed parts that leave the radio as it was',
    'jp-registered-repairer',
    'says',
    /display, frame, microphone, speaker, camera, buttons, connector, vibrator, battery/,
    'japan-registered-repair',
    '',
  ],
] as const) {
  outside({ id, what, value, source, ...(at ? { at } : {}), where }, () => {
    expect(told(name)[part].join(' ')).toMatch(pattern);
    expect(told(name).ground).toMatchObject({ source });
  });
}

outside(
  {
    id: 'law-29',
    what: 'France: the index out of 10 ended for smartphones with the order of',
    value: '26 June 2025',
    source: ['fr-order-2025-06-26', 'fr-r541-214'],
    where,
  },
  () => {
    expect(on('FR', '2025-06-26').inForce).toEqual(expect.arrayContaining(['fr-index', 'fr-index-repealed']));
    expect(on('FR', '2025-06-27').inForce).not.toContain('fr-index');
    expect(on('FR', '2020-12-31').inForce).not.toContain('fr-index');
    expect(on('FR', '2021-01-01').inForce).toContain('fr-index');
    expect(paired('FR', '2025-06-26', ALL).sources.map(({ id }) => id)).toEqual(
      expect.arrayContaining(['fr-order-2025-06-26', 'fr-r541-214']),
    );
  },
);

outside(
  {
    id: 'law-30',
    what: 'Still to come on 17 February 2027, in force the day after: flagged in the reply',
    value: '2027-02-18',
    source: 'eu-2023-1542',
    at: 'article 96(2)(a)',
    where,
  },
  () => {
    expect(wordsOf(paired('DE', '2027-02-17'))).toContain('NOT YET IN FORCE: from 2027-02-18');
    expect(wordsOf(paired('DE', '2027-02-18'))).toContain('In force since 2027-02-18');
  },
);

outside(
  {
    id: 'law-31',
    what: 'Australia: nothing found is said as just that',
    value: 'no proof that nothing exists',
    source: 'productivity-commission-2021',
    where,
  },
  () => {
    const reply = paired('AU', '2026-03-02');
    expect(wordsOf(reply)).toContain('Nothing found is not proof that nothing exists');
    expect(reply.sources.map(({ id }) => id)).toContain('productivity-commission-2021');
  },
);

outside(
  {
    id: 'law-32',
    what: 'A spare part may be a used part',
    value: 'in the definition itself',
    source: 'eu-2023-1670',
    at: 'Annex I (3)',
    where,
  },
  () => {
    expect(lesson('used-spares', 'mainboard')).toMatchObject({
      source: 'eu-2023-1670',
      says: expect.stringContaining('may be a used part'),
    });
  },
);

/** Names of Annex II that the pack uses, by component. */
const names = {
  battery: 'battery',
  'display-assembly': 'display assembly',
  'back-cover': 'back cover',
  'front-camera': 'front-facing camera assembly',
  'rear-camera': 'rear-facing camera assembly',
  'charging-port': 'external charging port',
  'audio-connector': 'external audio connector',
  'mechanical-button': 'mechanical button',
  'main-microphone': 'main microphone',
  'auxiliary-microphone': 'auxiliary microphone',
  speaker: 'speaker',
  'hinge-assembly': 'hinge assembly',
  'folding-mechanism': 'mechanical display folding mechanism',
  'sim-tray': 'SIM tray and memory card tray',
  'protective-foil': 'protective foil for foldable display',
} as const;
outside(
  {
    id: 'law-33',
    what: 'Components by their names in the regulation',
    value: `${Object.keys(names).length} names`,
    source: 'eu-2023-1670',
    at: 'Annex I (11) to (26), Annex II',
    where: 'knowledge/pack/components.yaml',
  },
  () => {
    const own = [...tin().context().knowledge.components.values()].filter(({ annexName }) => annexName);
    expect(Object.fromEntries(own.map(({ id, name }) => [id, name]))).toEqual(names);
  },
);

outside(
  {
    id: 'law-34',
    what: 'Without an entry of their own: mainboard, fingerprint sensor, earpiece, vibration motor, antenna',
    value: '5 names are the trade’s',
    source: 'eu-2023-1670',
    at: 'Annex II',
    where: 'knowledge/pack/components.yaml',
  },
  () => {
    const { components } = tin().context().knowledge;
    for (const id of ['mainboard', 'fingerprint-sensor', 'earpiece', 'vibration-motor', 'antenna'])
      expect(components.get(id)).toMatchObject({ annexName: false });
  },
);

for (const [id, what, value, component, family, source, pattern] of [
  [
    'pair-01',
    'Fingerprint templates are signed with a key of the device',
    'enrol again after a swap',
    'fingerprint-sensor',
    'clipped-metal-rear-sensor',
    'aosp-fingerprint-hal',
    /enrolled fingerprints do not come with the sensor/,
  ],
  [
    'pair-02',
    'The platform asks for a secure channel, not for pairing',
    'said of the sensor below a display',
    'fingerprint-sensor',
    'glued-back-under-display',
    'aosp-cdd',
    /asks for a secure channel from the sensor, not for pairing/,
  ],
  [
    'pair-03',
    'Battery status of the platform',
    'unsupported 0, original 1, replaced 2',
    'battery',
    'glued-back-under-display',
    'android-part-status',
    /unsupported, original and replaced only/,
  ],
  [
    'pair-04',
    'A key challenge shows the key, not one phone',
    '128-bit key',
    'battery',
    'glued-back-under-display',
    'ti-bq26100',
    /shows the key, not that the pack belongs to this phone/,
  ],
  [
    'pair-05',
    'Camera modules carry their own calibration',
    'data travel with the module',
    'rear-camera',
    'glued-back-under-display',
    'camera-eeprom',
    /data of one module travel with it/,
  ],
  [
    'pair-06',
    'Panels are measured one by one; where the data stay is not published',
    'evenness may differ',
    'display-assembly',
    'glued-back-under-display',
    'oled-compensation',
    /differs by model and is seldom published/,
  ],
  [
    'pair-07',
    'An operator profile is in a chip on the board',
    'a new profile from the operator',
    'mainboard',
    'glued-back-under-display',
    'aosp-esim',
    /Ask the operator for a new profile/,
  ],
] as const) {
  outside({ id, what, value, source, where }, () => {
    const reply = testBot().say(`/paired ${family} component:${component}`);
    expect(wordsOf(reply)).toMatch(pattern);
    expect(reply.sources.map((one) => one.id)).toContain(source);
  });
}

outside(
  {
    id: 'law-52',
    what: 'Northern Ireland: Regulation (EU) 2023/1670 applies, Great Britain has no such rule',
    value: 'GB-NIR, not GB',
    source: 'uk-scrutiny-2024',
    where,
  },
  () => {
    expect(on('GB-NIR', '2026-03-02').inForce).toContain('eu-serialised-parts');
    expect(on('GB', '2026-03-02').inForce).not.toContain('eu-serialised-parts');
    expect(law('gb-no-pairing-law').limits.join(' ')).toContain('GB-NIR');
  },
);
