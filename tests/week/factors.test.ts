import { describe, expect, it } from 'vitest';
import { sparedBy } from '../../shared/week/factors.ts';
import { knowledge } from '../test-bot.ts';

const { factors, sources } = knowledge();
const factor = (id: string) => {
  const found = factors.find((one) => one.id === id);
  if (!found) throw new Error(`no factor ${id}`);
  return found;
};

describe('the factors of the pack', () => {
  it('are what was published', () => {
    // ADEME, release of 9 September 2022, as reported: a refurbished phone instead of a new one avoids 76.9 kg of raw material
    // and 24.6 kg CO2e per year of use.
    expect(factor('refurbished-gas')).toMatchObject({ low: 24.6, high: 24.6, per: 'year' });
    expect(factor('refurbished-material')).toMatchObject({ low: 76.9, high: 76.9, per: 'year' });
    // Fraunhofer IZM, November 2016, as summarised: 43.9 kg CO2e for three years of intensive use, more than three quarters of
    // it the making; the use is not spared by using on.
    expect(factor('new-phone-gas-2016')).toMatchObject({ low: 32.9, high: 32.9, per: 'life', years: 3 });
    // Fraunhofer IZM, July 2020: 39.5 kg CO2e; from memory. The same share.
    expect(factor('new-phone-gas-2020')).toMatchObject({ low: 29.6, high: 29.6, per: 'life', years: 3 });
    // From memory: smartphones weigh roughly 140 to 230 g.
    expect(factor('phone-mass')).toMatchObject({ low: 0.14, high: 0.23, ground: 'memory' });
  });
  it('agree with what the same release gives for all of France', () => {
    // ADEME 2022, as reported: 2.8 million phones, published as 69 000 t CO2e and 215 000 t of raw material.
    const tonnes = (kilograms: number) => Math.round((2.8e6 * kilograms) / 1e6) * 1000;
    expect(tonnes(factor('refurbished-gas').low)).toBe(69_000);
    expect(tonnes(factor('refurbished-material').low)).toBe(215_000);
  });
  it('each have a source or say that they are from memory', () => {
    for (const { ground } of factors) {
      if (typeof ground === 'string') expect(ground).toBe('memory');
      else expect(sources.get(ground.source)?.checked).toMatch(/^(read|reported|memory)$/);
    }
    expect(sources.get('ademe-refurbished')?.checked).toBe('reported');
    expect(sources.get('izm-lca-2020')?.checked).toBe('memory');
  });
});

describe('what phones that stay in use spare', () => {
  it('goes from the lowest figure to the highest, a whole life spread over its years', () => {
    const { mass, gas, material } = sparedBy(factors, 3);
    expect(mass?.low).toBeCloseTo(0.42, 9);
    expect(mass?.high).toBeCloseTo(0.69, 9);
    // 29.6 kg over three years is 9.9 kg a year.
    expect(gas?.low).toBeCloseTo(29.6, 9);
    expect(gas?.high).toBeCloseTo(73.8, 9);
    expect(material?.low).toBeCloseTo(230.7, 9);
  });
  it('is never one figure where sources differ', () => {
    const { gas, mass } = sparedBy(factors, 1);
    expect(gas?.low).toBeLessThan(gas?.high ?? 0);
    expect(mass?.low).toBeLessThan(mass?.high ?? 0);
  });
  it('does not put figures per phone and per year together, and says nothing without any', () => {
    const perPhone = { ...factor('refurbished-gas'), id: 'other', per: 'phone' as const, low: 1, high: 1 };
    expect(sparedBy([...factors, perPhone], 1).gas).toEqual(sparedBy(factors, 1).gas);
    expect(sparedBy([], 4)).toEqual({ mass: null, gas: null, material: null });
  });
});
