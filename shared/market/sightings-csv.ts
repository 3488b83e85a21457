import { z } from 'zod';
import { csvOf, guardFormula, papa, unguardFormula } from '../csv/csv.ts';
import { cellMarkOf, MOST_FILE_BYTES } from '../csv/text-file.ts';
import type { Message } from '../language/message.ts';
import { say, typed, verbatim } from '../language/say.ts';
import { moneySchema, toWire } from '../money/money.ts';
import { parseAmount } from '../money/parse-amount.ts';

/** The columns, in this order; a file must begin with exactly this header. */
export const SIGHTING_COLUMNS = [
  'date',
  'kind',
  'what',
  'component',
  'grade',
  'storage',
  'price',
  'currency',
  'how',
  'note',
] as const;
type Column = (typeof SIGHTING_COLUMNS)[number];

// Control characters, and the marks that turn or break a line of text and so can hide what it says.
const HIDDEN = /[\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]/u;
const HIDDEN_BUT_LINE_BREAK = /(?!\n)[\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]/u;

const line = (most: number) =>
  z
    .string()
    .trim()
    .max(most)
    .refine((text) => !HIDDEN.test(text));

const shared = {
  date: z.iso.date(),
  what: line(80).min(1),
  price: moneySchema.refine((price) => price.minor > 0),
  how: z.enum(['sold', 'asked']),
  note: z
    .string()
    .trim()
    .max(500)
    .refine((text) => !HIDDEN_BUT_LINE_BREAK.test(text)),
};

/** A price seen for a phone. Storage in GB, null where unknown. */
const phoneRowSchema = z.strictObject({
  ...shared,
  kind: z.literal('phone'),
  grade: z.int().min(-2).max(2),
  storage: z.int().min(1).max(8192).nullable(),
});

/** A price seen for a part that fits the model. */
const partRowSchema = z.strictObject({
  ...shared,
  kind: z.literal('part'),
  component: line(60).min(1),
});

export const sightingRowSchema = z.discriminatedUnion('kind', [phoneRowSchema, partRowSchema]);
export type SightingRow = z.infer<typeof sightingRowSchema>;

export interface CsvProblem {
  /** The line of the file on which the row begins, from 1. */
  line: number;
  column?: Column;
  problem: Message;
  expected: Message;
}

export interface CsvOptions {
  /** The collective's currency; every price must be in it. */
  currency: string;
  /** The last date allowed, as YYYY-MM-DD in the collective's time zone. */
  today: string;
  /** The first date allowed, likewise, for the model: none was sold before it. Default: none. */
  earliest?: (name: string) => string;
  knownModel: (name: string) => boolean;
  /** What a model and a component are, in the words of who reads the file. */
  expects?: { what: Message; component: Message };
  /** Default: every name is known. */
  knownComponent?: (name: string) => boolean;
  /** Of UTF-8; default what any file may have. */
  maxBytes?: number;
  /** Default 5000, header and empty lines not counted. */
  maxRows?: number;
}

/**
 * Reads price sightings from CSV (RFC 4180; CRLF or LF, with or without a byte order mark; cells parted by commas, semicolons or
 * tabs). The first line is the header. Where a comma does not part cells it may divide a price: `20,50`.
 *
 * | column | phone | part |
 * |---|---|---|
 * | date | when it was seen, YYYY-MM-DD, not in the future | same |
 * | kind | `phone` | `part` |
 * | what | the model's name | the model that it fits |
 * | component | empty | the component's name |
 * | grade | -2 to 2; empty means 0 | empty |
 * | storage | whole GB; may be empty | empty |
 * | price | above 0, with at most the currency's decimals | same |
 * | currency | ISO 4217 code of the collective | same |
 * | how | `sold` or `asked` | same |
 * | note | free, may hold line breaks; may be empty | same |
 *
 * Every bad row is reported, with the line it begins on. Import only if `problems` is empty: `rows` then holds them all.
 */
