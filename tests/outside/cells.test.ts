import { expect } from 'vitest';
import { barOn } from '../../shared/phone/state.ts';
import { testBot, wordsOf } from '../test-bot.ts';
import { outside } from './check.ts';
import { caution, lineOf, outcomeOf } from './said.ts';

const charging = '/caution unknown-cell';
const posting = '/caution posting-cells';
const storing = '/caution storing-cells';
const swollen = '/caution swollen-cell';

/** Limits of temperature for charging, in °C; the caution keeps to the narrower of two published ranges. */
outside(
  {
    id: 'cell-01',
    what: 'Consumer charging window',
    value: '0 to 40 °C',
    source: 'usfa-batteries',
    where: charging,
  },
  () => {
    const line = lineOf('unknown-cell', /^Charge at/);
    expect(line.source).toBe('usfa-batteries');
    expect(line.text).toContain('0 °C in fire service advice (0 to 40 °C)');
  },
);

outside(
  {
    id: 'cell-02',
    what: 'The upper end of the window is printed as 105 °F, which is more than the 40 °C beside it',
    value: '40.6 °C; 40 is used',
    source: 'usfa-batteries',
    known: 'computed',
    where: charging,
  },
  () => {
    const celsius = ((105 - 32) * 5) / 9;
    expect(celsius).toBeCloseTo(40.6, 1);
    const upper = Number(/to (\d+) °C/.exec(lineOf('unknown-cell', /^Charge at/).text)?.[1]);
    expect(upper).toBe(40);
    expect(upper).toBeLessThan(celsius);
  },
);

outside(
  {
    id: 'cell-03',
    what: "A standard's default test range begins higher",
    value: '10 to 45 °C',
    source: 'iec-62133-2',
    at: 'Annex A',
    where: charging,
  },
  () => {
    const line = lineOf('unknown-cell', /10 to 45 °C/);
    expect(line).toMatchObject({ source: 'iec-62133-2' });
    expect(line.text).toContain('from memory');
    expect(line.text).toMatch(/^Do not take/);
  },
);

outside(
  {
    id: 'cell-04',
    what: 'Where the lower limits differ the narrower range stands, and the difference is told',
    value: '10 to 40 °C',
    source: ['usfa-batteries', 'iec-62133-2'],
    known: 'computed',
    where: charging,
  },
  () => {
    const { text } = lineOf('unknown-cell', /^Charge at/);
    const [, low, high] = /Charge at (\d+) to (\d+) °C/.exec(text) ?? [];
    expect([Number(low), Number(high)]).toEqual([Math.max(0, 10), Math.min(40, 45)]);
    expect(text).toContain('limits differ');
  },
);

for (const [id, what, value, pattern] of [
  [
    'cell-05',
    'Graded charging from 0 to 10 °C',
    'half the current or 4.1 V a cell',
    /half the current or 4\.1 V a cell from 0 to 10 °C/,
  ],
  ['cell-06', 'Graded charging from 45 to 50 °C', 'at most 4.15 V', /at most 4\.15 V from 45 to 50 °C/],
  ['cell-07', 'Graded charging from 50 to 60 °C', 'at most 4.1 V', /4\.1 V from 50 to 60 °C/],
  ['cell-08', 'Graded charging above 60 °C', 'none', /60 °C, and nothing above/],
] as const) {
  outside({ id, what, value, source: 'jeita-design-note', where: charging }, () => {
    const line = lineOf('unknown-cell', /graded scheme/);
    expect(line.source).toBe('jeita-design-note');
    expect(line.text).toMatch(pattern);
    // It is a scheme for a charger chip: the line forbids what it might be taken to allow.
    expect(line.text).toMatch(/^Do not charge a hot phone or a frozen one/);
  });
}

outside(
  {
    id: 'cell-09',
    what: 'Upper charging voltage of a cell by default: a reading above any common limit is not called good',
    value: '4.25 V',
    source: 'iec-62133-2',
    at: 'Annex A',
    where: 'knowledge/pack/checks.yaml, cell-voltage',
  },
  () => {
    const check = testBot().context().knowledge.checks.get('cell-voltage');
    expect(check?.why).toContain('4.25 V (from memory)');
    expect(check?.why).toContain('counts as damaged');
    expect(outcomeOf('cell-voltage', '4.25 V')).toBe('good');
    // Cells of today are charged to 4.45 to 4.55 V (from memory); what lies above is said to be a stop, not unreadable.
    expect(outcomeOf('cell-voltage', '4.5 V')).toBe('good');
    for (const reading of ['4.55 V', '4.7 V', '8.6 V'])
      expect(outcomeOf('cell-voltage', reading)).toBe('over');
    expect(check?.outcomes.find(({ id }) => id === 'over')?.means).toEqual(['hurt']);
    // Two in series are full at about 8.9 V.
    expect(outcomeOf('cell-voltage-series', '8.6 V')).toBe('good');
    expect(outcomeOf('cell-voltage-series', '9 V')).toBe('over');
    // Under 2.0 V a cell, no charge is put into it.
    expect(outcomeOf('cell-voltage', '1.9 V')).toBe('none');
    expect(outcomeOf('cell-voltage-series', '3.9 V')).toBe('none');
    expect(check?.outcomes.find(({ id }) => id === 'none')?.bars).toContain('part-charge');
  },
);

