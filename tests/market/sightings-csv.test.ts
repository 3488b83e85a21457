import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { render } from '../../shared/language/render.ts';
import {
  parseSightingsCsv,
  SIGHTING_COLUMNS,
  type SightingRow,
  sightingRowSchema,
  sightingsToCsv,
} from '../../shared/market/sightings-csv.ts';
import { currencyCodes } from '../../shared/money/currency.ts';

const HEADER = 'date,kind,what,component,grade,storage,price,currency,how,note';
const PHONE = '2026-02-01,phone,Orrin K3,,-1,64,250.00,AUD,sold,';
const PART = '2026-02-01,part,Orrin K3,battery,,,25.00,AUD,asked,copy';

const read = (text: string, more: Partial<Parameters<typeof parseSightingsCsv>[1]> = {}) => {
  const options = { currency: 'AUD', today: '2026-03-02', knownModel: () => true, ...more };
  const { rows, problems } = parseSightingsCsv(text, options);
  const inEnglish = problems.map(({ problem, expected, ...place }) => ({
    ...place,
    problem: render(problem, 'en'),
    expected: render(expected, 'en'),
  }));
  return { rows, problems: inEnglish };
};

const rowsOf = (...lines: string[]) => `${[HEADER, ...lines].join('\r\n')}\r\n`;

describe('reading', () => {
  test('a phone and a part', () => {
    expect(read(rowsOf(PHONE, PART))).toEqual({
      problems: [],
      rows: [
        {
          date: '2026-02-01',
          kind: 'phone',
          what: 'Orrin K3',
          grade: -1,
          storage: 64,
          price: { minor: 25_000, currency: 'AUD' },
          how: 'sold',
          note: '',
        },
        {
          date: '2026-02-01',
          kind: 'part',
          what: 'Orrin K3',
          component: 'battery',
          price: { minor: 2500, currency: 'AUD' },
          how: 'asked',
          note: 'copy',
        },
      ],
    });
  });

  test.each([
    ['LF', `${HEADER}\n${PHONE}\n`],
    ['no line end at the end (RFC 4180, 2.2)', `${HEADER}\r\n${PHONE}`],
    ['a byte order mark', `\uFEFF${HEADER}\r\n${PHONE}\r\n`],
    ['empty lines', `${HEADER}\r\n\r\n${PHONE}\r\n\r\n`],
    ['mixed line ends', `${HEADER}\n${PHONE}\r\n`],
    [
      'every cell quoted (RFC 4180, 2.5)',
      rowsOf(
        PHONE.split(',')
          .map((cell) => `"${cell}"`)
          .join(),
      ),
    ],
    ['capitals in the header', `${HEADER.toUpperCase()}\r\n${PHONE}`],
  ])('%s', (_, text) => {
    expect(read(text).problems).toEqual([]);
    expect(read(text).rows).toHaveLength(1);
  });

  test('commas, doubled quotes and line breaks inside quotes (RFC 4180, 2.6 and 2.7)', () => {
    const result = read(rowsOf(`${PHONE}"b""bb, and\r\nmore"`));
    expect(result.problems).toEqual([]);
    expect(result.rows[0]?.note).toBe('b"bb, and\nmore');
  });

  test('an empty grade is 0 and empty storage unknown', () => {
    expect(read(rowsOf('2026-02-01,phone,Orrin K3,,,,250,AUD,sold,')).rows[0]).toMatchObject({
      grade: 0,
      storage: null,
    });
  });
});

