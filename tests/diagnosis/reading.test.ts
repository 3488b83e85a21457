import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { checkSchema } from '../../knowledge/schema.ts';
import { readAnswer, readReading } from '../../shared/diagnosis/reading.ts';
import { renderAll } from '../../shared/language/render.ts';

const check = checkSchema.parse({
  id: 'charge-current',
  name: 'Current at the charger',
  ask: 'What does it draw?',
  minutes: 2,
  access: 'closed',
  needs: [],
  hazards: [],
  unit: 'A',
  outcomes: [
    { id: 'none', says: 'nothing', band: { from: 0, to: 0.02 } },
    { id: 'some', says: 'some', band: { from: 0.02, to: 20 } },
  ],
  given: { otherwise: [0.5, 0.5], faults: { a: [0.9, 0.1] } },
  ground: 'practice',
});

const inEnglish = (read: unknown) => renderAll(read, { locale: 'en' });

describe('readings', () => {
  it('takes prefixes, decimal commas and bare numbers', () => {
    expect(readReading('450mA', 'A')).toBeCloseTo(0.45);
    expect(readReading(' 3,7 V ', 'V')).toBe(3.7);
    expect(readReading('82 %', '%')).toBe(82);
    expect(readReading('3.2 Ah', 'mAh')).toBe(3200);
    expect(readReading('1.5 kΩ', 'ohm')).toBe(1500);
    expect(readReading('40', 'C')).toBe(40);
  });
  it('knows a unit in either case, with its sign, and each prefix of a meter', () => {
    for (const [text, unit, value] of [
      ['+3.7 v', 'V', 3.7],
      ['1.5 a', 'A', 1.5],
      ['-4 °C', 'C', -4],
      ['25 °c', 'C', 25],
      ['25c', 'C', 25],
      ['500 mah', 'mAh', 500],
      ['0.5 AH', 'mAh', 500],
      ['250 µA', 'A', 0.00025],
      ['250 uA', 'A', 0.00025],
      ['2 kohm', 'ohm', 2000],
      ['3 Ω', 'ohm', 3],
      ['3 OHM', 'ohm', 3],
      ['0.002 kV', 'V', 2],
    ] as const)
      expect(readReading(text, unit), text).toBeCloseTo(value, 9);
    // Ampere-hours are no reading of another unit, and a unit alone or with an unknown prefix is none.
    for (const [text, unit] of [
      ['3 Ah', 'V'],
      ['3 Ah', 'A'],
      ['3 V', 'mAh'],
      ['3 MV', 'V'],
      ['3 xV', 'V'],
      ['a3 V', 'V'],
      ['x3', 'V'],
    ] as const)
      expect(readReading(text, unit), text).toBeNull();
  });
  it('refuses other units and other words', () => {
    for (const text of ['3.7 V', '1e3', '0x10', '', 'A', '1..2 A', '5 mV'])
      expect(readReading(text, 'A')).toBeNull();
  });
  it('reads back any current it is shown in A or mA', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 20_000 }), (milli) => {
        expect(readReading(`${milli} mA`, 'A')).toBeCloseTo(milli / 1000, 9);
        expect(readReading(`${(milli / 1000).toFixed(3)} A`, 'A')).toBeCloseTo(milli / 1000, 9);
      }),
    );
  });
  it('never throws', () => {
    fc.assert(
      fc.property(fc.string({ maxLength: 60 }), (text) => {
        expect(readAnswer(check, text)).toHaveProperty('ok');
      }),
    );
  });
});

describe('answers', () => {
  it('are an outcome, its words, or a reading in its band; a band ends before its upper edge', () => {
    expect(readAnswer(check, 'none')).toMatchObject({ ok: true, outcome: { id: 'none' }, reading: null });
    expect(readAnswer(check, 'Nothing')).toMatchObject({ ok: true, outcome: { id: 'none' } });
    expect(readAnswer(check, '0.00 A')).toMatchObject({
      ok: true,
      outcome: { id: 'none' },
      reading: '0.00 A',
    });
    expect(readAnswer(check, '20 mA')).toMatchObject({ ok: true, outcome: { id: 'some' } });
  });
  it('are refused with what was expected', () => {
    expect(inEnglish(readAnswer(check, '-0.1 A'))).toMatchObject({
      ok: false,
      expected: 'none, some, or a reading in A',
    });
    expect(readAnswer(check, 'purple')).toMatchObject({ ok: false });
  });
  it('with spaces around are the same, and what is wrong is said without them', () => {
    expect(readAnswer(check, ' none ')).toMatchObject({ ok: true, outcome: { id: 'none' } });
    expect(readAnswer(check, ' 1 A ')).toMatchObject({ ok: true, outcome: { id: 'some' }, reading: '1 A' });
    expect(inEnglish(readAnswer(check, ' 25 A '))).toMatchObject({
      ok: false,
      problem: '25 A is outside what Current at the charger can read',
    });
    expect(inEnglish(readAnswer(check, ' purple '))).toMatchObject({
      ok: false,
      problem: '"purple" is no answer to Current at the charger',
    });
  });
  it('without a unit no number is an answer, and none is asked for', () => {
    const { unit: _, ...rest } = check;
    const plain = checkSchema.parse({
      ...rest,
      outcomes: check.outcomes.map(({ id, says }) => ({ id, says })),
    });
    expect(inEnglish(readAnswer(plain, '1'))).toEqual({
      ok: false,
      problem: '"1" is no answer to Current at the charger',
      expected: 'none, some',
    });
  });
});