/** Volts and milliampere-hours of the examples. */
const wattHours = (volts: number, milliampereHours: number) => (volts * milliampereHours) / 1000;

outside(
  {
    id: 'cell-10',
    what: 'Energy is nominal voltage times rated ampere-hours',
    value: 'Wh = V × Ah',
    source: ['cfr-171-8', 'un-manual-38-3'],
    where: posting,
  },
  () => {
    const { text, source } = lineOf('posting-cells', /^Energy in Wh/);
    expect(source).toBe('un-sp188');
    expect(text).toContain('the marked nominal voltage times the rated Ah');
    // The worked figure in the line follows from the formula, and so do the published examples.
    const [, volts, , milli, wh] =
      /at ([\d.]+) V that is (\d+) mAh, and (\d+) mAh is ([\d.]+) Wh/.exec(text) ?? [];
    expect(wattHours(Number(volts), Number(milli))).toBeCloseTo(Number(wh), 1);
  },
);

outside(
  {
    id: 'cell-11',
    what: 'Small-battery relief for a battery of several cells',
    value: '100 Wh',
    source: ['phmsa-25-0021', 'un-sp188'],
    where: posting,
  },
  () => {
    expect(lineOf('posting-cells', /^The US holds/)).toMatchObject({
      source: 'phmsa-25-0021',
      text: expect.stringContaining('20 Wh and 100 Wh'),
    });
  },
);

outside(
  {
    id: 'cell-12',
    what: 'Small-battery relief for a cell, and a pack of one cell counts as a cell',
    value: '20 Wh, not 100',
    source: ['un-sp188', 'phmsa-25-0021'],
    at: 'last paragraph',
    where: posting,
  },
  () => {
    const { text } = lineOf('posting-cells', /^Energy in Wh/);
    expect(text).toContain('A pack with one cell counts as a cell');
    expect(text).toContain('20 Wh, not 100');
  },
);

outside(
  {
    id: 'cell-13',
    what: 'At 3.87 V a one-cell pack reaches 20 Wh at',
    value: '5168 mAh',
    source: 'un-sp188',
    known: 'computed',
    where: posting,
  },
  () => {
    const milli = Number(/at 3\.87 V that is (\d+) mAh/.exec(lineOf('posting-cells', /^Energy/).text)?.[1]);
    expect(milli).toBe(Math.ceil(20_000 / 3.87));
    expect(wattHours(3.87, milli - 1)).toBeLessThan(20);
    expect(wattHours(3.87, milli)).toBeGreaterThanOrEqual(20);
  },
);

for (const [id, what, value, pattern] of [
  [
    'cell-14',
    'Spare cells on a journey without approval',
    '100 Wh, in the cabin',
    /up to 100 Wh in the cabin only/,
  ],
  ['cell-15', 'Terminals of spares', 'insulated, each by itself', /each with its terminals insulated/],
] as const) {
  outside({ id, what, value, source: 'cfr-175-10', where: posting }, () => {
    expect(lineOf('posting-cells', /^On a journey/)).toMatchObject({
      source: 'cfr-175-10',
      text: expect.stringMatching(pattern),
    });
  });
}

outside(
  {
    id: 'cell-16',
    what: 'Larger spares on a journey',
    value: 'two of 100 to 160 Wh with approval, none above',
    source: 'cfr-175-10',
    known: 'reported',
    where: posting,
  },
  () => {
    expect(lineOf('posting-cells', /^On a journey/).text).toMatch(
      /As reported, two spares of 100 to 160 Wh with the operator's approval, none above/,
    );
  },
);

