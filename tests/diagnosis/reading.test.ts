import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { checkSchema } from '../../knowledge/schema.ts';
import { readAnswer, readReading } from '../../shared/diagnosis/reading.ts';

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

describe('readings', () => {
  it('takes prefixes, decimal commas and bare numbers', () => {
    expect(readReading('450mA', 'A')).toBeCloseTo(0.45);
    expect(readReading(' 3,7 V ', 'V')).toBe(3.7);
    expect(readReading('82 %', '%')).toBe(82);
    expect(readReading('3.2 Ah', 'mAh')).toBe(3200);
    expect(readReading('1.5 kΩ', 'ohm')).toBe(1500);
    expect(readReading('40', 'C')).toBe(40);
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
    expect(readAnswer(check, '-0.1 A')).toMatchObject({
      ok: false,
      expected: 'none, some, or a reading in A',
    });
    expect(readAnswer(check, 'purple')).toMatchObject({ ok: false });
  });
});
