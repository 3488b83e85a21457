/** The phones of a lot, as typed or from a file: each row one phone, or several that are alike. */
import { fits } from '../../knowledge/features.ts';
import { papa, unguardFormula } from '../../shared/csv/csv.ts';
import type { Message } from '../../shared/language/message.ts';
import { inRow, packText, say, typed, verbatim } from '../../shared/language/say.ts';
import type { Context } from '../framework/context.ts';
import type { Lookup, Named } from '../framework/lookup.ts';
import { nearestNames } from '../framework/lookup.ts';
import { Refusal } from '../framework/refusal.ts';
import type { Invocation } from '../framework/reply.ts';
import { components, modelsAndFamilies, symptoms } from '../shared/lookups.ts';
import { type Condition, conditions, type Phone, phoneOf } from '../shared/phone.ts';
import { askToName } from '../shared/unnamed-phone.ts';

export interface LotRowAsked {
  /** Its place: the part of the text, or the line of the file. */
  place: number;
  phone: Phone;
  symptoms: readonly string[];
  damage: readonly string[];
  condition: Condition;
  storageGb: number | null;
  count: number;
}

export const LOT_COLUMNS = ['model', 'symptoms', 'damage', 'condition', 'storage', 'count'] as const;
/** A lot is at most so many rows, and so many phones in a row. */
const MOST_ROWS = 60;
const MOST_ALIKE = 200;

interface Part {
  option: 'phones' | 'file';
  place: number;
  text: string;
}
function refusePart(
  { option, place, text }: Part,
  problem: Message,
  more: { expected: Message; nearest?: string[]; instead?: Invocation | null },
): never {
  throw new Refusal({
    code: 'bad-option',
    option,
    problem:
      option === 'file'
        ? say`Line ${place}: ${problem}.`
        : say`Phone ${place}, "${verbatim(text)}": ${problem}.`,
    ...more,
  });
}

/** Names separated by commas or "and"; each has to be in the lookup. */
function namesIn(part: Part, text: string, lookup: Lookup, context: Context): string[] {
  const entries = lookup.entries(context);
  return text
    .split(/,|\band\b|\+/)
    .map((name) => name.trim())
    .filter(Boolean)
    .map((name) => {
      const found = lookup.find(name, entries);
      if (found) return found.id;
      return refusePart(part, lookup.none(verbatim(name)), {
        expected: lookup.expected,
        nearest: nearestNames(name, entries),
      });
    });
}

function rowOf(
  context: Context,
  part: Part,
  { model, ...row }: Omit<LotRowAsked, 'phone' | 'place'> & { model: Named },
): LotRowAsked {
  const phone = phoneOf(context, model);
  for (const id of row.symptoms) {
    const symptom = context.knowledge.symptoms.get(id);
    if (symptom && !fits(phone.family, symptom))
      refusePart(part, say`A ${packText(phone.family.name)} cannot show "${packText(symptom.name)}"`, {
        expected: say`a symptom of this family`,
      });
  }
  for (const id of row.damage) {
    if (!(id in phone.family.components))
      refusePart(part, say`A ${packText(phone.family.name)} has no ${typed(id)}`, {
        expected: say`a component of its family`,
      });
  }
  return { ...row, phone, place: part.place };
}