for (const [id, what, value, pattern] of [
  [
    'cell-17',
    'Cells alone as air cargo: charge',
    'at most 30 %',
    /Cells alone by air cargo: at most 30 % charge/,
  ],
  ['cell-18', 'Cells alone: not on passenger aircraft', 'since 1 April 2016', /not on passenger aircraft/],
  [
    'cell-19',
    'Cells packed with equipment: the same from',
    '1 January 2026, above 2.7 Wh',
    /From 1 January 2026 cells above 2\.7 Wh packed with a phone too/,
  ],
  ['cell-20', 'Cells in equipment', '30 % is advised, not required', /in a phone 30 % is advised/],
] as const) {
  outside(
    { id, what, value, source: 'iata-dgr-2026', at: 'packing instructions 965 to 967', where: posting },
    () => {
      const line = lineOf('posting-cells', /^Cells alone by air/);
      expect(line.source).toBe('iata-dgr-2026');
      expect(line.text).toMatch(pattern);
    },
  );
}

outside(
  {
    id: 'cell-21',
    what: 'Damaged or defective cells are forbidden by air, whatever their energy or charge',
    value: 'never',
    source: 'iata-a154',
    where: posting,
  },
  () => {
    expect(lineOf('posting-cells', /forbidden by air/)).toMatchObject({ source: 'iata-a154' });
    const reply = testBot().say('/caution posting-cells');
    expect(reply.tone).toBe('danger');
    expect(wordsOf(reply)).toContain('whatever its energy or charge');
  },
);

outside(
  {
    id: 'cell-22',
    what: 'By road in the United States a damaged cell on its way to recycling keeps the strict rule',
    value: '173.185(f), not (d)',
    source: 'phmsa-24-0050',
    where: posting,
  },
  () => {
    expect(lineOf('posting-cells', /recycling does not reach damaged/)).toMatchObject({
      source: 'phmsa-24-0050',
    });
    expect(lineOf('posting-cells', /^In the US such a cell/)).toMatchObject({ ground: { at: '(f)' } });
  },
);

for (const [id, what, value, pattern] of [
  [
    'cell-23',
    'Inner packing of a damaged cell',
    'one in each, non-metallic',
    /each in its own non-metallic inner packing/,
  ],
  [
    'cell-24',
    'Cushioning of a damaged cell',
    'neither burns nor conducts',
    /cushioning that neither burns nor conducts/,
  ],
  [
    'cell-25',
    'Ways that remain for a damaged cell',
    'road, rail or vessel only',
    /road, rail or vessel only/,
  ],
] as const) {
  outside({ id, what, value, source: 'cfr-173-185', at: '(f)', where: posting }, () => {
    expect(lineOf('posting-cells', /^In the US such a cell/)).toMatchObject({
      source: 'cfr-173-185',
      text: expect.stringMatching(pattern),
    });
  });
}

for (const [id, what, value, pattern] of [
  [
    'cell-26',
    'By road in Europe: which cells',
    'defective, leaked or vented, damaged, or not to be judged',
    /defective, has leaked or vented, is mechanically damaged or cannot be judged/,
  ],
  [
    'cell-27',
    'By road in Europe: packing',
    'P908 or LP904',
    /special provision 376, packed by P908 or LP904/,
  ],
  [
    'cell-28',
    'By road in Europe: liable to react dangerously',
    'P911 or LP906',
    /liable to react dangerously by P911 or LP906/,
  ],
] as const) {
  outside({ id, what, value, source: 'adr-sp376', where: posting }, () => {
    expect(lineOf('posting-cells', /^By road in Europe/)).toMatchObject({
      source: 'adr-sp376',
      text: expect.stringMatching(pattern),
    });
  });
}

outside(
  {
    id: 'cell-29',
    what: "A cell is cleared by its maker's criteria or a technical expert; the bot never clears one",
    value: 'said wherever a cell is in question',
    source: 'adr-sp376',
    where: '/caution, /trace',
  },
  () => {
    for (const id of ['swollen-cell', 'storing-cells', 'posting-cells'])
      expect(caution(id).all).toContainEqual({
        text: expect.stringContaining('This bot never clears a cell'),
        ground: { source: 'adr-sp376' },
      });
    expect(wordsOf(testBot().say('/trace swollen model:glued-front-home-sensor'))).toContain(
      'The bot cannot judge a cell and never clears one',
    );
  },
);

outside(
  {
    id: 'cell-30',
    what: 'What makes a cell suspect',
    value: 'gas, fire, leak; misuse; deformed or coloured case; voltage',
    source: 'transport-ebook',
    at: 'chapter 21',
    where: storing,
  },
  () => {
    const line = lineOf('storing-cells', /^Count as suspect/);
    expect(line.source).toBe('transport-ebook');
    for (const sign of ['gas', 'fire', 'leak', 'misuse', 'deformed', 'discoloured', 'voltage'])
      expect(line.text).toContain(sign);
  },
);

