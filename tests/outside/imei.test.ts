import fc from 'fast-check';
import { expect } from 'vitest';
import { checkDigit, readImei } from '../../shared/imei/imei.ts';
import { render, renderAll } from '../../shared/language/render.ts';
import { testBot, wordsOf } from '../test-bot.ts';
import { outside } from './check.ts';

const where = 'shared/imei/imei.ts';
const digits = (length: number) =>
  fc
    .array(fc.integer({ min: 0, max: 9 }), { minLength: length, maxLength: length })
    .map((list) => list.join(''));
const oneDigit = /^(\d)\1*$/;
const whole = digits(14)
  .filter((payload) => !oneDigit.test(payload))
  .map((payload) => `${payload}${checkDigit(payload)}`);
const problemOf = (text: string): string => {
  const read = readImei(text);
  return read.ok ? '' : render(read.problem, 'en');
};

outside(
  {
    id: 'imei-01',
    what: 'Structure: type allocation code, serial number, check digit',
    value: '8 + 6 + 1 digits',
    source: '3gpp-23003',
    at: 'clause 6 and Annex B.1',
    where,
  },
  () => {
    expect(readImei('260531793113837')).toEqual({
      ok: true,
      imei: { digits: '260531793113837', tac: '26053179', lastFour: '3837', form: 'imei' },
    });
  },
);

outside(
  {
    id: 'imei-02',
    what: 'Which digits are doubled: the last of the 14, and every second one before it',
    value: 'D1, D3, … D13; the digits of the products are added',
    source: ['3gpp-23003', 'iso-7812'],
    at: 'Annex B.2',
    where,
  },
  () => {
    // One digit alone, by the method: a doubled 6 is 12, of which 1 + 2 = 3; a plain 6 stays.
    const alone = (place: number, digit: number) =>
      checkDigit(`${'0'.repeat(place)}${digit}${'0'.repeat(13 - place)}`);
    for (let place = 0; place < 14; place += 1) expect(alone(place, 6)).toBe(place % 2 === 1 ? 7 : 4);
    expect(alone(13, 5)).toBe(9);
    expect(alone(12, 5)).toBe(5);
  },
);

const valid: readonly (readonly [
  string,
  string,
  string,
  string,
  'read' | 'reported' | 'memory' | 'computed',
])[] = [
  ['imei-03', '26053179311383', '7', '3gpp-23003', 'read'],
  ['imei-04', '49015420323751', '8', 'imei-example', 'reported'],
  ['imei-05', '35576205279323', '5', 'imei-from-imeisv', 'read'],
];
for (const [id, payload, digit, source, known] of valid) {
  outside(
    {
      id,
      what: `Worked example: check digit of ${payload}`,
      value: digit,
      source,
      ...(id === 'imei-03' ? { at: 'Annex B.3' } : {}),
      known,
      where,
    },
    () => {
      expect(checkDigit(payload)).toBe(Number(digit));
      expect(readImei(`${payload}${digit}`).ok).toBe(true);
      for (let wrong = 0; wrong < 10; wrong += 1)
        expect(readImei(`${payload}${wrong}`).ok).toBe(wrong === Number(digit));
    },
  );
}

for (const [id, text] of [
  ['imei-06', '352099001761481'],
  ['imei-07', '356938035643809'],
] as const) {
  outside(
    {
      id,
      what: `General test number ${text}`,
      value: 'its check digit fits',
      source: ['3gpp-23003'],
      at: 'Annex B.2',
      known: 'memory',
      where,
    },
    () => {
      expect(readImei(text)).toMatchObject({ ok: true, imei: { form: 'imei' } });
    },
  );
}

outside(
  {
    id: 'imei-08',
    what: 'Trap: zeros alone satisfy the sum, and are no IMEI',
    value: '000000000000000 refused',
    source: '3gpp-23003',
    at: 'Annex B.2',
    known: 'computed',
    where,
  },
  () => {
    expect(checkDigit('00000000000000')).toBe(0);
    expect(problemOf('000000000000000')).toContain('placeholder');
    // Under the rule a row of one digit needs a check digit: whatever it is, it is refused.
    for (let digit = 0; digit < 10; digit += 1) {
      const payload = String(digit).repeat(14);
      expect(problemOf(`${payload}${checkDigit(payload)}`)).toContain('placeholder');
    }
  },
);

