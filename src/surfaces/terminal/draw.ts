/** Draws a reply for a terminal: cautions first, then the answer, the reason, the choices and the sources. */
import type { Block, CautionCard, Reply } from '../../../commands/reply.ts';
import { harmless, pad, widthOf, wrap } from './layout.ts';

export interface Window {
  width: number;
  colour: boolean;
}
type Style = 'bold' | 'dim' | 'danger' | 'caution' | 'good';

// Bold and underlined variants read on dark and light grounds; no meaning hangs on colour alone.
const codes: Readonly<Record<Style, string>> = {
  bold: '1',
  dim: '2',
  danger: '1;31',
  caution: '1;33',
  good: '1;32',
};
const styled = (style: Style, text: string, { colour }: Window): string =>
  colour && text ? `\u001b[${codes[style]}m${text}\u001b[0m` : text;

const toneWords = { danger: 'DANGER', caution: 'CAUTION' } as const;

function drawCaution(card: CautionCard, window: Window): string[] {
  const bar = styled(card.tone, card.tone === 'danger' ? '█ ' : '▌ ', window);
  const room = window.width - 2;
  return [
    bar + styled(card.tone, wrap(`${toneWords[card.tone]}: ${card.name}`, room).join(' '), window),
    ...wrap(card.lead, room).map((line) => bar + styled('bold', line, window)),
    ...card.points.flatMap((point) => wrap(`- ${point}`, room, 2).map((line) => bar + line)),
    '',
  ];
}

const BAR = 12;
/** A share as a row of blocks, in eighths. */
function bar(share: number): string {
  const eighths = Math.round(share * BAR * 8);
  const part = ['', '▏', '▎', '▍', '▌', '▋', '▊', '▉'][eighths % 8] ?? '';
  return pad('█'.repeat(Math.floor(eighths / 8)) + part, BAR);
}

function drawTable(block: Extract<Block, { kind: 'table' }>, width: number): string[] {
  const rows = block.rows.map((row) => row.map(harmless));
  const widths = block.columns.map(({ label }, i) =>
    Math.max(widthOf(label), ...rows.map((row) => widthOf(row[i] ?? ''))),
  );
  const gap = 2;
  const total = widths.reduce((sum, one) => sum + one, 0) + gap * (widths.length - 1);
  const lastIsText = block.columns.at(-1)?.align === 'left';
  const before = total - (widths.at(-1) ?? 0);
  if (total > width && lastIsText && width - before >= 20) widths[widths.length - 1] = width - before;
  else if (total > width) {
    // Too narrow for columns: each row as lines of label and value.
    return rows.flatMap((row, r) => [
      ...(r ? [''] : []),
      ...row.flatMap((cell, i) => {
        const label = block.columns[i]?.label ?? '';
        return cell ? wrap(label ? `${label}: ${cell}` : cell, width, 2) : [];
      }),
    ]);
  }
  const line = (cells: readonly string[]): string[] => {
    const wrapped = cells.map((cell, i) => (i === cells.length - 1 ? wrap(cell, widths[i] ?? 1) : [cell]));
    const height = Math.max(1, ...wrapped.map(({ length }) => length));
    return Array.from({ length: height }, (_, at) =>
      wrapped
        .map((lines, i) => pad(lines[at] ?? '', widths[i] ?? 0, block.columns[i]?.align))
        .join('  ')
        .trimEnd(),
    );
  };
  const head = block.columns.map(({ label }) => label);
  return [
    ...(head.some(Boolean) ? [...line(head), widths.map((one) => '─'.repeat(one)).join('  ')] : []),
    ...rows.flatMap(line),
  ];
}

function drawBlock(block: Block, window: Window): string[] {
  const { width } = window;
  const body = (): string[] => {
    switch (block.kind) {
      case 'text':
        return wrap(block.text, width);
      case 'quote':
        return [
          ...wrap(block.text, width - 2).map((line) => `│ ${line}`),
          ...(block.by ? [`│ ${harmless(block.by)}`] : []),
        ];
      case 'facts': {
        const label = Math.min(24, Math.max(0, ...block.facts.map((fact) => widthOf(harmless(fact.label)))));
        return block.facts.flatMap((fact) => {
          const lines = wrap(fact.value, Math.max(16, width - label - 2));
          return lines.map((line, i) => `${pad(i ? '' : harmless(fact.label), label)}  ${line}`);
        });
      }
      case 'steps':
        return block.steps.flatMap((step, i) => {
          const mark = block.ordered ? `${i + 1}. ` : '- ';
          return wrap(mark + step, width, mark.length);
        });
      case 'table':
        return drawTable(block, width);
      case 'bars':
        return block.bars.flatMap(({ label, share }) => {
          const percent = share > 0 && share < 0.005 ? '<1' : String(Math.round(share * 100));
          const head = `${bar(share)} ${pad(percent, 3, 'right')} %  `;
          return wrap(head.replaceAll(' ', '\u00a0') + label, width, head.length).map((line) =>
            line.replaceAll('\u00a0', ' '),
          );
        });
      case 'pointer': {
        // A long line is cut so that what is pointed at stays in view.
        const clean = (part: string) => harmless(part.replace(/\n/g, ' '));
        const before = clean(block.line.slice(0, block.from));
        const at = clean(block.line.slice(block.from, block.to)) || ' ';
        const shift = Math.max(0, before.length - (width - 30));
        const shown = (shift ? '…' : '') + before.slice(shift);
        const whole = wrap(shown + at + clean(block.line.slice(block.to)), width)[0] ?? '';
        const marks = Math.max(1, Math.min(widthOf(at), width - widthOf(shown)));
        return [whole, ' '.repeat(widthOf(shown)) + styled('caution', '^'.repeat(marks), window)];
      }
    }
  };
  const heading =
    'heading' in block && block.heading
      ? wrap(block.heading, width).map((line) => styled('bold', line, window))
      : [];
  return ['', ...heading, ...body()];
}

/** The reply as lines of at most `window.width` columns. `notes` are the surface's own words, such as where a file went. */
export function drawReply(reply: Reply, window: Window, notes: readonly string[] = []): string {
  const style: Style = reply.tone === 'plain' ? 'bold' : reply.tone;
  const mark = reply.outcome === 'answered' ? '' : reply.outcome === 'refused' ? 'Not done: ' : 'Fault: ';
  const lines = [
    ...reply.cautions.flatMap((card) => drawCaution(card, window)),
    ...wrap(mark + reply.title, window.width).map((line) => styled(style, line, window)),
    ...reply.blocks.flatMap((block) => drawBlock(block, window)),
    ...(reply.choices.length ? ['', styled('bold', 'Answer with a number:', window)] : []),
    ...reply.choices.flatMap(({ label }, i) =>
      wrap(`${pad(String(i + 1), 2, 'right')}  ${label}`, window.width, 4),
    ),
    ...(reply.sources.length ? [''] : []),
    ...reply.sources
      .flatMap(({ title }) => wrap(`Source: ${title}`, window.width, 2))
      .map((line) => styled('dim', line, window)),
    ...notes.flatMap((note) => ['', ...wrap(note, window.width)]),
  ];
  return `${lines.join('\n')}\n`;
}

/** The width to draw for: the window's, from 40 to 100; 80 where there is none. */
export const drawingWidth = (columns: number | undefined): number =>
  Math.max(40, Math.min(100, columns ?? 80));
