import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { checkDigit, readImei } from '../../shared/imei/imei.ts';

const digits = (length: number) =>
  fc
    .array(fc.integer({ min: 0, max: 9 }), { minLength: length, maxLength: length })
    .map((list) => list.join(''));
const whole = digits(14)
  .filter((payload) => !/^(\d)\1*$/.test(payload))
  .map((payload) => `${payload}${checkDigit(payload)}`);

describe('IMEI', () => {
  it('has the check digit of the worked example (3GPP TS 23.003, Annex B.3)', () => {
    expect(checkDigit('26053179311383')).toBe(7);
    expect(readImei('260531793113837')).toMatchObject({
      ok: true,
      imei: { tac: '26053179', lastFour: '3837' },
    });
  });

  it.each([
    // The long-standing encyclopaedia example for the check digit.
    ['490154203237518', true],
    ['490154203237519', false],
    // From memory, as general test fixtures.
    ['352099001761481', true],
    ['356938035643809', true],
  ])('%s', (text, ok) => {
    expect(readImei(text).ok).toBe(ok);
  });

  it('leaves out the software version of 16 digits, which have no check digit (TS 23.003, Annex B.1)', () => {
    // A trap: these 16 digits pass a sum over all of them too.
    expect(readImei('4901542032375100')).toMatchObject({
      ok: true,
      imei: { digits: '490154203237518', form: 'imeisv' },
    });
  });

  it('adds the check digit to 14 digits', () => {
    expect(readImei('35576205279323')).toMatchObject({
      ok: true,
      imei: { digits: '355762052793235', form: 'without-check-digit' },
    });
  });

  it('says that a last digit of 0 may come from a network log (TS 23.003, 6.2.1: sent as 0)', () => {
    const read = readImei('490154203237510');
    expect(read.ok ? '' : read.problem).toContain('network log');
  });

  it('refuses zeros, for which the sum holds', () => {
    expect(readImei('000000000000000').ok).toBe(false);
  });

  it.each(['', '1234567890123', '12345678901234567', '49015420323751x', 'IMEI 490154203237518'])(
    'refuses %s',
    (text) => {
      expect(readImei(text).ok).toBe(false);
    },
  );

  it('reads spaces, hyphens, slashes and dots', () => {
    expect(readImei(' 49-015420-323751/8 ')).toMatchObject({ ok: true, imei: { digits: '490154203237518' } });
  });

  it('catches every wrong digit, and neighbours swapped unless they are 0 and 9 (ISO/IEC 7812-1, from memory)', () => {
    fc.assert(
      fc.property(whole, fc.nat(14), fc.integer({ min: 1, max: 9 }), (imei, at, by) => {
        const wrong = [...imei]
          .map((digit, i) => (i === at ? String((Number(digit) + by) % 10) : digit))
          .join('');
        expect(readImei(wrong).ok).toBe(false);
      }),
    );
    fc.assert(
      fc.property(whole, fc.nat(13), (imei, at) => {
        const [a = '', b = ''] = [imei[at], imei[at + 1]];
        fc.pre(a !== b && !/^(\d)\1*$/.test(imei.slice(0, 14)));
        const swapped = `${imei.slice(0, at)}${b}${a}${imei.slice(at + 2)}`;
        fc.pre(!/^(\d)\1*$/.test(swapped.slice(0, 14)));
        expect(readImei(swapped).ok).toBe([a, b].sort().join('') === '09');
      }),
    );
  });

  it('never repeats the number in what it says, and never throws', () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), digits(15), digits(16)), (text) => {
        const read = readImei(text);
        if (!read.ok && text.length > 3) expect(`${read.problem} ${read.expected}`).not.toContain(text);
      }),
    );
  });
});