outside(
  {
    id: 'cell-31',
    what: 'Protecting sound cells against a short',
    value: 'cover, bag, recess or cushioning',
    source: 'transport-ebook',
    at: 'chapter 21',
    where: posting,
  },
  () => {
    expect(lineOf('posting-cells', /^Sound cells: protect/)).toMatchObject({
      source: 'transport-ebook',
      text: expect.stringContaining('cover, bag, recess or cushioning'),
    });
  },
);

outside(
  {
    id: 'cell-32',
    what: 'Storage of sound cells',
    value: '5 to 20 °C, about half charged, every 3 months',
    source: 'canada-storage',
    where: storing,
  },
  () => {
    expect(lineOf('storing-cells', /^Sound cells/)).toMatchObject({
      source: 'canada-storage',
      text: expect.stringMatching(
        /5 to 20 °C, about half charged, looked at every 3 months.*large packs, as reported/,
      ),
    });
  },
);

outside(
  {
    id: 'cell-33',
    what: 'Stop using a cell at the first of six signs',
    value: 'smell, colour, heat, shape, leak, noise',
    source: 'usfa-batteries',
    where: swollen,
  },
  () => {
    const line = lineOf('swollen-cell', /stop using a cell/);
    expect(line.source).toBe('usfa-batteries');
    for (const sign of [/smell/i, /colour/, /heat/, /shape/, /leak/, /noise/])
      expect(line.text).toMatch(sign);
  },
);

outside(
  {
    id: 'cell-34',
    what: 'Slow or unending charging is a listed sign too',
    value: 'stop when charging is slow or does not end',
    source: 'scottish-fire',
    where: charging,
  },
  () => {
    const line = lineOf('unknown-cell', /charging is slow or does not end/);
    expect(line.source).toBe('scottish-fire');
    for (const sign of ['hisses', 'crackles', 'smokes', 'smells', 'shape']) expect(line.text).toContain(sign);
  },
);

outside(
  {
    id: 'cell-35',
    what: 'Fire: get out, stay out, call 999, do not fight it',
    value: '999 in the United Kingdom',
    source: 'scottish-fire',
    where: swollen,
  },
  () => {
    const help = caution('swollen-cell', 'GB')['Get help']?.[0];
    expect(help).toEqual({
      text: 'Smoke, fire or a hot cell: get out, stay out, call 999, do not fight it.',
      ground: { source: 'scottish-fire' },
    });
  },
);

outside(
  {
    id: 'cell-36',
    what: 'Moving it away from what burns is for when it is safe, and then the emergency number',
    value: 'only if safe',
    source: 'nfpa-tip-sheet',
    where: '/caution hot-or-smoking-cell',
  },
  () => {
    expect(lineOf('hot-or-smoking-cell', /things that burn/)).toMatchObject({
      source: 'nfpa-tip-sheet',
      text: expect.stringMatching(/^If it is safe to do so/),
    });
  },
);

for (const [id, what, value, source, name, pattern] of [
  [
    'cell-37',
    'Never puncture to let gas out: it is flammable and toxic',
    'never',
    'kane-county',
    'swollen-cell',
    /^Never puncture it/,
  ],
  [
    'cell-38',
    'A swollen cell that does not come out by hand: the whole phone counts as the battery',
    'the whole phone',
    'kane-county',
    'swollen-cell',
    /as if it were the battery itself/,
  ],
  [
    'cell-39',
    'Hot: moved with a tool to a fire-proof surface outdoors',
    'never by hand',
    'kane-county',
    'hot-or-smoking-cell',
    /move a hot phone with a tool, never by hand/,
  ],
  [
    'cell-40',
    'Never crush or submerge',
    'never',
    'west-yorkshire-fire',
    'swollen-cell',
    /never crush or submerge/,
  ],
  [
    'cell-41',
    'Container for a damaged cell',
    'metal, dry sand, outdoors',
    'tower-hamlets',
    'storing-cells',
    /^Damaged, swollen or overheated cells: a non-flammable container, metal with dry sand, outdoors, apart/,
  ],
  [
    'cell-42',
    'Not in a pocket, a bag or a bin',
    'not',
    'tower-hamlets',
    'swollen-cell',
    /pocket, a bag or a bin/,
  ],
  [
    'cell-43',
    'Not in the bin nor the kerbside recycling',
    'damaged or sound',
    'epa-lithium',
    'storing-cells',
    /^Not in the bin or the kerbside recycling/,
  ],
  [
    'cell-44',
    'Terminals',
    'non-metallic tape, or a bag each',
    'epa-lithium',
    'storing-cells',
    /non-metallic tape, or bag each cell/,
  ],
] as const) {
  outside({ id, what, value, source, where: `/caution ${name}` }, () => {
    expect(lineOf(name, pattern).source).toBe(source);
  });
}

