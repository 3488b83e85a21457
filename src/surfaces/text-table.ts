import type { Block } from '../../commands/framework/reply.ts';
import { cleanLine, columnsOf, hang, pad, wrap } from './text.ts';

type Table = Extract<Block, { kind: 'table' }>;
const GAP = 2;
/** A column of words is not made narrower than its longest word, up to this. */
const NARROW = 16;

const longestWord = (text: string): number => Math.max(0, ...text.split(' ').map(columnsOf));

/** Widths that fit, the widest column of words giving way first; null when the table cannot be that narrow. */
function fitColumns(table: Table, cells: readonly string[][], width: number): number[] | null {
  const all = (index: number) => [
    cleanLine(table.columns[index]?.label ?? ''),
    ...cells.map((row) => row[index] ?? ''),
  ];
  const widths = table.columns.map((_, index) => Math.max(...all(index).map(columnsOf)));
  const least = table.columns.map(({ align }, index) =>
    align === 'right'
      ? (widths[index] ?? 0)
      : Math.min(
          widths[index] ?? 0,
          Math.max(...all(index).map((text) => Math.min(NARROW, longestWord(text)))),
        ),
  );
  const total = () => widths.reduce((sum, one) => sum + one, 0) + GAP * (widths.length - 1);
  while (total() > width) {
    const spare = widths.map((one, index) => (one > (least[index] ?? 0) ? one : 0));
    const widest = spare.indexOf(Math.max(...spare));
    if (!spare[widest]) return null;
    widths[widest] = (widths[widest] ?? 0) - 1;
  }
  return widths;
}

/** One row as lines: its cells wrapped side by side. */
function rowLines(cells: readonly string[], table: Table, widths: readonly number[]): string[] {
  const wrapped = cells.map((cell, index) => wrap(cell, Math.max(2, widths[index] ?? 2)));
  const height = Math.max(1, ...wrapped.map((lines) => lines.length));
  return Array.from({ length: height }, (_, line) =>
    table.columns
      .map(({ align }, index) => pad(wrapped[index]?.[line] ?? '', widths[index] ?? 0, align))
      .join(' '.repeat(GAP))
      .trimEnd(),
  );
}

/** A table as lines of at most `width` columns. Where it cannot be so narrow, each row is a list of label and value. */
export function tableLines(table: Table, width: number, bold: (text: string) => string): string[] {
  if (!table.columns.length) return [];
  const cells = table.rows.map((row) => table.columns.map((_, index) => cleanLine(row[index] ?? '')));
  if (!cells.length) return ['(none)'];
  const widths = fitColumns(table, cells, width);
  if (!widths) {
    return cells.flatMap((row) =>
      table.columns
        .flatMap(({ label }, index) => {
          const name = cleanLine(label);
          const cell = row[index] ?? '';
          return cell ? [name ? `${name}: ${cell}` : cell] : [];
        })
        .flatMap((text, index) => hang(index ? '  ' : '- ', text, width)),
    );
  }
  const labels = table.columns.map(({ label }) => cleanLine(label));
  const rule = widths.map((one) => '─'.repeat(one)).join(' '.repeat(GAP));
  return [
    ...(labels.some(Boolean) ? [...rowLines(labels, table, widths).map(bold), rule] : []),
    ...cells.flatMap((row) => rowLines(row, table, widths)),
  ];
}
