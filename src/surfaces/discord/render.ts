/**
 * A reply as pages of embeds. Pure.
 *
 * Embeds, not the newer layout components: a caution is a card of its own before the answer, with a colour that repeats
 * its word; a page may hold 6,000 characters instead of 4,000; the mark that the weekly post is found by sits in a footer;
 * and every client draws them. What embeds lack is mended: someone who has them turned off would miss a caution, and
 * a notification shows none of them, so each caution's name stands in the message's own text as well.
 */

import { type Block, type CautionCard, type Reply, toneWord } from '../../../commands/framework/reply.ts';
import { AS_BEFORE } from '../../../commands/framework/sides.ts';
import { percent } from '../../../commands/shared/words.ts';
import { render } from '../../../shared/language/render.ts';
import { say, typed, verbatim } from '../../../shared/language/say.ts';
import { cleanLine, columnsOf, graphemes, pad, pointerLines } from '../text.ts';
import { codeBlock, escapeClipped, escapeInline, escapeText } from './escape.ts';

export interface Embed {
  title?: string;
  description?: string;
  color: number;
  footer?: { text: string };
  image?: { url: string };
}
export interface Page {
  /** The names of the cautions; empty when there are none. */
  content: string;
  embeds: Embed[];
}

/**
 * What a card on a phone 400 points wide shows of even-spaced letters before it breaks the line: counted on pictures of
 * drawn replies (tests/discord/pictures).
 */
const COLUMNS = 30;
/** Length of a whole bar. */
const BAR = 10;
/** Discord's limits ("Message Resource", "Embed Limits"). */
const LIMIT = { title: 256, description: 4096, content: 2000, embeds: 10 } as const;
/** Characters on a page: well below Discord's 6,000, since nobody reads that much at once on a phone. */
const PAGE = 3600;
/** A piece of a block is not longer than this, so that a page can always be filled. */
const PIECE = 2800;
/** A heading, or a name below a quotation. */
const LABEL = 250;
/** What stands around the rows of a piece: a heading, the head of a table, the marks of a block. */
const FRAME = 500;

const signs = { plain: '▸', good: '✓', caution: '▲', danger: '◆' } as const;
/** Told apart by lightness as well as by hue; each only repeats what a sign and a word say. */
const colours = { plain: 0x5b7a99, good: 0x2f9e6e, caution: 0xe0a100, danger: 0xb3261e } as const;

type Table = Extract<Block, { kind: 'table' }>;

/** Widths of the columns; null when the table is wider than a phone. */
function widthsOf({ columns, rows }: Table): number[] | null {
  if (rows.some((row) => row.some((cell) => cell.length > 4 * COLUMNS))) return null;
  const widths = columns.map(({ label }, index) =>
    Math.max(columnsOf(cleanLine(label)), ...rows.map((row) => columnsOf(cleanLine(row[index] ?? '')))),
  );
  return widths.reduce((sum, one) => sum + one, 0) + 2 * (widths.length - 1) <= COLUMNS ? widths : null;
}

function evenTable({ columns, rows }: Table, widths: readonly number[]): string {
  const line = (cells: readonly string[]) =>
    columns
      .map(({ align }, index) => pad(cleanLine(cells[index] ?? ''), widths[index] ?? 0, align))
      .join('  ')
      .trimEnd();
  const labels = columns.map(({ label }) => label);
  return codeBlock([
    ...(labels.some((label) => label.trim())
      ? [line(labels), widths.map((width) => '─'.repeat(width)).join('  ')]
      : []),
    ...rows.map(line),
  ]);
}

/** A column's head that is the unit of the amounts beside it (ISO 4217). */
const CURRENCY = /^[A-Z]{3}$/;

/** Each row as what it is, and its values behind their labels. */
function listedTable({ columns, rows }: Table): string {
  const corner = columns[0]?.label.trim() ?? '';
  const entries = rows
    .map((row) => {
      const cells = columns.flatMap(({ label }, index) => {
        const value = cleanLine(row[index] ?? '').trim();
        return value ? [{ label: cleanLine(label).trim(), value }] : [];
      });
      const [first, ...rest] = cells;
      const told = rest.map(({ label, value }) =>
        label ? `${escapeInline(label)}: ${escapeInline(value)}` : escapeInline(value),
      );
      return `- ${[`**${escapeInline(first?.value ?? '–')}**`, told.join('; ')].filter(Boolean).join(' – ')}`;
    })
    .join('\n');
  return CURRENCY.test(corner) ? `-# ${render(say`Amounts in ${typed(corner)}`)}\n${entries}` : entries;
}

