/** Text as wide as it is drawn: measured by the engine and in the fonts that draw it. */
import type { Resvg } from '@resvg/resvg-js';
import { boldFont, FONT_FAMILY, regularFont } from './fonts.ts';

export type Weight = 'normal' | 'bold';

export interface Measure {
  /** Pixels. */
  width(text: string, size: number, weight?: Weight): number;
  /** The text, or as much of its beginning as fits, with an ellipsis. */
  cut(text: string, size: number, most: number, weight?: Weight): string;
  /** The largest size from `size` down to `least` at which it fits. */
  sizeFor(text: string, size: number, least: number, most: number, weight?: Weight): number;
  /** At most `lines` lines; the last ends with an ellipsis when there is more. */
  wrap(text: string, size: number, most: number, lines: number): string[];
}

export const fontOptions = () => ({
  fontFiles: [regularFont(), boldFont()],
  loadSystemFonts: false,
  defaultFontFamily: FONT_FAMILY,
});

const escapeXml = (text: string): string => text.replace(/[&<>"]/g, (sign) => `&#${sign.charCodeAt(0)};`);

export function measureWith(Engine: typeof Resvg): Measure {
  const known = new Map<string, number>();
  const font = fontOptions();
  const width: Measure['width'] = (text, size, weight = 'normal') => {
    if (!text.trim()) return 0;
    const key = `${size} ${weight} ${text}`;
    let found = known.get(key);
    if (found === undefined) {
      const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="9000" height="200"><text x="0" y="100" font-family="${FONT_FAMILY}" font-weight="${weight}" font-size="${size}">${escapeXml(text)}</text></svg>`;
      const box = new Engine(svg, { font }).getBBox();
      found = box ? box.x + box.width : 0;
      known.set(key, found);
    }
    return found;
  };
  const cut: Measure['cut'] = (text, size, most, weight) => {
    if (width(text, size, weight) <= most) return text;
    const signs = [...text];
    let low = 0;
    let high = signs.length;
    while (low < high) {
      const middle = Math.ceil((low + high) / 2);
      if (width(`${signs.slice(0, middle).join('').trimEnd()}…`, size, weight) <= most) low = middle;
      else high = middle - 1;
    }
    return `${signs.slice(0, low).join('').trimEnd()}…`;
  };
  return {
    width,
    cut,
    sizeFor: (text, size, least, most, weight) => {
      let found = size;
      while (found > least && width(text, found, weight) > most) found -= 1;
      return found;
    },
    wrap: (text, size, most, lines) => {
      const words = text.split(/\s+/).filter(Boolean);
      const made: string[] = [];
      while (words.length && made.length < lines) {
        let line = words.shift() ?? '';
        while (words[0] !== undefined && width(`${line} ${words[0]}`, size) <= most)
          line += ` ${words.shift()}`;
        const last = made.length === lines - 1 && words.length > 0;
        made.push(cut(last ? `${line} ${words.join(' ')}` : line, size, most));
      }
      return made;
    },
  };
}
