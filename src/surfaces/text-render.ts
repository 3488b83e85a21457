/** A reply as lines of text. Pure: the same reply and window give the same lines. */

import { type Block, type CautionCard, type Reply, toneWord } from '../../commands/framework/reply.ts';
import { frontOf, hasBack, wholeOf } from '../../commands/framework/sides.ts';
import { percent } from '../../commands/shared/words.ts';
import { withLocale } from '../../shared/language/locale.ts';
import { render } from '../../shared/language/render.ts';
import { say, verbatim } from '../../shared/language/say.ts';
import { cleanLine, columnsOf, hang, pad, pointerLines, signs, wrap } from './text.ts';
import { tableLines } from './text-table.ts';

export interface Window {
  /** Columns, from 40 up. */
  width: number;
  colour: boolean;
}

/**
 * Bold, faint and reversed text can be read on dark and on light backgrounds; red and green only ever repeat what a sign
 * and a word say already.
 */
const painter = (colour: boolean) => {
  const style =
    (...codes: number[]) =>
    (text: string) =>
      colour && text ? `\u001b[${codes.join(';')}m${text}\u001b[0m` : text;
  return {
    bold: style(1),
    faint: style(2),
    caution: style(1, 7),
    danger: style(1, 7, 31),
    good: style(1, 32),
  };
};
type Paint = ReturnType<typeof painter>;

function cautionLines(card: CautionCard, width: number, paint: Paint): string[] {
  const { name, tone, lead, points, brief } = card;
  const body = width - 2;
  if (brief) return hang(`${signs[tone]} `, `${name}: ${lead}`, width);
  return [
    ...hang(`${signs[tone]} ${render(toneWord(tone)).toUpperCase()}: `, name, width).map(paint[tone]),
    ...[...wrap(lead, body), ...points.flatMap((point) => hang('- ', point, body))].map(
      (line) => `┃ ${line}`,
    ),
  ];
}

function titleLines({ title, tone, outcome }: Reply, width: number, paint: Paint): string[] {
  const sign = outcome === 'answered' ? signs[tone] : '✗';
  const look = outcome === 'answered' && tone === 'good' ? paint.good : paint.bold;
  return hang(`${sign} `, title, width).map(look);
}

/** Labels share one column; a long label has a line of its own. */
function factLines(rows: readonly { label: string; value: string }[], width: number, paint: Paint): string[] {
  const labels = rows.map(({ label }) => cleanLine(label));
  const most = Math.floor(width * 0.4);
  const column = Math.max(0, ...labels.map(columnsOf).filter((columns) => columns <= most));
  return rows.flatMap(({ value }, index) => {
    const label = labels[index] ?? '';
    const values = wrap(value, width - column - 2).map((line) => `${' '.repeat(column + 2)}${line}`);
    if (columnsOf(label) > most) return [...wrap(label, width).map(paint.faint), ...values];
    const [first = '', ...rest] = values;
    return [`${paint.faint(pad(label, column))}${first.slice(column)}`, ...rest];
  });
}

const EIGHTHS = ['', '▏', '▎', '▍', '▌', '▋', '▊', '▉'];

/** A share as blocks, to an eighth of a column; never empty for a share above 0. */
function bar(share: number, width: number): string {
  const eighths = share > 0 ? Math.max(1, Math.round(share * width * 8)) : 0;
  return '█'.repeat(Math.floor(eighths / 8)) + (EIGHTHS[eighths % 8] ?? '');
}

function barLines(bars: readonly { label: string; share: number }[], width: number): string[] {
  const long = width >= 70 ? 20 : 8;
  const shares = bars.map(({ share }) => render(percent(share)));
  const last = Math.max(0, ...shares.map(columnsOf));
  const labels = bars.map(({ label }) => cleanLine(label));
  const column = Math.min(Math.max(0, ...labels.map(columnsOf)), width - long - last - 4);
  return bars.flatMap(({ share }, index) => {
    const [first = '', ...rest] = wrap(labels[index] ?? '', column);
    return [
      `${pad(first, column)}  ${pad(bar(share, long), long)}  ${pad(shares[index] ?? '', last, 'right')}`,
      ...rest,
    ];
  });
}

function bodyLines(block: Block, width: number, paint: Paint): string[] {
  switch (block.kind) {
    case 'text':
      return wrap(block.text, width);
    case 'facts':
      return factLines(block.facts, width, paint);
    case 'table':
      return tableLines(block, width, paint.bold);
    case 'steps':
      return block.steps.flatMap((step, index) => hang(block.ordered ? `${index + 1}. ` : '- ', step, width));
    case 'quote':
      return [
        ...wrap(block.text, width - 2).map((line) => `│ ${line}`),
        ...(block.by === undefined ? [] : hang('  – ', block.by, width)),
      ];
    case 'bars':
      return barLines(block.bars, width);
    case 'pointer':
      return pointerLines(block.line, block.from, block.to, width);
  }
}