/** `widths`: of the whole table, where only some of its rows are drawn. */
function drawTable(table: Table, widths: number[] | null): string {
  if (!table.columns.length || !table.rows.length) return '(none)';
  return widths ? evenTable(table, widths) : listedTable(table);
}

const indented = (text: string, indent: string): string => escapeText(text).replace(/\n/g, `\n${indent}`);

/** Keeps a number with its unit when a line is broken. */
const tied = (text: string): string =>
  text.replace(/(?<=\d) (?=%)/g, '\u00a0').replace(/(?<=\b[A-Z]{3}) (?=-?\d)/g, '\u00a0');

/** The bar first, where it is as long as any other, so that labels of any length stand beside it. */
function barLine({ label, share }: Extract<Block, { kind: 'bars' }>['bars'][number]): string {
  const full = share > 0 ? Math.max(1, Math.round(share * BAR)) : 0;
  return `\`${'█'.repeat(full)}${'░'.repeat(BAR - full)}\` **${render(percent(share))}** ${escapeInline(label)}`;
}

function drawBody(block: Block, from: number, widths: number[] | null): string {
  switch (block.kind) {
    case 'text':
      return escapeText(block.text);
    case 'facts':
      return block.facts
        .map(({ label, value }) => `**${escapeInline(label)}:** ${indented(value, '')}`)
        .join('\n');
    case 'table':
      return drawTable(block, widths);
    case 'steps':
      return block.steps
        .map((step, index) => (block.ordered ? `${from + index}. ` : '- ') + indented(step, '  '))
        .join('\n');
    case 'quote':
      return [
        ...escapeText(block.text).split('\n'),
        ...(block.by === undefined ? [] : [`– ${escapeClipped(block.by, LABEL)}`]),
      ]
        .map((line) => `> ${line}`)
        .join('\n');
    case 'bars':
      return block.bars.map(barLine).join('\n');
    case 'pointer':
      return codeBlock(pointerLines(block.line, block.from, block.to, COLUMNS));
  }
}

function drawBlock(block: Block, from = 1, widths: number[] | null = null): string {
  const heading = block.kind === 'pointer' ? undefined : block.heading;
  const code = block.kind === 'pointer' || (block.kind === 'table' && widths !== null);
  const drawn = drawBody(block, from, widths);
  const body = code ? drawn : tied(drawn);
  return heading === undefined ? body : `**${escapeClipped(heading, LABEL)}**\n${body}`;
}