outside(
  {
    id: 'imei-09',
    what: 'The check digit is not sent on the air: its place is sent as 0',
    value: '490154203237510 refused, with that reason',
    source: '3gpp-23003',
    at: 'clause 6.2.1',
    known: 'reported',
    where,
  },
  () => {
    expect(problemOf('490154203237510')).toContain('network log');
    expect(problemOf('490154203237519')).not.toContain('network log');
  },
);

outside(
  {
    id: 'imei-10',
    what: 'IMEISV: 16 digits, 8 + 6 + 2, the last two are the software version; no check digit',
    value: '4901542032375100 is the phone 490154203237518',
    source: '3gpp-23003',
    at: 'Annex B.1',
    where,
  },
  () => {
    expect(readImei('4901542032375100')).toMatchObject({
      ok: true,
      imei: { digits: '490154203237518', form: 'imeisv' },
    });
  },
);

outside(
  {
    id: 'imei-11',
    what: 'Trap: those 16 digits satisfy a sum over all of them too, so their sum says nothing',
    value: 'sum over 16 is a multiple of 10',
    source: 'iso-7812',
    known: 'computed',
    where,
  },
  () => {
    const all = [...'4901542032375100'].map(Number);
    const sum = all.reduce((total, digit, at) => {
      const doubled = at % 2 === 0 ? digit * 2 : digit;
      return total + Math.floor(doubled / 10) + (doubled % 10);
    }, 0);
    expect(sum % 10).toBe(0);
    // A software version that breaks that sum is taken all the same.
    expect(readImei('4901542032375123')).toMatchObject({ ok: true, imei: { digits: '490154203237518' } });
  },
);

outside(
  {
    id: 'imei-12',
    what: 'The network example: from IMEISV to IMEI by dropping the version and adding the check digit',
    value: '35576205279323xx is 355762052793235',
    source: 'imei-from-imeisv',
    where,
  },
  () => {
    fc.assert(
      fc.property(digits(2), (version) => {
        expect(readImei(`35576205279323${version}`)).toMatchObject({
          ok: true,
          imei: { digits: '355762052793235', tac: '35576205', form: 'imeisv' },
        });
      }),
    );
  },
);

outside(
  {
    id: 'imei-13',
    what: '14 digits have no check digit: it is added, and nothing is called valid',
    value: '35576205279323 gives 355762052793235',
    source: '3gpp-23003',
    at: 'Annex B.1',
    known: 'computed',
    where,
  },
  () => {
    expect(readImei('35576205279323')).toMatchObject({
      ok: true,
      imei: { digits: '355762052793235', form: 'without-check-digit' },
    });
  },
);

for (const [id, length] of [
  ['imei-14', 13],
  ['imei-15', 17],
] as const) {
  outside(
    {
      id,
      what: `${length} digits are no IMEI`,
      value: 'refused, with the number that it has',
      source: '3gpp-23003',
      at: 'Annex B.1',
      known: 'computed',
      where,
    },
    () => {
      fc.assert(
        fc.property(digits(length), (text) => {
          expect(problemOf(text)).toContain(`${length} digits`);
        }),
      );
    },
  );
}

outside(
  {
    id: 'imei-16',
    what: 'Every single wrong digit is caught',
    value: 'all of 15 places and 9 wrong digits',
    source: 'iso-7812',
    known: 'memory',
    where,
  },
  () => {
    fc.assert(
      fc.property(whole, (imei) => {
        for (let at = 0; at < 15; at += 1)
          for (let by = 1; by < 10; by += 1) {
            const wrong = [...imei]
              .map((one, i) => (i === at ? String((Number(one) + by) % 10) : one))
              .join('');
            expect(readImei(wrong).ok).toBe(false);
          }
      }),
      { numRuns: 30 },
    );
  },
);

