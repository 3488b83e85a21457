/** A reply as Matrix messages: plain `body`, and HTML of the subset that the specification names. Pure. */

import { type Block, type CautionCard, type Reply, toneWord } from '../../../commands/framework/reply.ts';
import { percent } from '../../../commands/shared/words.ts';
import { withLocale } from '../../../shared/language/locale.ts';
import { render } from '../../../shared/language/render.ts';
import { say } from '../../../shared/language/say.ts';
import { clean, cleanLine, columnsOf, graphemes, maskLine } from '../text.ts';

/** One message, or a part of one: the same said twice. */
export interface Drawn {
  body: string;
  html: string;
}

/**
 * Bytes that body and HTML of one message may take together. An event has at most 65,536 bytes (Matrix specification
 * v1.11, Client-Server API, "Size limits"); encryption and JSON make it larger by a third and more.
 */
export const MESSAGE_BYTES = 32_000;

const signs = { plain: '▸', good: '✓', caution: '▲', danger: '◆' } as const;

/** Text that no client reads as markup. Line breaks become `<br>`. */
const escapeHtml = (text: string): string =>
  clean(text)
    .replace(/&/g, '&amp;')
    .replace(/</g, '&lt;')
    .replace(/>/g, '&gt;')
    .replace(/"/g, '&quot;')
    .replace(/'/g, '&#39;')
    .replace(/\n/g, '<br>');

const list = (items: readonly string[], ordered = false, from = 1): string => {
  const tag = ordered ? 'ol' : 'ul';
  const start = ordered && from > 1 ? ` start="${from}"` : '';
  return `<${tag}${start}>${items.map((item) => `<li>${escapeHtml(item)}</li>`).join('')}</${tag}>`;
};
const paragraph = (text: string): string => `<p>${escapeHtml(text)}</p>`;
const strong = (text: string): string => `<strong>${escapeHtml(text)}</strong>`;
const lines = (...parts: readonly string[]): string => parts.filter(Boolean).join('\n');

function drawCaution({ name, tone, lead, points, brief }: CautionCard): Drawn {
  if (brief) {
    const named = `${signs[tone]} ${cleanLine(name)}:`;
    return { body: `${named} ${cleanLine(lead)}`, html: `<p>${strong(named)} ${escapeHtml(lead)}</p>` };
  }
  const head = `${signs[tone]} ${render(toneWord(tone)).toUpperCase()}: ${cleanLine(name)}`;
  return {
    body: lines(head, clean(lead), ...points.map((point) => `- ${cleanLine(point)}`)),
    html: `<blockquote>${strong(head)}${paragraph(lead)}${points.length ? list(points) : ''}</blockquote>`,
  };
}

function drawTitle({ title, tone, outcome }: Reply): Drawn {
  const line = `${outcome === 'answered' ? signs[tone] : '✗'} ${cleanLine(title)}`;
  return { body: line, html: `<p>${strong(line)}</p>` };
}

type Table = Extract<Block, { kind: 'table' }>;

/** A row in words: what it is, then each value behind the label of its column. */
function rowWords({ columns }: Table, row: readonly string[]): { name: string; values: string } {
  const [first = '', ...rest] = columns.map((_, index) => cleanLine(row[index] ?? ''));
  const told = rest
    .map((value, index) => ({ label: cleanLine(columns[index + 1]?.label ?? ''), value }))
    .filter(({ value }) => value);
  const words = told.map(({ label, value }) => (label && told.length > 1 ? `${label} ${value}` : value));
  return { name: first, values: words.join('; ') };
}

/**
 * A list, and no HTML table: some widespread clients run the cells of one together, and on a phone columns are out of sight.
 * What stands over the first column, such as the currency, leads.
 */
function drawTable(table: Table): Drawn {
  const { columns, rows } = table;
  if (!rows.length) return { body: '(none)', html: paragraph('(none)') };
  const over = cleanLine(columns[0]?.label ?? '');
  const told = rows.map((row) => rowWords(table, row));
  const item = ({ name, values }: (typeof told)[number]): string =>
    `<li>${[name && strong(name), escapeHtml(values)].filter(Boolean).join(': ')}</li>`;
  return {
    body: lines(over, ...told.map(({ name, values }) => `- ${[name, values].filter(Boolean).join(': ')}`)),
    html: `${over && paragraph(over)}<ul>${told.map(item).join('')}</ul>`,
  };
}

/** The line with marks under the part from..to; what is missing is pointed at behind the end. */
function drawPointer(line: string, from: number, to: number): Drawn {
  let offset = 0;
  const shown = graphemes(maskLine(line)).map((text) => {
    const start = offset;
    offset += text.length;
    return { text, hit: start < Math.max(to, from + 1) && offset > from };
  });
  if (!shown.some(({ hit }) => hit)) shown.push({ text: ' ', hit: true });
  const text = shown
    .map((one) => one.text)
    .join('')
    .trimEnd();
  const marks = shown.map((one) => (one.hit ? '^' : ' ').repeat(columnsOf(one.text))).join('');
  const body = `${text}\n${marks.trimEnd()}`;
  // In <pre> a line break is one: a <br> beside it would be drawn as a second.
  return { body, html: `<pre><code>${escapeHtml(body).replaceAll('<br>', '\n')}\n</code></pre>` };
}

/** `from`: the number of the first of ordered steps, where an earlier message has those before. */
function drawBody(block: Block, from: number): Drawn {
  switch (block.kind) {
    case 'text':
      return { body: clean(block.text), html: paragraph(block.text) };
    case 'facts':
      return {
        body: block.facts.map(({ label, value }) => `- ${cleanLine(label)}: ${clean(value)}`).join('\n'),
        html: `<ul>${block.facts.map(({ label, value }) => `<li>${strong(cleanLine(label))}: ${escapeHtml(value)}</li>`).join('')}</ul>`,
      };
    case 'table':
      return drawTable(block);
    case 'steps':
      return {
        body: block.steps
          .map((step, index) => `${block.ordered ? `${from + index}.` : '-'} ${cleanLine(step)}`)
          .join('\n'),
        html: list(block.steps, block.ordered, from),
      };
    case 'quote':
      return {
        body: lines(
          ...clean(block.text)
            .split('\n')
            .map((line) => `> ${line}`),
          block.by === undefined ? '' : `– ${cleanLine(block.by)}`,
        ),
        html: `<blockquote>${paragraph(block.text)}${block.by === undefined ? '' : paragraph(`– ${block.by}`)}</blockquote>`,
      };
    case 'bars': {
      const bars = block.bars.map(({ label, share }) => ({
        label: cleanLine(label),
        share: render(percent(share)),
      }));
      return {
        body: bars.map(({ label, share }) => `- ${label}: ${share}`).join('\n'),
        html: `<ul>${bars.map(({ label, share }) => `<li>${escapeHtml(label)}: ${strong(share)}</li>`).join('')}</ul>`,
      };
    }
    case 'pointer':
      return drawPointer(block.line, block.from, block.to);
  }
}

function drawBlock(block: Block, from = 1): Drawn {
  const drawn = drawBody(block, from);
  const heading = block.kind === 'pointer' ? undefined : block.heading;
  return heading === undefined
    ? drawn
    : {
        body: lines(cleanLine(heading), drawn.body),
        html: `<p>${strong(cleanLine(heading))}</p>${drawn.html}`,
      };
}

const bytesOf = ({ body, html }: Drawn): number =>
  Buffer.byteLength(JSON.stringify(body)) + Buffer.byteLength(JSON.stringify(html));

const halves = <T>(items: readonly T[]): [T[], T[]] => {
  const middle = Math.ceil(items.length / 2);
  return [items.slice(0, middle), items.slice(middle)];
};

/** The block as two smaller ones, cut between its rows; text is cut at a space. Null when there is nothing to cut. */
function cut(block: Block): { parts: [Block, Block]; first: number } | null {
  const two = <T>(items: readonly T[], make: (part: T[]) => Block) => {
    if (items.length < 2) return null;
    const [left, right] = halves(items);
    return { parts: [make(left), make(right)] as [Block, Block], first: left.length };
  };
  switch (block.kind) {
    case 'table':
      return two(block.rows, (rows) => ({ ...block, rows }));
    case 'facts':
      return two(block.facts, (facts) => ({ ...block, facts }));
    case 'steps':
      return two(block.steps, (steps) => ({ ...block, steps }));
    case 'bars':
      return two(block.bars, (bars) => ({ ...block, bars }));
    case 'text':
    case 'quote': {
      const space = block.text.indexOf(' ', Math.floor(block.text.length / 2));
      const units = graphemes(block.text);
      const at = space > 0 ? space : units.slice(0, Math.ceil(units.length / 2)).join('').length;
      if (at <= 0 || at >= block.text.length) return null;
      return {
        parts: [
          { ...block, text: block.text.slice(0, at) },
          { ...block, text: block.text.slice(at).trimStart() },
        ],
        first: 0,
      };
    }
    case 'pointer':
      return null;
  }
}

/** The block in pieces that each fit into a message. */
function piecesOf(block: Block, most: number, from = 1): Drawn[] {
  const whole = drawBlock(block, from);
  if (bytesOf(whole) <= most) return [whole];
  const found = cut(block);
  if (found) {
    const [left, right] = found.parts;
    const rest = right.kind === 'pointer' ? right : { ...right, heading: undefined };
    return [...piecesOf(left, most, from), ...piecesOf(rest, most, from + found.first)];
  }
  // One row alone is too long for a message: its words are kept, its shape is not.
  return block.kind === 'text' || block.kind === 'quote'
    ? [whole]
    : piecesOf({ kind: 'text', text: whole.body }, most);
}

/** What asks for more, in words. */
const MORE = say`➕ or “more”: what stands behind it`;

/** The answers as a list; on a front, what else can be done runs on in a line below. */
function drawChoices({ choices }: Reply, hasMore: boolean): Drawn[] {
  const numbered = choices.map(({ label, aside }, index) => ({
    aside,
    words: `${index + 1}  ${cleanLine(label)}`,
    label: cleanLine(label),
    number: index + 1,
  }));
  const asides = hasMore ? numbered.filter(({ aside }) => aside) : [];
  const answers = numbered.filter((one) => !asides.includes(one));
  const below = [
    ...asides.map(({ number, label }) => `${number} ${label}`),
    ...(hasMore ? [render(MORE)] : []),
  ];
  const lead = render(
    choices.some(({ several }) => several)
      ? say`Answer with a reaction or a number, or with several of a kind as 2 4:`
      : say`Answer with a reaction or a number:`,
  );
  const others = below.join(' · ');
  if (!numbered.length) return hasMore ? [{ body: others, html: paragraph(others) }] : [];
  // A list counts on from where it starts: one with a gap has its numbers in its words.
  const inOrder = answers.every(({ number }, index) => number === index + 1);
  return [
    {
      body: lines(lead, ...answers.map(({ words }) => words), others),
      html: `<p>${escapeHtml(lead)}</p>${
        inOrder
          ? list(
              answers.map(({ label }) => label),
              true,
            )
          : paragraph(answers.map(({ words }) => words).join('\n'))
      }${others && paragraph(others)}`,
    },
  ];
}

function drawSources({ sources }: Reply): Drawn[] {
  if (!sources.length) return [];
  const titles = sources.map(({ title }) => cleanLine(title));
  return [
    {
      body: lines(render(say`Sources`), ...titles.map((title) => `- ${title}`)),
      html: `<p>${escapeHtml(render(say`Sources`))}</p>${list(titles)}`,
    },
  ];
}

/** Whether it must not be passed over: clients draw notices in a faint style, and tell nobody of them. */
export const isUrgent = ({ tone, cautions }: Reply): boolean =>
  tone === 'danger' || cautions.some((card) => card.tone === 'danger');

/**
 * The whole reply as one message or more, cautions first, choices in the last; cut only between blocks, or between the rows
 * of a block that is itself too long. `notes` are the surface's own words and come last. `hasMore`: it is a front, and more
 * can be asked for.
 */
export const renderForMatrix = (
  reply: Reply,
  notes: readonly string[] = [],
  { most = MESSAGE_BYTES, hasMore = false }: { most?: number; hasMore?: boolean } = {},
): Drawn[] => withLocale(reply.language, () => drawn(reply, notes, most, hasMore));

function drawn(reply: Reply, notes: readonly string[], most: number, hasMore: boolean): Drawn[] {
  const pieces = [
    ...(reply.before === undefined ? [] : [{ body: clean(reply.before), html: paragraph(reply.before) }]),
    ...reply.cautions.map(drawCaution),
    drawTitle(reply),
    ...reply.blocks.flatMap((block) => piecesOf(block, most)),
    ...drawSources(reply),
    ...drawChoices(reply, hasMore),
    ...notes.map((note) => ({ body: clean(note), html: paragraph(note) })),
  ];
  const messages: Drawn[] = [];
  for (const piece of pieces) {
    const last = messages.at(-1);
    const joined = last && { body: `${last.body}\n\n${piece.body}`, html: `${last.html}${piece.html}` };
    if (joined && bytesOf(joined) <= most) messages[messages.length - 1] = joined;
    else messages.push(piece);
  }
  return messages;
}
