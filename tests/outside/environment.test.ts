import { expect } from 'vitest';
import { groundWords } from '../../commands/shared/words.ts';
import { render } from '../../shared/language/render.ts';
import { factorUsed, sparedBy } from '../../shared/week/factors.ts';
import { testBot, wordsOf } from '../test-bot.ts';
import { broughtBack } from './brought-back.ts';
import { outside } from './check.ts';
import { lesson, tin } from './said.ts';

const where = 'knowledge/pack/factors.yaml, /week';
const factor = (id: string) => {
  const found = tin()
    .context()
    .knowledge.factors.find((one) => one.id === id);
  if (!found) throw new Error(`no factor ${id}`);
  return found;
};

for (const [id, what, value, name, number, source] of [
  [
    'env-01',
    'Raw material that a refurbished phone spares a year',
    '76.9 kg',
    'refurbished-material',
    76.9,
    'ademe-refurbished',
  ],
  [
    'env-02',
    'Greenhouse gas that a refurbished phone spares a year',
    '24.6 kg CO2e',
    'refurbished-gas',
    24.6,
    'ademe-refurbished',
  ],
  [
    'env-03',
    'The making of a modular phone: three quarters of its whole life of 43.9 kg, of which it is more',
    '32.9 kg CO2e',
    'new-phone-gas-2016',
    32.9,
    'izm-lca-2016',
  ],
  [
    'env-04',
    'The making of a later one: three quarters of its whole life of 39.5 kg',
    '29.6 kg CO2e',
    'new-phone-gas-2020',
    29.6,
    'izm-lca-2020',
  ],
] as const) {
  outside({ id, what, value, source, where }, () => {
    expect(factor(name)).toMatchObject({ low: number, high: number, ground: { source } });
  });
}
outside(
  {
    id: 'env-05',
    what: 'The making alone, spread over three years: use is not spared by using on',
    value: '0.75 × 43.9 / 3 = 11.0 kg CO2e a year, 0.75 × 39.5 / 3 = 9.9',
    source: 'izm-lca-2016',
    known: 'computed',
    where: 'shared/week/factors.ts',
  },
  () => {
    expect(factorUsed(factor('new-phone-gas-2016')).low).toBeCloseTo((0.75 * 43.9) / 3, 1);
    expect(factorUsed(factor('new-phone-gas-2020')).low).toBeCloseTo((0.75 * 39.5) / 3, 1);
  },
);
for (const [id, what, tonnes, name] of [
  ['env-06', 'The same release for 2.8 million phones: greenhouse gas', 69_000, 'refurbished-gas'],
  ['env-07', 'The same release for 2.8 million phones: raw material', 215_000, 'refurbished-material'],
] as const) {
  outside({ id, what, value: `${tonnes} t`, source: 'ademe-refurbished', where }, () => {
    expect(Math.round((2.8e6 * factor(name).low) / 1e6) * 1000).toBe(tonnes);
  });
}
outside(
  {
    id: 'env-08',
    what: 'An earlier release had 82 kg and 25 kg: the later pair stands',
    value: '76.9 and 24.6',
    source: 'ademe-refurbished',
    where,
  },
  () => {
    const all = tin()
      .context()
      .knowledge.factors.flatMap(({ low, high }) => [low, high]);
    expect(all).not.toContain(82);
    expect(all).not.toContain(25);
  },
);
outside(
  { id: 'env-09', what: 'What a smartphone weighs', value: '0.14 to 0.23 kg', source: 'phone-masses', where },
  () => {
    expect(factor('phone-mass')).toMatchObject({ low: 0.14, high: 0.23, ground: 'memory' });
    const { knowledge } = tin().context();
    expect(render(groundWords({ knowledge }, factor('phone-mass').ground), 'en')).toContain('from memory');
  },
);
outside(
  {
    id: 'env-10',
    what: 'Where sources differ: a range from the lowest to the highest, never one figure',
    value: '9.9 to 24.6 kg CO2e a year',
    source: ['ademe-refurbished', 'izm-lca-2016', 'izm-lca-2020'],
    known: 'computed',
    where: 'shared/week/factors.ts',
  },
  () => {
    const { gas, mass, material } = sparedBy(tin().context().knowledge.factors, 3);
    expect(gas?.low).toBeCloseTo(29.6, 9);
    expect(gas?.high).toBeCloseTo(73.8, 9);
    expect(mass?.low).toBeCloseTo(0.42, 9);
    expect(mass?.high).toBeCloseTo(0.69, 9);
    expect(material).toMatchObject({ low: 3 * 76.9, high: 3 * 76.9 });
    expect(sparedBy([], 4)).toEqual({ mass: null, gas: null, material: null });
    // For one phone and for a year of one are never put together.
    const other = { ...factor('refurbished-gas'), id: 'other', per: 'phone' as const, low: 1, high: 1 };
    expect(sparedBy([...tin().context().knowledge.factors, other], 1).gas).toEqual(
      sparedBy(tin().context().knowledge.factors, 1).gas,
    );
  },
);
outside(
  {
    id: 'env-11',
    what: 'Seven years of use instead of three cut the gas of a year by',
    value: 'up to 42 %',
    source: 'izm-lca-2020-abstract',
    where: '/paired component:mainboard',
  },
  () => {
    const found = lesson('kept-longer', 'mainboard');
    expect(found.source).toBe('izm-lca-2020-abstract');
    expect(found.says).toMatch(/seven years of use in place of three .* by up to 42 %/);
  },
);
outside(
  {
    id: 'env-12',
    what: 'Lower impact of a refurbished phone: a range, by how it is done',
    value: '77 to 91 %',
    source: 'bercy-refurbished',
    where: '/paired component:mainboard',
  },
  () => {
    const found = lesson('refurbished-range', 'mainboard');
    expect(found.source).toBe('bercy-refurbished');
    expect(found.says).toContain('77 to 91 %');
    expect(found.says).toContain('less is gained with each part replaced, more with each year kept');
  },
);
outside(
  {
    id: 'env-13',
    what: 'Of serious faults: display or touch, battery or charging',
    value: '28 % and 25 % of one survey of 5515',
    source: 'consumer-nz-faults',
    where: '/paired component:battery',
  },
  () => {
    const found = lesson('usual-faults', 'battery');
    expect(found.source).toBe('consumer-nz-faults');
    for (const words of [
      '5515 owners',
      '10 % reported a fault',
      '28 % were display or touch',
      '25 % battery or charging',
      'One country, one survey',
    ])
      expect(found.says).toContain(words);
  },
);
outside(
  {
    id: 'env-14',
    what: 'The weekly post gives a range with all its sources',
    value: 'from the lowest to the highest, each named',
    source: ['ademe-refurbished', 'izm-lca-2016', 'izm-lca-2020'],
    known: 'computed',
    where: '/week preview',
  },
  () => {
    const one = testBot();
    one.say('/family name model:"Tarn 8" as:clipped-plastic-side-sensor', { role: 'steward' });
    const now = new Date('2026-02-24T01:00:00Z');
    broughtBack(one, { model: 'Tarn 8', came: 'came:given', log: ['minutes:30'], sold: 90, now });
    const reply = one.say('/week preview 2026-W09');
    const words = wordsOf(reply);
    expect(words).toMatch(/9\.9 to 25 kg CO2e|10 to 25 kg CO2e/);
    expect(reply.sources.map(({ id }) => id)).toEqual(
      expect.arrayContaining(['ademe-refurbished', 'izm-lca-2016', 'izm-lca-2020']),
    );
  },
);