function blockLines(block: Block, width: number, paint: Paint): string[] {
  const heading = block.kind === 'pointer' ? undefined : block.heading;
  if (heading === undefined) return bodyLines(block, width, paint);
  return [
    ...wrap(heading, width).map(paint.bold),
    ...bodyLines(block, width - 2, paint).map((line) => `  ${line}`),
  ];
}

/**
 * The whole reply, each line at most `width` columns; ends with a line break. `notes` are the surface's own words, such as
 * where a file went.
 */
export const renderAsText = (reply: Reply, window: Window, notes: readonly string[] = []): string =>
  withLocale(reply.language, () => drawn(wholeOf(reply), window, notes, false));

/** The same for the front of a reply; it says how to have what stands behind it. */
export const renderFrontAsText = (reply: Reply, window: Window, notes: readonly string[] = []): string =>
  withLocale(reply.language, () => drawn(frontOf(reply), window, notes, hasBack(reply)));

/** Answers side by side where two lines hold them, else a line each; what else can be done runs on behind them. */
function choiceLines(choices: Reply['choices'], width: number, paint: Paint, front: boolean): string[] {
  const numbered = choices.map(({ label, aside }, index) => ({ label, aside, number: String(index + 1) }));
  const answers = numbered.filter(({ aside }) => !front || !aside);
  const asides = numbered.filter(({ aside }) => front && aside);
  const several = choices.some((choice) => choice.several);
  const digits = String(choices.length).length;
  const each = answers.flatMap(({ label, number }) => {
    const lead = `${pad(number, digits + 2, 'right')}  `;
    const [first = '', ...rest] = hang(lead, label, width);
    return [paint.bold(first.slice(0, lead.length)) + first.slice(lead.length), ...rest];
  });
  const beside = front && answers.length > 1 ? hang('  ', inRow(answers), width) : each;
  const others = inRow(asides);
  const rows = [
    ...(beside.length <= 2 || answers.length > MOST_EACH ? beside : each),
    ...(others ? hang('  ', answers.length ? render(say`or ${verbatim(others)}`) : others, width) : []),
  ];
  const asks = front
    ? rows.length
      ? several
        ? say`Answer with a number, or several of a kind as 2 4; “more” shows why, and the rest:`
        : say`Answer with a number; “more” shows why, and the rest:`
      : say`“more” shows why, and the rest.`
    : several
      ? say`Answer with a number, or several of a kind as 2 4:`
      : say`Answer with a number:`;
  return rows.length || front ? [...wrap(render(asks), width).map(paint.faint), ...rows] : [];
}
/** Above this many, answers never have a line each on a front. */
const MOST_EACH = 5;
const inRow = (choices: readonly { number: string; label: string }[]): string =>
  choices.map(({ number, label }) => `${number}\u00a0${cleanLine(label)}`).join(' · ');

/** The title and the blocks. On a front, which has to fit a window, sentences stand right below what is before them. */
function answerParts(reply: Reply, width: number, paint: Paint, close: boolean): string[][] {
  const parts = [titleLines(reply, width, paint)];
  for (const block of reply.blocks) {
    const lines = blockLines(block, width, paint);
    const last = parts.at(-1);
    if (close && last && block.kind === 'text' && block.heading === undefined) last.push(...lines);
    else parts.push(lines);
  }
  return parts;
}

function drawn(reply: Reply, window: Window, notes: readonly string[], front: boolean): string {
  const width = Math.max(40, window.width);
  const paint = painter(window.colour);
  const briefs = reply.cautions
    .filter(({ brief }) => brief)
    .flatMap((card) => cautionLines(card, width, paint));
  const before = reply.before === undefined ? [] : wrap(reply.before, width).map(paint.bold);
  const whole = reply.cautions.filter(({ brief }) => !brief).map((card) => cautionLines(card, width, paint));
  const parts: string[][] = [
    // Lines of cautions stand right below the one that is over them all.
    ...(whole.length ? [before, ...whole, briefs] : [[...before, ...briefs]]),
    ...answerParts(reply, width, paint, front),
    choiceLines(reply.choices, width, paint, front),
    reply.sources.length
      ? [render(say`Sources`), ...reply.sources.flatMap(({ title }) => hang('- ', title, width))].map(
          paint.faint,
        )
      : [],
    notes.flatMap((note) => wrap(note, width)),
  ];
  const shown = parts.filter((lines) => lines.length);
  const high = shown.reduce((sum, lines) => sum + lines.length, shown.length - 1);
  // A front that would not fit is drawn without empty lines, where nothing in it is framed.
  const gap = front && high > FRONT_LINES && !whole.length ? '\n' : '\n\n';
  return `${shown.map((lines) => lines.join('\n')).join(gap)}\n`;
}
/** Lines that a front should not exceed. */
const FRONT_LINES = 16;

/** The width to draw for: the window's, from 40 to 100; 80 where there is none. */
export const drawingWidth = (columns: number | undefined): number =>
  Math.max(40, Math.min(100, columns || 80));