export function parseSightingsCsv(
  text: string,
  options: CsvOptions,
): {
  rows: SightingRow[];
  /** The line on which each row begins. */
  lines: number[];
  problems: CsvProblem[];
} {
  const maxBytes = options.maxBytes ?? MOST_FILE_BYTES;
  const maxRows = options.maxRows ?? 5000;
  const whole = (problem: Message, expected: Message) => ({
    rows: [],
    lines: [],
    problems: [{ line: 1, problem, expected }],
  });
  if (Buffer.byteLength(text) > maxBytes) {
    return whole(say`The file is too large.`, say`at most ${maxBytes} bytes; split it`);
  }

  const unified = text.replace(/^\uFEFF/, '').replaceAll(/\r\n?/g, '\n');
  const mark = cellMarkOf(unified);
  // Empty lines stay in, so that lines can be counted.
  const parsed = papa().parse<string[]>(unified, { delimiter: mark, newline: '\n', skipEmptyLines: false });
  const all = withLines(parsed.data);
  const records = /^sep=/i.test(unified) ? all.slice(1) : all;

  const header = records[0]?.cells.map((cell) => cell.trim().toLowerCase()) ?? [];
  if (header.join() !== SIGHTING_COLUMNS.join()) {
    return whole(say`The header is not the expected one.`, typed(SIGHTING_COLUMNS.join()));
  }
  const filled = records.slice(1).filter(({ cells }) => cells.some((cell) => cell.trim() !== ''));
  if (filled.length > maxRows)
    return whole(say`The file has ${filled.length} rows.`, say`at most ${maxRows}; split it`);

  // The reader may report one bad quote twice.
  const broken = new Set(
    parsed.errors
      .filter((error) => error.type === 'Quotes')
      .map((error) => records[error.row ?? 0]?.line ?? 1),
  );
  const problems = [...broken].map(
    (line): CsvProblem => ({
      line,
      problem: say`A quoted cell is not closed properly.`,
      expected: say`a closing quote directly before the comma or the end of the line; a quote inside is doubled`,
    }),
  );
  const rows: SightingRow[] = [];
  const lines: number[] = [];
  for (const record of filled) {
    if (broken.has(record.line)) continue;
    const result = readRow(record.cells, options, mark !== ',');
    if (result.row !== undefined) {
      rows.push(result.row);
      lines.push(record.line);
    }
    problems.push(...result.problems.map((problem) => ({ line: record.line, ...problem })));
  }
  return { rows, lines, problems: problems.sort((a, b) => a.line - b.line) };
}

/**
 * Writes sightings as CSV (RFC 4180, CRLF, header first) that {@link parseSightingsCsv} reads back to the same rows. A
 * text that a spreadsheet would take for a formula gets a leading apostrophe, which reading takes off again.
 */
export function sightingsToCsv(rows: readonly SightingRow[]): string {
  const lines = rows.map((row): string[] => {
    const price = toWire(row.price);
    return [
      row.date,
      row.kind,
      guardFormula(row.what),
      row.kind === 'part' ? guardFormula(row.component) : '',
      row.kind === 'phone' ? String(row.grade) : '',
      row.kind === 'phone' && row.storage !== null ? String(row.storage) : '',
      price.amount,
      price.currency,
      row.how,
      guardFormula(row.note),
    ];
  });
  return csvOf(SIGHTING_COLUMNS, lines);
}

type RowProblem = Omit<CsvProblem, 'line'>;