outside(
  {
    id: 'imei-17',
    what: 'Swapped neighbours are caught, but for 09 and 90',
    value: '88 of the 90 pairs',
    source: 'iso-7812',
    known: 'memory',
    where,
  },
  () => {
    fc.assert(
      fc.property(whole, fc.nat(13), (imei, at) => {
        const [a = '', b = ''] = [imei[at], imei[at + 1]];
        fc.pre(a !== b);
        const swapped = `${imei.slice(0, at)}${b}${a}${imei.slice(at + 2)}`;
        fc.pre(!oneDigit.test(swapped.slice(0, 14)));
        expect(readImei(swapped).ok).toBe([a, b].sort().join('') === '09');
      }),
      { numRuns: 400 },
    );
  },
);

outside(
  {
    id: 'imei-18',
    what: 'One check digit in ten fits by chance: a sum that fits is no proof, and the bot says so',
    value: 'exactly 1 of 10 last digits',
    source: 'iso-7812',
    known: 'computed',
    where: 'knowledge/pack/lessons.yaml',
  },
  () => {
    fc.assert(
      fc.property(
        digits(14).filter((payload) => !oneDigit.test(payload)),
        (payload) => {
          const fitting = Array.from({ length: 10 }, (_, digit) => readImei(`${payload}${digit}`).ok);
          expect(fitting.filter(Boolean)).toHaveLength(1);
        },
      ),
    );
    const lesson = testBot()
      .context()
      .knowledge.lessons.find(({ id }) => id === 'imei-digits');
    expect(lesson?.says).toContain('no proof');
    expect(lesson?.ground).toMatchObject({ source: '3gpp-23003' });
  },
);

outside(
  {
    id: 'imei-19',
    what: 'An IMEI is not changed after final production; it follows the board',
    value: 'said for the mainboard, with nothing that mends it',
    source: '3gpp-22016',
    at: 'section 2',
    where: '/paired',
  },
  () => {
    const reply = testBot().say('/paired glued-front-home-sensor component:mainboard');
    expect(wordsOf(reply)).toContain('an IMEI is not changed after final production');
    expect(reply.sources.map(({ id }) => id)).toContain('3gpp-22016');
  },
);

outside(
  {
    id: 'imei-20',
    what: 'Grouped as printed on a label: TAC, serial number and check digit apart',
    value: '49-015420-323751-8 reads as 490154203237518',
    source: '3gpp-23003',
    at: 'Annex B.1',
    known: 'computed',
    where,
  },
  () => {
    for (const text of ['49-015420-323751-8', '49 015420 323751 8', '49015420/323751/8', ' 490154203237518 '])
      expect(readImei(text)).toMatchObject({ ok: true, imei: { digits: '490154203237518' } });
    for (const text of ['', '49015420323751x', 'IMEI 490154203237518', '４９０１５４２０３２３７５１８'])
      expect(readImei(text).ok).toBe(false);
  },
);

outside(
  {
    id: 'imei-21',
    what: 'What is said of a wrong one never repeats it, and the reader never throws',
    value: 'for any text and for 15 and 16 digits',
    source: 'practice',
    where,
  },
  () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), digits(15), digits(16)), (text) => {
        const read = readImei(text);
        if (!read.ok && text.length > 3)
          expect(JSON.stringify(renderAll(read, { locale: 'en' }))).not.toContain(text);
      }),
    );
    for (const wrong of ['1234567890123', '123456789012345', 'a2345678901234']) {
      expect(() => checkDigit(wrong)).toThrow(RangeError);
      expect(() => checkDigit(wrong)).toThrow('from 14 digits');
    }
    // What is wrong, and where the right one stands.
    expect(renderAll(readImei('IMEI 490154203237518'), { locale: 'en' })).toMatchObject({
      problem: expect.stringContaining('digits alone'),
      expected: expect.stringContaining('the 15 digits'),
    });
  },
);