describe('bad rows', () => {
  test('every one is reported with the line it begins on, past quoted line breaks', () => {
    const text = rowsOf(
      `${PHONE}"two\r\nlines"`,
      PHONE.replace('250.00', '-1'),
      '',
      `${PHONE}"a\r\nb\r\nc"`,
      'x,y',
    );
    const { problems, rows } = read(text);
    expect(problems.map(({ line, column }) => [line, column])).toEqual([
      [4, 'price'],
      [9, undefined],
    ]);
    expect(rows).toHaveLength(2);
  });

  test.each([
    ['date', '2026-02-01', '2026-02-30'],
    ['date', '2026-02-01', '01/02/2026'],
    ['date', '2026-02-01', '2026-03-03'],
    ['kind', 'phone', 'tablet'],
    ['what', 'Orrin K3', ''],
    ['what', 'Orrin K3', 'x'.repeat(81)],
    ['what', 'Orrin K3', 'Orrin\u0007'],
    ['what', 'Orrin K3', '"Orrin\nK3"'],
    ['component', 'K3,,', 'K3,battery,'],
    ['grade', ',-1,', ',3,'],
    ['grade', ',-1,', ',0.5,'],
    ['grade', ',-1,', ',good,'],
    ['storage', ',64,', ',0,'],
    ['storage', ',64,', ',64GB,'],
    ['price', '250.00', '0'],
    ['price', '250.00', '1e3'],
    ['price', '250.00', '2.505'],
    ['price', '250.00', '"2.000,00"'],
    ['price', '250.00', ''],
    ['currency', 'AUD', 'EUR'],
    ['how', 'sold', 'given'],
  ])('%s: %j as %j', (column, good, bad) => {
    const { problems, rows } = read(rowsOf(PHONE.replace(good, bad)));
    expect(rows).toEqual([]);
    expect(problems).toEqual([
      { line: 2, column, problem: expect.stringMatching(/\w/), expected: expect.stringMatching(/\w/) },
    ]);
  });

  test('a part needs its component and takes no grade', () => {
    expect(read(rowsOf(PART.replace('battery', ''))).problems[0]?.column).toBe('component');
    expect(read(rowsOf(PART.replace('battery,', 'battery,1'))).problems[0]?.column).toBe('grade');
  });

  test('several faults of one row are all told', () => {
    const bad = PHONE.replace('250.00', 'x').replace('sold', 'y').replace('2026-02-01', 'z');
    expect(read(rowsOf(bad)).problems.map((problem) => problem.column)).toEqual(['price', 'date', 'how']);
  });

  test('unknown models and components', () => {
    const known = {
      knownModel: (name: string) => name === 'Orrin K3',
      knownComponent: (name: string) => name === 'glass',
    };
    const { problems } = read(rowsOf(PHONE, PHONE.replace('Orrin K3', 'Orrin K4'), PART), known);
    expect(problems.map(({ line, column }) => [line, column])).toEqual([
      [3, 'what'],
      [4, 'component'],
    ]);
  });

  test('a quote that is never closed, with its line', () => {
    const { problems } = read(rowsOf(PHONE, `${PHONE}"open`, PHONE));
    expect(problems.map((problem) => problem.line)).toEqual([3]);
  });

  test('a control character never comes back in a message', () => {
    const { problems } = read(rowsOf(PHONE.replace('sold', '\u202e\u0007')));
    expect(JSON.stringify(problems)).not.toMatch(/\\u0007|\u202e/);
  });
});

describe('bad files', () => {
  test.each([
    ['', {}],
    ['hello', {}],
    [`${PHONE}\r\n`, {}],
    [`${HEADER},extra\r\n${PHONE},1`, {}],
    [rowsOf(PHONE, PHONE, PHONE), { maxRows: 2 }],
    [rowsOf(PHONE), { maxBytes: 50 }],
  ])('%j', (text, limits) => {
    const { rows, problems } = read(text, limits);
    expect(rows).toEqual([]);
    expect(problems).toHaveLength(1);
    expect(problems[0]?.line).toBe(1);
  });

  test('no text at all makes it throw', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary' }), (text) => {
        read(text);
        const { rows, problems } = read(rowsOf(text));
        expect(rows.length + problems.length).toBeGreaterThanOrEqual(text.trim() === '' ? 0 : 1);
      }),
    );
  });
});