outside(
  {
    id: 'cell-45',
    what: 'Agencies differ on where a swollen cell waits: indoors cool and dry, or outdoors; outdoors if it is safe',
    value: 'the difference is told, outdoors is chosen',
    source: ['dhec', 'tower-hamlets', 'kane-county'],
    where: swollen,
  },
  () => {
    const outdoors = lineOf('swollen-cell', /set it outdoors/);
    expect(outdoors.source).toBe('tower-hamlets');
    expect(outdoors.text).toContain('Advice differs');
    expect(outdoors.text).toContain('Outdoors, if it is safe, is the choice here');
    expect(lineOf('swollen-cell', /^Where outdoors is not possible: sand or clay litter/).source).toBe(
      'dhec',
    );
  },
);

outside(
  {
    id: 'cell-46',
    what: 'Batteries, and for phones the printed circuit boards, come out of collected waste',
    value: 'removed',
    source: 'eu-2012-19',
    at: 'Annex VII',
    where: '/paired',
  },
  () => {
    const one = testBot();
    one.store.saveSettings({ ...one.collective.settings, region: 'DE' });
    const reply = one.say('/paired glued-front-home-sensor component:battery');
    expect(reply.sources.map(({ id }) => id)).toContain('eu-2012-19');
    expect(wordsOf(reply)).toContain('Directive 2012/19/EU, Annex VII');
  },
);

outside(
  {
    id: 'cell-47',
    what: 'Swollen comes before everything: no step with heat, pressure, prying, current or solvent',
    value: 'barred, also once isolated',
    source: ['scottish-fire', 'west-yorkshire-fire', 'kane-county'],
    known: 'computed',
    where: '/trace',
  },
  () => {
    for (const danger of ['suspect', 'isolated', 'handed-over'] as const) {
      for (const hazard of ['charges', 'presses', 'heats', 'pries', 'punctures', 'static'] as const) {
        expect(barOn({ danger, wet: 'no' }, { hazards: [hazard], powers: false })).toBe('cell');
      }
    }
    const one = testBot();
    one.say('/trace "swollen, no charge" model:glued-front-home-sensor');
    const answer = one.say('/trace answer "0.8 A" step:charge-current');
    expect(answer.title).toContain('The cell comes first');
  },
);

outside(
  {
    id: 'cell-48',
    what: 'Power banks are apart from spare cells by air',
    value: 'two a person, since 27 March 2026',
    source: 'icao-2026',
    where: posting,
  },
  () => {
    expect(lineOf('posting-cells', /^Power banks/)).toMatchObject({
      source: 'icao-2026',
      text: expect.stringMatching(/since 27 March 2026: two a person in the cabin.*not charged on board/),
    });
  },
);

/** Region, fire, ambulance, police, poison line. */
for (const [id, region, fire, ambulance, police, poison, source] of [
  ['cell-49', 'JP', '119', '119', '110', null, 'japan-emergency'],
  ['cell-50', 'BR', '193', '192', '190', '0800 722 6001', 'brazil-emergency'],
  ['cell-51', 'LI', '118 or 112', '144 or 112', '117 or 112', '145', 'liechtenstein-112'],
  ['cell-52', 'IS', '112', '112', '112', '543 2222', 'latvia-112'],
  ['cell-53', 'TR', '112', '112', '112', '114', 'latvia-112'],
  ['cell-54', 'FI', '112', '112', '112', '0800 147 111', 'finland-poison'],
  ['cell-55', 'AU', '000', '000', '000', '13 11 26', 'queensland-poisons'],
  ['cell-56', 'NZ', '111', '111', '111', '0800 764 766', 'nz-poisons'],
  ['cell-57', 'CA', '911', '911', '911', '1-844-764-7669', 'canada-poison'],
] as const) {
  outside(
    {
      id,
      what: `Whom to call in ${region}: fire, ambulance, police, poison line`,
      value: [fire, ambulance, police, poison ?? 'not known'].join(', '),
      source,
      where: '/caution',
    },
    () => {
      expect(caution('hot-or-smoking-cell', region)['Get help']?.[0]?.text).toContain(`Call ${fire}.`);
      const solvent = caution('solvent', region)
        ['Get help']?.map(({ text }) => text)
        .join(' ');
      expect(solvent).toContain(`call ${ambulance}.`);
      expect(solvent).toContain(`Swallowed: call ${poison ?? 'your local poison line'},`);
      expect(caution('data-and-ownership', region)['Get help']?.[0]?.text).toContain(
        `Danger to a person: ${police}.`,
      );
    },
  );
}