/** `Orrin K3 dead; 3x Orrin K4 cracked, no charge`. */
export function typedRows(
  text: string,
  context: Context,
  texts: Readonly<Record<string, string>>,
): LotRowAsked[] {
  const entries = modelsAndFamilies.entries(context);
  const parts = text
    .split(';')
    .map((one) => one.trim())
    .filter(Boolean);
  checkSize(parts.length, 'phones');
  return parts.map((whole, i) => {
    const part: Part = { option: 'phones', place: i + 1, text: whole };
    const [, many, rest = whole] = /^(\d{1,3})\s*[x×]\s*(.+)$/i.exec(whole) ?? [];
    const words = rest.split(/\s+/);
    // The longest beginning that is a name.
    const length = words
      .map((_, k) => words.length - k)
      .find((k) => modelsAndFamilies.find(words.slice(0, k).join(' '), entries) !== undefined);
    const model =
      length === undefined ? undefined : modelsAndFamilies.find(words.slice(0, length).join(' '), entries);
    if (!model || length === undefined)
      return refusePart(part, say`no model or family is named at its beginning`, {
        expected: modelsAndFamilies.expected,
        nearest: nearestNames(words.slice(0, 2).join(' '), entries),
        instead: askToName(rest, context, { command: 'lot', action: '', options: texts }),
      });
    return rowOf(context, part, {
      model,
      symptoms: namesIn(part, words.slice(length).join(' '), symptoms, context),
      damage: [],
      condition: 'fair',
      storageGb: null,
      count: countOf(part, many),
    });
  });
}

function countOf(part: Part, text: string | undefined): number {
  const count = text === undefined || text === '' ? 1 : Number(text);
  if (Number.isInteger(count) && count >= 1 && count <= MOST_ALIKE) return count;
  return refusePart(part, say`"${verbatim(text ?? '')}" is no count`, {
    expected: say`a whole number from 1 to ${MOST_ALIKE}`,
  });
}

function checkSize(rows: number, option: Part['option']): void {
  if (rows >= 1 && rows <= MOST_ROWS) return;
  throw new Refusal({
    code: 'bad-option',
    option,
    problem: rows ? say`${rows} rows are too many.` : say`There is no phone in it.`,
    expected: say`1 to ${MOST_ROWS} rows; phones that are alike in one, with their count`,
  });
}

/** CSV (RFC 4180) with the header of {@link LOT_COLUMNS}; all but the model may be empty. */
export function rowsOfFile(text: string, context: Context): LotRowAsked[] {
  const unified = text.replace(/^\uFEFF/, '').replaceAll(/\r\n?/g, '\n');
  const { data } = papa().parse<string[]>(unified, { delimiter: ',', newline: '\n', skipEmptyLines: false });
  const [header = [], ...lines] = data;
  if (header.map((cell) => cell.trim().toLowerCase()).join() !== LOT_COLUMNS.join())
    throw new Refusal({
      code: 'bad-option',
      option: 'file',
      problem: say`The header is not the expected one.`,
      expected: typed(LOT_COLUMNS.join()),
    });
  const filled = lines
    .map((cells, i) => ({ cells, place: i + 2 }))
    .filter(({ cells }) => cells.some((cell) => cell.trim() !== ''));
  checkSize(filled.length, 'file');
  const entries = modelsAndFamilies.entries(context);
  return filled.map(({ cells, place }) => {
    const part: Part = { option: 'file', place, text: '' };
    const cell = (column: (typeof LOT_COLUMNS)[number]) =>
      unguardFormula((cells[LOT_COLUMNS.indexOf(column)] ?? '').trim());
    const model = modelsAndFamilies.find(cell('model'), entries);
    if (!model)
      return refusePart(part, modelsAndFamilies.none(verbatim(cell('model'))), {
        expected: modelsAndFamilies.expected,
        nearest: nearestNames(cell('model'), entries),
      });
    const condition = conditions.find((one) => one === (cell('condition').toLowerCase() || 'fair'));
    if (!condition)
      return refusePart(part, say`"${verbatim(cell('condition'))}" is not one of the choices`, {
        expected: inRow(conditions.map((one) => typed(one))),
      });
    const storage = cell('storage');
    if (storage && !/^\d{1,4}$/.test(storage))
      return refusePart(part, say`"${verbatim(storage)}" is no storage in GB`, {
        expected: say`whole GB, or an empty cell`,
      });
    return rowOf(context, part, {
      model,
      symptoms: namesIn(part, cell('symptoms'), symptoms, context),
      damage: namesIn(part, cell('damage'), components, context),
      condition,
      storageGb: storage ? Number(storage) : null,
      count: countOf(part, cell('count')),
    });
  });
}