/** The most that text can take once it is escaped, with a quotation's mark before each line. */
const weightOf = (text: string): number =>
  text.length +
  (text.match(/[\\*_~`|<>[\]@#:/\uE000\uE002]/g)?.length ?? 0) +
  3 * (text.split('\n').length + 1);

/** Cuts text into parts of at most `most` once escaped: between lines, else between words, else between letters. */
function cutText(text: string, most: number): string[] {
  if (weightOf(text) <= most) return [text];
  const gap = text.includes('\n') ? '\n' : text.includes(' ') ? ' ' : '';
  const units = gap ? text.split(gap) : graphemes(text);
  if (units.length < 2) return [text];
  const parts: string[] = [];
  let part = units[0] ?? '';
  let weight = weightOf(part);
  for (const unit of units.slice(1)) {
    const more = weightOf(unit);
    if (weight + more <= most) {
      part += gap + unit;
      weight += gap.length + more;
      continue;
    }
    parts.push(part);
    part = unit;
    weight = more;
  }
  return [...parts, part].flatMap((one) => cutText(one, most));
}

/** Groups of neighbours whose sizes add up to at most `most`; an item that is larger is a group of its own. */
function groups<T>(items: readonly T[], sizeOf: (item: T) => number, most: number): T[][] {
  const made: T[][] = [];
  let group: T[] = [];
  let size = 0;
  for (const item of items) {
    const more = sizeOf(item);
    if (group.length && size + more > most) {
      made.push(group);
      group = [];
      size = 0;
    }
    group.push(item);
    size += more;
  }
  return group.length ? [...made, group] : made;
}
const joined = (lines: readonly string[], most: number): string[] =>
  groups(lines, (line) => line.length + 1, most).map((part) => part.join('\n'));

/** A block in pieces of at most PIECE characters, cut between its rows. The heading is on the first. */
function piecesOf(block: Block): string[] {
  const widths = block.kind === 'table' ? widthsOf(block) : null;
  const whole = drawBlock(block, 1, widths);
  if (whole.length <= PIECE) return [whole];
  const inGroups = <T>(items: readonly T[], make: (part: T[]) => Block): string[] => {
    const lengthOf = (part: T[]) => drawBody(make(part), 1, widths).length;
    // What one more row adds, with room for a longer number.
    const rowOf = (item: T) => lengthOf([item, item]) - lengthOf([item]) + 4;
    let from = 1;
    return groups(items, rowOf, PIECE - FRAME).flatMap((part, index) => {
      const made = make(part);
      const piece = index && made.kind !== 'pointer' ? { ...made, heading: undefined } : made;
      const at = from;
      from += part.length;
      const drawn = drawBlock(piece, at, widths);
      if (drawn.length <= PIECE) return [drawn];
      // One row alone is longer than a page: its words are kept, its shape is not.
      return cutText(plainOf(piece), PIECE).map(escapeText);
    });
  };
  switch (block.kind) {
    case 'table':
      return inGroups(block.rows, (rows) => ({ ...block, rows }));
    case 'facts':
      return inGroups(block.facts, (facts) => ({ ...block, facts }));
    case 'steps':
      return inGroups(block.steps, (steps) => ({ ...block, steps }));
    case 'bars':
      return inGroups(block.bars, (bars) => ({ ...block, bars }));
    case 'text':
    case 'quote':
      return cutText(block.text, PIECE - 2 * LABEL).map((text, index) =>
        drawBlock({ ...block, text, ...(index ? { heading: undefined } : {}) }),
      );
    case 'pointer':
      return [whole];
  }
}

/** The words of a block without its shape. */
function plainOf(block: Block): string {
  switch (block.kind) {
    case 'table':
      return block.rows.map((row) => row.join(' ')).join('\n');
    case 'facts':
      return block.facts.map(({ label, value }) => `${label}: ${value}`).join('\n');
    case 'steps':
      return block.steps.join('\n');
    case 'bars':
      return block.bars.map(({ label }) => label).join('\n');
    case 'pointer':
      return block.line;
    case 'text':
    case 'quote':
      return block.text;
  }
}

const cautionHead = ({ name, tone }: CautionCard): string =>
  `${signs[tone]} ${render(toneWord(tone)).toUpperCase()}: ${name}`;

/** A caution as embeds: one, unless its points are very long. */
function cautionEmbeds(card: CautionCard): Embed[] {
  const block: Block = { kind: 'steps', ordered: false, steps: card.points };
  const pieces = [
    ...cutText(card.lead, PIECE).map(escapeText),
    ...(card.points.length ? piecesOf(block) : []),
  ];
  const descriptions = joined(pieces, PIECE);
  const title = escapeClipped(cautionHead(card), LIMIT.title);
  return descriptions.map((description) => ({ title, description, color: colours[card.tone] }));
}

/** What stands over the cautions, their names, and those in a line whole, as text of the message itself. */
function contentOf({ before, cautions }: Reply): string {
  const lines = cautions.map(({ id, tone, name, lead, brief }) =>
    brief
      ? `${id === AS_BEFORE ? '-# ' : ''}${signs[tone]} **${escapeClipped(name, LABEL)}:** ${escapeText(lead)}`
      : `${signs[tone]} **${render(toneWord(tone)).toUpperCase()}:** ${escapeClipped(name, LABEL)}`,
  );
  // Small where only lines follow: a danger comes with all of it large.
  const small = cautions.every(({ brief }) => brief) ? '-# ' : '';
  const over = before === undefined ? [] : [`${small}${escapeText(before)}`];
  return joined([...over, ...lines], LIMIT.content)[0] ?? '';
}

const sizeOf = ({ title = '', description = '', footer }: Embed): number =>
  title.length + description.length + (footer?.text.length ?? 0);

export interface Extra {
  /** The surface's own words at the end, such as what became of a file. */
  notes?: readonly string[];
  /** A mark in the footer by which the message can be found again. */
  mark?: string;
  /** Names of attached pictures, shown below the answer on its first page. */
  pictures?: readonly string[];
}

/** Text that is not cut again, and what parts it from the piece before. */
interface Piece {
  text: string;
  gap: '\n' | '\n\n';
}

/** Everything below the title. Sentences without a heading follow each other without an empty line. */
function bodyPieces(reply: Reply, title: string, notes: readonly string[]): Piece[] {
  const isSentence = (block: Block | undefined): boolean =>
    block?.kind === 'text' && block.heading === undefined;
  const apart = (text: string): Piece => ({ text, gap: '\n\n' });
  return [
    // A title that did not fit is told whole.
    ...(title.endsWith('…') && !reply.title.endsWith('…')
      ? piecesOf({ kind: 'text', text: reply.title }).map(apart)
      : []),
    ...reply.blocks.flatMap((block, at) => {
      const close = isSentence(block) && isSentence(reply.blocks[at - 1]);
      return piecesOf(block).map((text, index): Piece => ({ text, gap: close && !index ? '\n' : '\n\n' }));
    }),
    ...joined(
      reply.sources.map(
        ({ title: source }) => `-# ${render(say`Source: ${verbatim(escapeClipped(source, LABEL))}`)}`,
      ),
      PIECE,
    ).map(apart),
    ...notes.map((note) => apart(`-# ${escapeClipped(note, 400)}`)),
  ];
}