function readRow(
  cells: string[],
  options: CsvOptions,
  divides: boolean,
): { row?: SightingRow; problems: RowProblem[] } {
  if (cells.length !== SIGHTING_COLUMNS.length) {
    const problem = say`The row has ${cells.length} cells.`;
    return { problems: [{ problem, expected: say`${SIGHTING_COLUMNS.length} cells, as in the header` }] };
  }
  const cell = (column: Column) => (cells[SIGHTING_COLUMNS.indexOf(column)] ?? '').trim();
  const problems: RowProblem[] = [];
  const bad = (column: Column, problem: Message, expected: Message) =>
    problems.push({ column, problem, expected });
  const expects = { ...EXPECTED, ...options.expects };

  const kind = cell('kind');
  if (kind !== 'phone' && kind !== 'part') {
    bad('kind', say`"${verbatim(show(kind))}" is no kind of sighting.`, say`phone or part`);
    return { problems };
  }
  for (const column of kind === 'phone' ? (['component'] as const) : (['grade', 'storage'] as const)) {
    if (cell(column) !== '')
      bad(
        column,
        kind === 'phone' ? say`A phone has no ${typed(column)}.` : say`A part has no ${typed(column)}.`,
        say`an empty cell`,
      );
  }
  const currency = cell('currency');
  if (currency !== options.currency) {
    bad('currency', say`"${verbatim(show(currency))}" is not the currency in use.`, typed(options.currency));
  }
  const price = parseAmount(cell('price'), options.currency, divides ? { comma: 'divides' } : {});
  if (!price.ok) bad('price', price.problem, price.expected);

  const parsed = sightingRowSchema.safeParse({
    date: cell('date'),
    kind,
    what: unguardFormula(cell('what')),
    // A bad price is already reported; 1 lets the other cells be checked too.
    price: price.ok ? price.money : { minor: 1, currency: options.currency },
    how: cell('how'),
    note: unguardFormula(cell('note')),
    ...(kind === 'part'
      ? { component: unguardFormula(cell('component')) }
      : { grade: wholeNumber(cell('grade') || '0'), storage: wholeNumber(cell('storage')) }),
  });
  if (!parsed.success) {
    for (const issue of parsed.error.issues) {
      const column = SIGHTING_COLUMNS.find((name) => name === issue.path[0]) ?? 'kind';
      bad(
        column,
        say`"${verbatim(show(cell(column)))}" does not fit here.`,
        expectedFor(issue, expects[column]),
      );
    }
    return { problems };
  }
  const row = parsed.data;
  if (row.date > options.today)
    bad('date', say`${verbatim(row.date)} is in the future.`, say`a date up to ${verbatim(options.today)}`);
  const earliest = options.earliest?.(row.what) ?? '';
  if (row.date < earliest)
    bad(
      'date',
      say`${verbatim(row.date)} is before any was sold.`,
      say`a date from ${verbatim(earliest)} on`,
    );
  if (!options.knownModel(row.what))
    bad('what', say`"${verbatim(show(row.what))}" is not a known model.`, expects.what);
  if (row.kind === 'part' && options.knownComponent?.(row.component) === false) {
    bad('component', say`"${verbatim(show(row.component))}" is not a known component.`, expects.component);
  }
  return problems.length === 0 ? { row, problems } : { problems };
}

/** What a cell that breaks a rule for text should be; for any other rule, what its column is. */
function expectedFor(issue: z.core.$ZodIssue, column: Message): Message {
  if (issue.code === 'custom') return say`text without control characters`;
  if (issue.code === 'too_big' && issue.origin === 'string')
    return say`text of at most ${Number(issue.maximum)} characters`;
  return column;
}

const EXPECTED: Readonly<Record<Column, Message>> = {
  date: say`a calendar date such as 2026-03-02`,
  kind: say`phone or part`,
  what: say`the name of a known model`,
  component: say`the name of a known component`,
  grade: say`a whole number from -2 to 2, or an empty cell for 0`,
  storage: say`whole GB from 1 to 8192, or an empty cell`,
  price: say`a price above 0`,
  currency: say`the currency in use`,
  how: say`sold or asked`,
  note: say`text, or an empty cell`,
};

/** The number written, null for an empty cell, NaN (which no schema takes) for anything else. */
function wholeNumber(text: string): number | null {
  if (text === '') return null;
  return /^-?\d{1,6}$/.test(text) ? Number(text) : Number.NaN;
}

/** A cell as it may stand in a message: short, and without anything that could change the text around it. */
function show(text: string): string {
  return text.slice(0, 40).replaceAll(new RegExp(HIDDEN.source, 'gu'), '\uFFFD');
}

/** Each record with the line it begins on: a record spans one line more for each line break inside its cells. */
function withLines(data: string[][]): { cells: string[]; line: number }[] {
  let next = 1;
  return data.map((cells) => {
    const start = next;
    next += 1 + cells.reduce((total, cell) => total + cell.split('\n').length - 1, 0);
    return { cells, line: start };
  });
}