describe('writing', () => {
  const text = fc.string({ unit: fc.constantFrom(...'abÄ =+-@\',";\n漢😀') });
  const common = {
    date: fc.integer({ min: 0, max: 20_000 }).map((day) => new Date(day * 864e5).toISOString().slice(0, 10)),
    what: text.map((name) => `${name}`.replaceAll('\n', '')).filter((name) => name.trim() !== ''),
    price: fc.record({
      minor: fc.integer({ min: 1, max: 1e9 }),
      currency: fc.constantFrom(...currencyCodes()),
    }),
    how: fc.constantFrom('sold', 'asked'),
    note: text,
  };
  const anyRow = fc
    .oneof(
      fc.record({
        ...common,
        kind: fc.constant('phone'),
        grade: fc.integer({ min: -2, max: 2 }),
        storage: fc.option(fc.integer({ min: 1, max: 8192 })),
      }),
      fc.record({ ...common, kind: fc.constant('part'), component: common.what }),
    )
    .map((row): SightingRow => sightingRowSchema.parse(row));

  test('what is written reads back the same', () => {
    fc.assert(
      fc.property(fc.constantFrom(...currencyCodes()), fc.array(anyRow), (currency, drawn) => {
        const rows = drawn.map((row) => ({ ...row, price: { ...row.price, currency } }));
        expect(read(sightingsToCsv(rows), { currency })).toEqual({ rows, problems: [] });
      }),
    );
  });

  test('no text cell begins as a formula, and the texts come back', () => {
    const notes = ['=1+1', '+1', '-1', '@x', "'", "'=1", "''=1", "'tis"];
    const rows = notes.map((note) => sightingRowSchema.parse({ ...read(rowsOf(PHONE)).rows[0], note }));
    const written = sightingsToCsv(rows);
    for (const row of written.trimEnd().split('\r\n').slice(1))
      expect(row.split(',').at(-1)).toMatch(/^["']/);
    expect(read(written).rows.map((row) => row.note)).toEqual(notes);
  });

  test('header first, CRLF after every line, quotes where RFC 4180 wants them', () => {
    const row = read(rowsOf(`${PHONE}"a ""b"", c"`)).rows;
    expect(sightingsToCsv(row)).toBe(`${HEADER}\r\n${PHONE}"a ""b"", c"\r\n`);
    expect(sightingsToCsv([])).toBe(`${SIGHTING_COLUMNS.join()}\r\n`);
  });
});

describe('what is said of a bad row', () => {
  const problemOf = (line: string, more: Partial<Parameters<typeof parseSightingsCsv>[1]> = {}) =>
    read(rowsOf(line), more).problems[0];
  test.each([
    [
      'no date',
      '2026-02-31,phone,Orrin K3,,-1,64,250.00,AUD,sold,',
      'date',
      'a calendar date such as 2026-03-02',
    ],
    ['no model', '2026-02-01,phone, ,,-1,64,250.00,AUD,sold,', 'what', 'the name of a known model'],
    [
      'hidden marks in a name',
      '2026-02-01,phone,Orrin\u202e K3,,-1,64,250.00,AUD,sold,',
      'what',
      'text without control characters',
    ],
    ['neither sold nor asked', '2026-02-01,phone,Orrin K3,,-1,64,250.00,AUD,given,', 'how', 'sold or asked'],
    [
      'hidden marks in a note',
      '2026-02-01,phone,Orrin K3,,-1,64,250.00,AUD,sold,a\u0007b',
      'note',
      'text without control characters',
    ],
    [
      'no component',
      '2026-02-01,part,Orrin K3, ,,,25.00,AUD,asked,',
      'component',
      'the name of a known component',
    ],
  ] as const)('%s', (_, line, column, expected) => {
    expect(problemOf(line)).toMatchObject({ line: 2, column, expected: expect.stringContaining(expected) });
  });

  test('a grade is a whole number, sign and digits alone', () => {
    for (const grade of ['1.5', 'x1', '1x', '--1', '1000000'])
      expect(problemOf(`2026-02-01,phone,Orrin K3,,${grade},64,250.00,AUD,sold,`), grade).toMatchObject({
        column: 'grade',
      });
  });

  test('a component that is not known is named, and what is long is cut', () => {
    expect(problemOf(PART, { knownComponent: () => false })?.problem).toContain(
      '"battery" is not a known component',
    );
    const long = problemOf(`2026-02-01,phone,${'K'.repeat(60)},,-1,64,250.00,AUD,sold,`, {
      knownModel: () => false,
    });
    expect(long?.problem).toContain(`"${'K'.repeat(40)}`);
    expect(long?.problem).not.toContain('K'.repeat(41));
  });

  test('limits of size are in, and said beyond', () => {
    const two = rowsOf(PHONE, PHONE);
    const size = Buffer.byteLength(two);
    expect(read(two, { maxBytes: size, maxRows: 2 }).problems).toEqual([]);
    expect(read(two, { maxBytes: size - 1 }).problems).toEqual([
      { line: 1, problem: 'The file is too large.', expected: `at most ${size - 1} bytes; split it` },
    ]);
    expect(read(two, { maxRows: 1 }).problems).toEqual([
      { line: 1, problem: 'The file has 2 rows.', expected: 'at most 1; split it' },
    ]);
    expect(read('').problems).toMatchObject([{ line: 1, problem: 'The header is not the expected one.' }]);
  });

  test('problems come in the order of the lines, and a row with a bad quote is told once', () => {
    const { rows, problems } = read(
      rowsOf(
        'x,phone,Orrin K3,,-1,64,250.00,AUD,sold,',
        PHONE,
        PHONE.replace('Orrin', 'Or"rin'),
        '2026-02-01,phone,"Orrin"s K3,,9,64,250.00,AUD,sold,',
      ),
    );
    expect(problems.map(({ line }) => line)).toEqual(
      [...problems.map(({ line }) => line)].sort((a, b) => a - b),
    );
    expect(problems[0]).toMatchObject({ line: 2, column: 'date' });
    const quote = problems.filter(({ problem }) => problem.includes('quoted cell'));
    expect(quote).toHaveLength(1);
    expect(quote[0]).toMatchObject({ problem: 'A quoted cell is not closed properly.', line: 5 });
    expect(problems.filter(({ line }) => line === 5)).toHaveLength(1);
    expect(rows.length).toBeGreaterThanOrEqual(1);
  });
});
