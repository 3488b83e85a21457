/** Text laid out in columns of a terminal. */
import stringWidth from 'string-width';

export const widthOf = (text: string): number => stringWidth(text);

/** What people wrote may hold escape sequences or other control characters: they never reach the terminal. */
export const harmless = (text: string): string =>
  text
    // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is taken out
    .replace(/\u001b\[[0-?]*[ -/]*[@-~]/g, '')
    .replace(/\t/g, ' ')
    // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is taken out
    .replace(/[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g, '');

const graphemes = new Intl.Segmenter('en', { granularity: 'grapheme' });

/** Cuts a word that is wider than a line. */
function cut(word: string, width: number): string[] {
  const pieces: string[] = [];
  let piece = '';
  for (const { segment } of graphemes.segment(word)) {
    if (piece && widthOf(piece + segment) > width) {
      pieces.push(piece);
      piece = '';
    }
    piece += segment;
  }
  return piece ? [...pieces, piece] : pieces;
}

/** Lines of at most `width` columns, broken between words; later lines begin with `indent` spaces. */
export function wrap(text: string, width: number, indent = 0): string[] {
  const lines: string[] = [];
  for (const paragraph of harmless(text).split('\n')) {
    let line = '';
    for (const word of paragraph.split(/ +/).filter(Boolean)) {
      const room = width - (lines.length && !line ? indent : 0);
      for (const piece of widthOf(word) > room ? cut(word, Math.max(1, width - indent)) : [word]) {
        const joined = line ? `${line} ${piece}` : lines.length ? ' '.repeat(indent) + piece : piece;
        if (line && widthOf(joined) > width) {
          lines.push(line);
          line = ' '.repeat(indent) + piece;
        } else line = joined;
      }
    }
    lines.push(line);
  }
  return lines;
}

/** Fills up with spaces to `width` columns. */
export const pad = (text: string, width: number, align: 'left' | 'right' = 'left'): string => {
  const space = ' '.repeat(Math.max(0, width - widthOf(text)));
  return align === 'left' ? text + space : space + text;
};
