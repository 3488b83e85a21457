/** Text as a terminal shows it: without control characters, and measured in columns. */
import { stripVTControlCharacters } from 'node:util';
import stringWidth from 'string-width';

// Control characters, and the marks that turn or break a line of text and so can hide what it says.
const HIDDEN = /[\p{Cc}\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069]/gu;

/** Keeps line breaks; takes escape sequences and every other control character away. A tab becomes a space. */
export const clean = (text: string): string =>
  stripVTControlCharacters(text.replace(/\r\n?/g, '\n').replace(/\t/g, ' ')).replace(HIDDEN, (found) =>
    found === '\n' ? '\n' : '',
  );

/** The same on one line. */
export const cleanLine = (text: string): string => clean(text).replace(/\s*\n\s*/g, ' ');

/** Replaces what must not be shown one for one, so that offsets into the text still hold. */
export const maskLine = (text: string): string => text.replace(/\t/g, ' ').replace(HIDDEN, '\uFFFD');

const segmenter = new Intl.Segmenter('en', { granularity: 'grapheme' });
export const graphemes = (text: string): string[] =>
  [...segmenter.segment(text)].map(({ segment }) => segment);

/** Columns that text without control characters takes. */
export const columnsOf = (text: string): number =>
  /^[\x20-\x7e]*$/.test(text) ? text.length : graphemes(text).reduce((sum, one) => sum + stringWidth(one), 0);

/** Cuts a word that is wider than the line; it still shows whole, over several lines. */
function cutWord(word: string, width: number): string[] {
  const pieces: string[] = [];
  let piece = '';
  let used = 0;
  // A cluster of spacing marks can itself be wider than a narrow line: then its code points are what is cut between.
  const units = graphemes(word).flatMap((one) => (columnsOf(one) > width ? [...one] : [one]));
  for (const one of units) {
    const columns = columnsOf(one);
    if (used + columns > width && piece) {
      pieces.push(piece);
      piece = '';
      used = 0;
    }
    piece += one;
    used += columns;
  }
  return [...pieces, piece];
}

/** Lines of at most `width` columns (at least 2). Line breaks of the text stay; runs of spaces become one. */
export function wrap(text: string, width: number): string[] {
  return clean(text)
    .split('\n')
    .flatMap((paragraph) => {
      const lines: string[] = [];
      let line = '';
      let used = 0;
      for (const word of paragraph.split(' ').filter(Boolean)) {
        const columns = columnsOf(word);
        if (used && used + 1 + columns <= width) {
          line += ` ${word}`;
          used += 1 + columns;
          continue;
        }
        if (used) lines.push(line);
        const pieces = columns > width ? cutWord(word, width) : [word];
        line = pieces.pop() ?? '';
        used = columnsOf(line);
        lines.push(...pieces);
      }
      return [...lines, line];
    });
}

/** Wraps with a prefix before the first line and as much room before the others. */
export function hang(prefix: string, text: string, width: number): string[] {
  const indent = columnsOf(prefix);
  return wrap(text, width - indent).map((line, i) => `${i ? ' '.repeat(indent) : prefix}${line}`.trimEnd());
}

export const pad = (text: string, width: number, align: 'left' | 'right' = 'left'): string => {
  const room = ' '.repeat(Math.max(0, width - columnsOf(text)));
  return align === 'left' ? text + room : room + text;
};

export const signs = { plain: '▸', good: '✓', caution: '▲', danger: '◆' } as const;

/** The line with a caret under the part; of a line wider than the window only the surroundings of that part. */
export function pointerLines(line: string, from: number, to: number, width: number): string[] {
  let offset = 0;
  const shown = graphemes(maskLine(line)).map((text) => {
    const start = offset;
    offset += text.length;
    return { text, columns: columnsOf(text), hit: start < Math.max(to, from + 1) && offset > from };
  });
  // What is missing has its place behind the end.
  if (!shown.some(({ hit }) => hit)) shown.push({ text: ' ', columns: 1, hit: true });
  const first = shown.findIndex(({ hit }) => hit);
  const room = width - 2;
  const total = shown.reduce((sum, { columns }) => sum + columns, 0);
  let begin = 0;
  if (total > width) {
    let before = 0;
    for (begin = first; begin > 0 && before + (shown[begin - 1]?.columns ?? 0) <= room / 3; begin -= 1)
      before += shown[begin - 1]?.columns ?? 0;
  }
  let end = begin;
  let used = 0;
  while (end < shown.length && used + (shown[end]?.columns ?? 0) <= (total > width ? room : width)) {
    used += shown[end]?.columns ?? 0;
    end += 1;
  }
  const part = shown.slice(begin, end);
  const lead = begin > 0 ? '…' : '';
  const marks = part.map(({ columns, hit }) => (hit ? '^' : ' ').repeat(columns)).join('');
  return [
    `${lead}${part.map(({ text }) => text).join('')}${end < shown.length ? '…' : ''}`.trimEnd(),
    `${' '.repeat(lead.length)}${marks}`.trimEnd(),
  ];
}