/**
 * The pages of a reply, at least one: cautions first, each block on one page where it fits, no block cut but between its
 * rows. All text in it is escaped.
 */
export function renderPages(reply: Reply, { notes = [], mark, pictures = [] }: Extra = {}): Page[] {
  const sign = reply.outcome === 'answered' ? signs[reply.tone] : '✗';
  const title = tied(escapeClipped(`${sign} ${reply.title}`, LIMIT.title));
  const color = colours[reply.tone];
  const content = contentOf(reply);
  const pages: Page[] = [];
  let page: Page = { content, embeds: [] };
  let used = 0;
  const turn = () => {
    if (page.embeds.length) pages.push(page);
    page = { content, embeds: [] };
    used = 0;
  };

  for (const embed of reply.cautions.filter(({ brief }) => !brief).flatMap(cautionEmbeds)) {
    // One place is kept for the answer itself, and some for its pictures.
    const full = page.embeds.length >= LIMIT.embeds - 4;
    if (page.embeds.length && (full || used + sizeOf(embed) > PAGE)) turn();
    page.embeds.push(embed);
    used += sizeOf(embed);
  }
  let answer: Embed | null = null;
  const begin = () => {
    answer = { title, color };
    page.embeds.push(answer);
    used += title.length;
  };
  const pieces = bodyPieces(reply, title, notes);
  if (used + title.length + (pieces[0]?.text.length ?? 0) > PAGE) turn();
  begin();
  for (const piece of pieces) {
    if (used + piece.text.length + 2 > PAGE) {
      turn();
      begin();
    }
    const embed = page.embeds.at(-1);
    if (!embed) throw new Error('a page without an embed');
    const { description } = embed;
    embed.description = description === undefined ? piece.text : `${description}${piece.gap}${piece.text}`;
    used += piece.text.length + 2;
  }
  turn();

  const first = pages.find(({ embeds }) => embeds.some((embed) => embed.title === title)) ?? pages[0];
  showPictures(first, pictures, color);
  return pages.map((one, index) => withFooter(one, index, pages.length, mark));
}

/** The first picture goes into the answer's own embed, each other one into another below it. */
function showPictures(page: Page | undefined, pictures: readonly string[], color: number): void {
  if (!page) return;
  const urls = pictures.map((name) => ({ url: `attachment://${name}` }));
  const [first, ...rest] = urls;
  const last = page.embeds.at(-1);
  if (first && last) last.image = first;
  for (const image of rest.slice(0, LIMIT.embeds - page.embeds.length)) page.embeds.push({ image, color });
}

function withFooter(page: Page, index: number, count: number, mark: string | undefined): Page {
  const words = [...(count > 1 ? [render(say`Page ${index + 1} of ${count}`)] : []), ...(mark ? [mark] : [])];
  if (!words.length) return page;
  return {
    ...page,
    embeds: page.embeds.map((embed, at) =>
      at === page.embeds.length - 1 ? { ...embed, footer: { text: words.join(' · ') } } : embed,
    ),
  };
}
