/**
 * Records of finished repairs that can be given to anybody, in the columns of the Open Repair Data Standard v0.3 (Open Repair
 * Alliance, 2021-12-07), with what its table schema asks of each. Pure.
 */
import { z } from 'zod';
import { csvOf, guardFormula, papa, unguardFormula } from '../csv/csv.ts';
import { cellMarkOf } from '../csv/text-file.ts';

/** In this order; a file begins with this header. */
export const RECORD_COLUMNS = [
  'id',
  'data_provider',
  'country',
  'partner_product_category',
  'product_category',
  'product_category_id',
  'brand',
  'year_of_manufacture',
  'product_age',
  'repair_status',
  'repair_barrier_if_end_of_life',
  'group_identifier',
  'event_date',
  'problem',
] as const;
type RecordColumn = (typeof RECORD_COLUMNS)[number];

export const repairStatuses = ['Fixed', 'Repairable', 'End of life', 'Unknown'] as const;
export type RepairStatus = (typeof repairStatuses)[number];

/** As the standard words them, and as the published table schemas do. */
const barriers = [
  'Spare parts not available',
  'Spare parts too expensive',
  'No way to open the product',
  'No way to open product',
  'Repair information not available',
  'Lack of equipment',
  'Product too worn out',
  'Item too worn out',
  'Too worn out',
];

/** The category of phones, and its number in the standard's list of categories v0.3. */
export const MOBILE = { product_category: 'Mobile', product_category_id: '19' } as const;

const line = (most: number) =>
  z
    .string()
    .trim()
    .max(most)
    .refine((text) => !/[\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]/u.test(text));

export const openRecordSchema = z.strictObject({
  id: z.string().regex(/^[a-z]+[a-z_-]*-[0-9]+$/),
  data_provider: line(120),
  country: z.string().regex(/^([A-Z]{3})?$/),
  partner_product_category: line(200),
  product_category: line(80),
  product_category_id: z.string().regex(/^([0-9]{1,2})?$/),
  brand: line(80),
  year_of_manufacture: z.string().regex(/^([0-9]{4})?$/),
  product_age: z.string().regex(/^([0-9]+(\.[0-9]+)?)?$/),
  repair_status: z.enum(repairStatuses),
  repair_barrier_if_end_of_life: z.string().refine((text) => text === '' || barriers.includes(text)),
  group_identifier: line(120),
  event_date: z.union([z.iso.date(), z.literal('')]),
  problem: line(4000),
});
export type OpenRecord = z.infer<typeof openRecordSchema>;

/** As CSV (RFC 4180); nothing in it is run as a formula. */
export const recordsToCsv = (records: readonly OpenRecord[]): string =>
  csvOf(
    RECORD_COLUMNS,
    records.map((record) => RECORD_COLUMNS.map((column) => guardFormula(record[column]))),
  );

/** A line of the file, from 1, and the column that is not right; none where its cells cannot be told apart. */
export interface RecordProblem {
  line: number;
  column: RecordColumn | null;
}

/** Reads what {@link recordsToCsv} writes, and files of others with the same columns in any order; line breaks in words become spaces. */
export function recordsOfCsv(
  text: string,
): { ok: true; records: OpenRecord[] } | { ok: false; problems: RecordProblem[] } {
  const { data } = papa().parse<string[]>(text.replace(/^\uFEFF/, '').replace(/^sep=[,;\t]\r?\n/i, ''), {
    delimiter: cellMarkOf(text),
    skipEmptyLines: 'greedy',
  });
  const [head = [], ...rows] = data;
  const names = head.map((name) => name.trim().toLowerCase());
  const missing = RECORD_COLUMNS.find((column) => !names.includes(column));
  if (missing) return { ok: false, problems: [{ line: 1, column: missing }] };
  const problems: RecordProblem[] = [];
  const records: OpenRecord[] = [];
  rows.forEach((cells, at) => {
    const own = Object.fromEntries(
      RECORD_COLUMNS.map((column) => [
        column,
        unguardFormula((cells[names.indexOf(column)] ?? '').replace(/[\s\p{Cc}\u2028\u2029]+/gu, ' ').trim()),
      ]),
    );
    const read = openRecordSchema.safeParse(own);
    if (read.success && cells.length === head.length) records.push(read.data);
    else {
      const [path] = read.error?.issues[0]?.path ?? [];
      problems.push({ line: at + 2, column: RECORD_COLUMNS.find((column) => column === path) ?? null });
    }
  });
  return problems.length ? { ok: false, problems } : { ok: true, records };
}
